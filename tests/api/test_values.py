"""What a value may look like, field by field; nothing is guessed.

The laxities are those that the framework's own fields were seen to have (its release 3.18.3, tried by hand): underscores
and other scripts' digits in numbers, a date for an instant, an instant without offset.
"""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from rest_framework.exceptions import ParseError, ValidationError

from farmops.core.api import fields
from farmops.core.api.parsing import StrictJSONParser
from farmops.core.api.serializers import Shape


@pytest.mark.parametrize("value", ["1_000", "12", "٣", "1e3", 1.0, True, None, -1, 10**30, [1]])
def test_a_whole_number_is_a_json_number_in_range(value: Any) -> None:
    with pytest.raises(ValidationError):
        fields.Whole().run_validation(value)


@pytest.mark.parametrize(
    "value",
    [
        "1_000",
        "１２.50",
        "٣.5",
        "1e3",
        "1,5",
        "+1",
        " 1",
        "1.",
        ".5",
        "NaN",
        "Infinity",
        "1.234",
        1.5,
        True,
        "9" * 5000,
    ],
)
def test_a_decimal_is_plain_digits_with_a_point(value: Any) -> None:
    with pytest.raises(ValidationError):
        fields.Exact(max_digits=9, decimal_places=2).run_validation(value)


def test_a_decimal_keeps_its_digits_and_has_no_negative_zero() -> None:
    field = fields.Exact(max_digits=9, decimal_places=2)
    assert field.run_validation("12.50") == Decimal("12.50")
    assert field.run_validation(12) == 12
    assert str(field.to_representation(field.run_validation("-0"))) == "0.00"


@pytest.mark.parametrize(
    "value",
    [
        "2026-05-01",
        "2026-03-08T02:30:00",
        "2026-05-01 07:00:00Z",
        "2026-05-01T07:00Z",
        "2026-05-01T07:00:00+0400",
        "2026-05-01T25:00:00Z",
        "2026-02-30T07:00:00Z",
        "٢٠٢٦-05-01T07:00:00Z",
        "0001-01-01T00:00:00+14:00",
        1777777777,
    ],
)
def test_an_instant_without_offset_or_off_the_calendar_is_refused(value: Any) -> None:
    """RFC 3339, section 5.6: date-time is full-date "T" full-time, and full-time ends in an offset."""
    with pytest.raises(ValidationError):
        fields.Instant().run_validation(value)


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        ("1985-04-12T23:20:50.52Z", dt.datetime(1985, 4, 12, 23, 20, 50, 520000, dt.UTC)),
        ("1996-12-19T16:39:57-08:00", dt.datetime(1996, 12, 20, 0, 39, 57, 0, dt.UTC)),
    ],
)
def test_the_examples_of_the_standard_are_read(text: str, instant: dt.datetime) -> None:
    """RFC 3339, section 5.8, first two examples."""
    assert fields.Instant().run_validation(text) == instant


def test_an_instant_goes_out_on_the_clock_of_the_place_with_its_offset() -> None:
    class Row(Shape):
        at = fields.Instant()

    row = {"at": dt.datetime(2026, 4, 20, 11, tzinfo=dt.UTC)}
    there = Row(row, context={"zone": ZoneInfo("America/New_York")})
    assert there.data == {"at": "2026-04-20T07:00:00-04:00"}
    assert Row(row).data == {"at": "2026-04-20T11:00:00+00:00"}


@pytest.mark.parametrize(
    "value", ["2026-4-1", "20260401", "2026-02-29", "2026-W14-1", "٢٠٢٦-04-01", "0099-01-01", 5]
)
def test_a_day_is_written_one_way(value: Any) -> None:
    with pytest.raises(ValidationError):
        fields.Day().run_validation(value)


@pytest.mark.parametrize("value", ["7:00", "24:00", "07:60", "0700", "07:00Z", 7])
def test_a_clock_time_is_written_one_way(value: Any) -> None:
    with pytest.raises(ValidationError):
        fields.Clock().run_validation(value)


@pytest.mark.parametrize(
    "value", ["a\x00b", "a\u202eb", "a\ud800b", "a\x1bb", "two\nlines", "\u2066x", 5, True, ["x"]]
)
def test_a_text_holds_what_can_be_stored_and_read(value: Any) -> None:
    with pytest.raises(ValidationError):
        fields.Text().run_validation(value)
    assert fields.Text(lines=True).run_validation("two\nlines") == "two\nlines"


@pytest.mark.parametrize("value", [1, 0, "true", "yes", None])
def test_yes_or_no_is_true_or_false(value: Any) -> None:
    with pytest.raises(ValidationError):
        fields.YesNo().run_validation(value)


@pytest.mark.parametrize(
    "value", ["6f1c2c9e6a504c8b9a3e0d6f5b1f7a11", 12, "{6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11}"]
)
def test_an_id_of_a_sender_is_a_uuid_in_its_usual_form(value: Any) -> None:
    with pytest.raises(ValidationError):
        fields.ClientId().run_validation(value)
    own = str(uuid.uuid4())
    assert str(fields.ClientId().run_validation(own)) == own


@pytest.mark.parametrize("value", ["Pond", "pond_40", "-pond", "pönd", "pond 40", "", "a" * 41])
def test_a_code_is_small_letters_digits_and_hyphens(value: str) -> None:
    with pytest.raises(ValidationError):
        fields.Code().run_validation(value)


@pytest.mark.parametrize(
    "body",
    [
        b'{"a": 1, "a": 2}',
        b'{"a": NaN}',
        b'{"a": -Infinity}',
        b"\xff\xfe",
        b"{",
        b"[" * 30 + b"]" * 30,
        b"[" * 100_000,
        b'{"a": ' + b"9" * 5000 + b"}",
        b"",
    ],
)
def test_a_body_with_two_meanings_or_none_is_refused(body: bytes) -> None:
    class Stream:
        def read(self) -> bytes:
            return body

    with pytest.raises(ParseError):
        StrictJSONParser().parse(Stream())


def test_an_unknown_key_is_refused_and_named() -> None:
    class Row(Shape):
        name = fields.Text()
        id = fields.Whole(read_only=True)

    row = Row(data={"name": "x", "farm": 3, "id": 4})
    assert not row.is_valid()
    assert set(row.errors) == {"farm", "id"}
