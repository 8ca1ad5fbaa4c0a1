"""A form becomes the body of a report: as it was typed, the same each time, nested as the report has it."""

import uuid
from typing import Any

import pytest
from django.http.request import QueryDict

from farmops.pages.report_boxes import BOXES, Asks
from farmops.pages.report_forms import body_from_post, clock_of, reports_from_post, told

CLIENT = uuid.UUID("6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11")


def posted(**typed: str | list[str]) -> QueryDict:
    form = QueryDict(mutable=True)
    form["client_id"], form["day"] = str(CLIENT), "2026-04-20"
    for name, value in typed.items():
        form.setlist(name.replace("__", "."), value if isinstance(value, list) else [value])
    return form


def tapped(code: str, x_px: int, y_px: int) -> tuple[float, float] | None:
    return None if (x_px, y_px) == (0, 0) else (31.0 + x_px / 1000, -83.0 - y_px / 1000)


def body(kind: str, /, **typed: str | list[str]) -> dict[str, Any]:
    return body_from_post(kind, posted(**typed), tapped=tapped)


def test_work_is_nested_and_nothing_is_read_or_guessed() -> None:
    assert body(
        "work",
        pass_id="12",
        hours=" 5,5 ",
        finished="yes",
        done_ac="",
        stop_wet="20",
        stop_debris="5",
        ridges="some",
        speed_mph="5.5",
        level="front_low",
        too_wet="all",
        unknown="x",
    ) == {
        "work_on": "2026-04-20",
        "pass_id": "12",
        "hours": "5,5",
        "finished": True,
        "stops": [{"cause": "wet", "minutes": "20"}, {"cause": "debris", "minutes": "5"}],
        "look": {"ridges": "some"},
        "settings": {"speed_mph": "5.5", "level": "front_low"},
        "too_wet": "all",
    }


def test_a_day_names_its_passes() -> None:
    told = body("day", starts="07:00", ends="17:30", passes=["3", "4"])
    assert told == {"work_on": "2026-04-20", "starts": "07:00", "ends": "17:30", "passes": ["3", "4"]}


@pytest.mark.parametrize(
    ("typed", "at"),
    [
        ({}, None),
        ({"filled_at": "07:15"}, "2026-04-20T07:15"),
        ({"past": "yes"}, "2026-04-20T18:00"),
        ({"past": "yes", "filled_at": "07:15"}, "2026-04-20T07:15"),
    ],
)
def test_an_hour_is_of_the_pages_day_and_no_hour_leaves_it_to_the_receiver(
    typed: dict[str, str], at: str | None
) -> None:
    told = body("fuel", machine="tractor-1", gallons="40", **typed)
    assert told.get("filled_at") == at


def test_hours_that_must_be_given_are_not_made_up_on_a_day_that_is_over() -> None:
    assert "started_at" not in body("spray", past="yes", field="pond-40")


@pytest.mark.parametrize(
    ("typed", "place"),
    [
        ({"tap__x": "100", "tap__y": "50"}, ("31.100000", "-83.050000", "tapped")),
        ({"tap__x": "0", "tap__y": "0"}, None),
        ({"tap__x": "0", "tap__y": "0", "place": "31.5, -83.5"}, ("31.5", "-83.5", "typed")),
        ({"place": "31.5 -83.5", "placed_by": "phone"}, ("31.5", "-83.5", "phone")),
        ({"place": "by the well"}, ("by", "the well", "typed")),
        ({"tap__x": "9" * 30, "tap__y": "1"}, None),
        ({"tap__x": "²", "tap__y": "1"}, None),
    ],
)
def test_a_place_is_tapped_typed_or_given_by_the_phone(
    typed: dict[str, str], place: tuple[str, str, str] | None
) -> None:
    told = body("incident", kind="puncture", field="pond-40", **typed)
    named = tuple(told.get(name) for name in ("latitude_deg", "longitude_deg", "placed_by"))
    assert named == (place or (None, None, None))


