"""The calendar file, read back by a library that is not ours, and its clock held against the zone's own."""

import datetime as dt
from itertools import pairwise
from typing import Any

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.digests.calendar_file import CalendarEntry, calendar_file, clock_changes

READER: Any = icalendar.Calendar
ZONES = ["America/New_York", "America/Chicago", "America/Phoenix", "Australia/Lord_Howe", "America/Sao_Paulo"]
FIRST, LAST = dt.datetime(2027, 1, 1), dt.datetime(2027, 12, 30)  # noqa: DTZ001
CHANGED = dt.datetime(2027, 3, 1, 12, 0, tzinfo=dt.UTC)


def entry(starts_at: dt.datetime, hours: float = 5, **facts: object) -> CalendarEntry:
    base = {"uid": "a1@slough.example", "summary": "Pond 80: disk", "changed_at": CHANGED}
    ends_at = starts_at + dt.timedelta(hours=hours)
    return CalendarEntry(starts_at=starts_at, ends_at=ends_at, **{**base, **facts})  # type: ignore[arg-type]


def utc(*parts: int) -> dt.datetime:
    return dt.datetime(*parts, tzinfo=dt.UTC)  # type: ignore[misc,arg-type]


def events_in(content: bytes) -> list[Any]:
    [calendar] = READER.from_ical(content, multiple=True)
    assert not calendar.errors
    return list(calendar.walk("VEVENT"))


def by_its_own_clock(content: bytes, name: str) -> dt.datetime:
    """Return an instant of the first event by the clock that the file itself tells, not by what the zone is called."""
    [calendar] = READER.from_ical(content, multiple=True)
    value = calendar.walk("VEVENT")[0][name]
    if "TZID" not in value.params:
        return value.dt.astimezone(dt.UTC)
    local = value.dt.replace(tzinfo=None)
    rules = list(calendar.walk("VTIMEZONE")[0].subcomponents)
    begun = [part for part in rules if part["DTSTART"].dt <= local]
    rule = max(begun, key=lambda part: part["DTSTART"].dt)
    return (local - rule["TZOFFSETTO"].td).replace(tzinfo=dt.UTC)


@given(
    zone=st.sampled_from(ZONES),
    starts_at=st.datetimes(FIRST, LAST, timezones=st.just(dt.UTC)),
    hours=st.sampled_from([0.5, 1, 5, 26]),
)
def test_every_event_of_2027_is_read_at_its_very_instant(
    zone: str, starts_at: dt.datetime, hours: float
) -> None:
    made = entry(starts_at.replace(second=0, microsecond=0), hours)
    content = calendar_file(entries=[made], zone=zone)
    [event] = events_in(content)
    assert event["DTSTART"].dt.astimezone(dt.UTC) == made.starts_at
    assert event["DTEND"].dt.astimezone(dt.UTC) == made.ends_at
    assert by_its_own_clock(content, "DTSTART") == made.starts_at


@pytest.mark.parametrize(
    ("zone", "changes"),
    [
        ("America/New_York", [utc(2027, 3, 14, 7), utc(2027, 11, 7, 6)]),
        ("America/Chicago", [utc(2027, 3, 14, 8), utc(2027, 11, 7, 7)]),
        ("America/Phoenix", []),
    ],
)
def test_the_clocks_of_2027_are_set_when_the_law_says(zone: str, changes: list[dt.datetime]) -> None:
    """15 U.S.C. 260a: second Sunday of March to first Sunday of November, at 2 a.m. by the clock that stands."""
    assert list(clock_changes(zone=zone, first_year=2027, last_year=2027)) == changes


@pytest.mark.parametrize("minute", range(0, 24 * 60, 30))
@pytest.mark.parametrize("day", [utc(2027, 3, 14, 5), utc(2027, 11, 7, 4)])
def test_no_half_hour_of_the_days_on_which_clocks_change_is_taken_for_another(
    day: dt.datetime, minute: int
) -> None:
    begins = day + dt.timedelta(minutes=minute)
    content = calendar_file(entries=[entry(begins)], zone="America/New_York")
    assert by_its_own_clock(content, "DTSTART") == begins
    assert events_in(content)[0]["DTSTART"].dt.astimezone(dt.UTC) == begins


def test_the_clock_of_the_file_begins_as_the_old_one_ran_out() -> None:
    """RFC 5545 section 3.6.5: DTSTART of a rule is a local time by the offset from which the clock is set."""
    text = calendar_file(entries=[entry(utc(2027, 7, 1, 12))], zone="America/New_York").decode()
    spring = text.split("BEGIN:DAYLIGHT")[1].split("END:DAYLIGHT")[0].split("\r\n")
    assert spring[1:5] == ["DTSTART:20270314T020000", "TZOFFSETFROM:-0500", "TZOFFSETTO:-0400", "TZNAME:EDT"]


def test_what_the_standard_asks_for_is_there() -> None:
    """RFC 5545 sections 3.6 and 3.6.1, RFC 7986 sections 5.1 and 5.7."""
    content = calendar_file(
        entries=[entry(utc(2027, 4, 5, 11), sequence_no=3, place="North road, gate 3", says="Tractor 1")],
        zone="America/New_York",
        name="Imani; Heron, Slough",
    )
    calendar = READER.from_ical(content)
    assert (calendar["VERSION"], calendar["METHOD"], bool(calendar["PRODID"])) == ("2.0", "PUBLISH", True)
    assert b"\r\nNAME:Imani\\; Heron\\, Slough\r\n" in content
    assert calendar["REFRESH-INTERVAL"].dt == dt.timedelta(hours=1)
    [event] = events_in(content)
    assert event["UID"] == "a1@slough.example"
    assert (event["DTSTAMP"].dt, event["LAST-MODIFIED"].dt, event["SEQUENCE"]) == (CHANGED, CHANGED, 3)
    assert (event["SUMMARY"], event["LOCATION"], event["DESCRIPTION"]) == (
        "Pond 80: disk",
        "North road, gate 3",
        "Tractor 1",
    )
    assert event["STATUS"] == "CONFIRMED"
    assert event["DTSTART"].params["TZID"] == "America/New_York"
    assert b"VALARM" not in content
    assert content == calendar_file(
        entries=[entry(utc(2027, 4, 5, 11), sequence_no=3, place="North road, gate 3", says="Tractor 1")],
        zone="America/New_York",
        name="Imani; Heron, Slough",
    )


def test_a_cancelled_event_says_so() -> None:
    """RFC 5546 section 3.2.1 (from memory): with PUBLISH, the status says that an event is off."""
    [event] = events_in(
        calendar_file(entries=[entry(utc(2027, 4, 5, 11), is_cancelled=True)], zone="America/Chicago")
    )
    assert event["STATUS"] == "CANCELLED"


@pytest.mark.parametrize(
    "typed",
    [
        "a\r\nATTENDEE:mailto:x@y.example",
        "a\nEND:VEVENT\nBEGIN:VALARM",
        "a\u2028b",
        "\x00a\x07",
        "\u202eevil",
        '\\n;,:"',
        "🚜" * 80,
        "{{ x }}<script>",
        "ñ" * 100,
    ],
)
def test_what_somebody_typed_stays_in_its_place(typed: str) -> None:
    content = calendar_file(
        entries=[entry(utc(2027, 4, 5, 11), summary=typed, place=typed, says=typed)],
        zone="America/New_York",
        name=typed,
    )
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    assert b"\n" not in content.replace(b"\r\n", b"")
    content.decode("utf-8")
    [event] = events_in(content)
    assert set(event) == {
        *("UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND"),
        *("STATUS", "SUMMARY", "LOCATION", "DESCRIPTION"),
    }
    assert not event.subcomponents
    for sign in "\\;,🚜ñ":
        assert str(event["SUMMARY"]).count(sign) == typed.count(sign)


def test_no_character_is_cut_by_a_fold() -> None:
    for shift in range(80):
        content = calendar_file(
            entries=[entry(utc(2027, 4, 5, 11), summary="a" * shift + "ñ🚜" * 20)], zone="America/New_York"
        )
        for line, after in pairwise(content.split(b"\r\n")):
            line.decode("utf-8")
            assert len(line) >= 70 or not after.startswith(b" ")


def test_work_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(ValueError, match="ends before it begins"):
        calendar_file(entries=[entry(utc(2027, 4, 5, 11), hours=-1)], zone="America/New_York")


def test_an_empty_calendar_is_one_too() -> None:
    calendar = READER.from_ical(calendar_file(entries=[], zone="America/New_York", name="Odell"))
    assert not calendar.walk("VEVENT")