def test_a_spraying_has_the_products_whose_rows_are_filled_in() -> None:
    rows = {
        "product_1_name": "Clear",
        "product_1_rate": "1.5",
        "product_1_unit": "pt",
        "product_1_total": "60",
    }
    third = {"product_3_name": "Oil", "product_3_restricted": "yes"}
    told = body("spray", field="pond-40", started_at="08:00", ended_at="09:30", **rows, **third)
    assert told["started_at"] == "2026-04-20T08:00"
    assert told["products"] == [
        {"name": "Clear", "rate": "1.5", "unit": "pt", "total": "60", "restricted": False},
        {"name": "Oil", "restricted": True},
    ]


def test_each_check_that_was_ticked_is_a_report_of_its_own_with_an_id_that_stays() -> None:
    form = posted(check=["work:tires||", "rule:grease|tractor-1|", "rule:grease|tractor-1|"])
    first, again = (reports_from_post("check", form, tapped=tapped) for _time in range(2))
    assert first == again
    assert [one.body for one in first] == [
        {"work_on": "2026-04-20", "fine": True, "check_key": "work:tires"},
        {"work_on": "2026-04-20", "fine": True, "check_key": "rule:grease", "machine": "tractor-1"},
    ]
    assert len({one.client_id for one in first} | {CLIENT}) == 3
    [wrong] = reports_from_post("check", posted(check=["work:tires||"], note="flat"), tapped=tapped)
    assert (wrong.body["fine"], wrong.body["note"]) == (False, "flat")


@pytest.mark.parametrize("typed", [{"client_id": "1"}, {"client_id": ""}, {"day": "soon"}, {"day": ""}])
def test_a_form_without_its_id_or_day_was_not_made_here(typed: dict[str, str]) -> None:
    with pytest.raises(ValueError, match=r".+"):
        reports_from_post("work", posted(hours="5", **typed), tapped=tapped)


def test_a_refusal_is_told_at_the_boxes_that_it_is_about() -> None:
    form = posted(stop_wet="x", stop_debris="5", place="31")
    line, boxes = told("work", form, {"stops/0/minutes": "stops/0/minutes “x” is not a whole number."})
    assert boxes == {"stop_wet": "“x” is not a whole number."}
    assert line == "Too wet: “x” is not a whole number."
    _line, boxes = told("incident", form, {"longitude_deg": "longitude_deg “” is not a number."})
    assert boxes == {"place": "“” is not a number."}
    spray = posted(product_1_name="Clear", product_3_name="Oil")
    _line, boxes = told("spray", spray, {"products/1/rate": "products/1/rate is missing."})
    assert boxes == {"product_3_rate": "Is missing."}


def test_the_senders_clock_is_evidence_and_what_cannot_be_read_of_it_is_left_out() -> None:
    said = clock_of({"made_at": "2026-04-20T07:00:00-04:00", "made_offset_min": "-240"})
    assert said.made_at is not None
    assert (said.made_at.isoformat(), said.made_offset_min, said.sent_at) == (
        "2026-04-20T07:00:00-04:00",
        -240,
        None,
    )
    odd = clock_of({"made_at": "2026-04-20T07:00", "made_offset_min": "-24000", "sent_at": "soon"})
    assert (odd.made_at, odd.made_offset_min, odd.sent_at) == (None, None, None)
    told = [
        clock_of({"made_offset_min": text}).made_offset_min for text in ("900", "-900", "901", "-999", "-")
    ]
    assert told == [900, -900, None, None, None]  # nobody's hours are refused for a zone that is none


@pytest.mark.parametrize("kind", BOXES)
def test_no_two_boxes_of_a_form_have_one_name_or_go_to_one_place(kind: str) -> None:
    boxes = BOXES[kind]
    assert len({box.name for box in boxes}) == len(boxes)
    assert len({box.goes_to for box in boxes}) == len(boxes)
    assert all(len(words) < 40 for box in boxes if (words := str(box.label)))
    assert all(box.asks is Asks.ONE_OF for box in boxes if box.choices)
