"""Work records, hour readings and incidents: kept once, refused with a sentence, and what they do to a pass."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm
from scheduling.models import FieldPass, HourReading, Incident, InputUse, PassState, WorkRecord
from scheduling.services import refusals
from scheduling.services.work import (
    CALLED_OFF_NOTE,
    UsedInput,
    call_off,
    record_hour_reading,
    record_incident,
    record_work,
    take_up_again,
)
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.scheduling.ground import NEW_YORK

pytestmark = pytest.mark.django_db

DAY = dt.date(2026, 4, 20)
NOW = dt.datetime(2026, 4, 20, 20, tzinfo=NEW_YORK)
ID = uuid.UUID(int=1)


@pytest.fixture
def farm() -> Farm:
    return make_farm()


@pytest.fixture
def facts(farm: Farm) -> dict[str, Any]:
    return {
        "farm": farm,
        "client_id": ID,
        "field_pass": make_pass(make_season(make_field(farm))),
        "hand": make_hand(farm),
        "machine": make_machine(farm),
        "implement": make_implement(farm),
        "work_on": DAY,
        "hand_min": 180,
        "machine_min": 170,
        "done_ac": Decimal("25.5"),
        "is_finished": False,
        "recorded_by": None,
        "now": NOW,
    }


def test_part_of_a_pass_makes_it_under_way_and_the_rest_finishes_it(facts: dict[str, Any]) -> None:
    ground: FieldPass = facts["field_pass"]
    record_work(**facts)
    assert (ground.state, ground.done_ac) == (PassState.UNDER_WAY, Decimal("25.50"))
    record_work(**facts | {"client_id": uuid.uuid4(), "done_ac": Decimal("14.5"), "is_finished": True})
    assert (ground.state, ground.done_ac) == (PassState.FINISHED, Decimal("40.00"))


def test_the_same_record_sent_again_is_the_same_record(facts: dict[str, Any]) -> None:
    seed = [("seed-cotton", Decimal("12.5"), "bag")]
    first, is_new = record_work(**facts, inputs=seed)
    again, is_new_again = record_work(**facts | {"now": NOW + dt.timedelta(hours=1)}, inputs=seed)
    assert (is_new, is_new_again, again.pk) == (True, False, first.pk)
    assert (WorkRecord.objects.count(), InputUse.objects.count()) == (1, 1)
    facts["field_pass"].refresh_from_db()
    assert facts["field_pass"].done_ac == Decimal("25.50")


@pytest.mark.parametrize("other", [{"hand_min": 181}, {"done_ac": Decimal("25.4")}, {"note": "wet end"}])
def test_the_same_id_with_other_content_is_a_conflict(facts: dict[str, Any], other: dict[str, Any]) -> None:
    record_work(**facts)
    with pytest.raises(refusals.ClientIdReused, match=str(ID)):
        record_work(**facts | other)
    assert WorkRecord.objects.count() == 1


def test_the_same_id_with_other_inputs_is_a_conflict(facts: dict[str, Any]) -> None:
    record_work(**facts, inputs=[UsedInput("seed-cotton", Decimal("12.5"), "bag")])
    with pytest.raises(refusals.ClientIdReused):
        record_work(**facts, inputs=[UsedInput("seed-cotton", Decimal("12.6"), "bag")])


def test_two_lots_of_one_input_are_two_rows_and_the_lot_is_part_of_the_record(facts: dict[str, Any]) -> None:
    lots = [
        UsedInput("seed-cotton", Decimal(5), "bag", " B7-19 "),
        UsedInput("seed-cotton", Decimal(7), "bag"),
    ]
    record, _new = record_work(**facts, inputs=lots)
    assert {(one.lot, one.quantity) for one in record.inputs.all()} == {("B7-19", 5), ("", 7)}
    again, is_new = record_work(**facts, inputs=lots)
    assert (is_new, again.pk) == (False, record.pk)
    with pytest.raises(refusals.ClientIdReused):
        record_work(**facts, inputs=[lots[0]._replace(lot="B7-20"), lots[1]])


def test_more_than_24_hours_of_a_hand_in_a_day_are_refused_with_both_numbers(facts: dict[str, Any]) -> None:
    record_work(**facts | {"hand_min": 900})
    more = facts | {"client_id": uuid.uuid4(), "hand_min": 541, "machine_min": 0, "done_ac": Decimal(0)}
    with pytest.raises(refusals.Over24Hours, match=r"24 h 01 min on 2026-04-20; a day has 24 \(15 h 00 min"):
        record_work(**more)
    record_work(**more | {"hand_min": 540})
    record_work(**more | {"client_id": uuid.uuid4(), "work_on": DAY - dt.timedelta(days=1)})


def test_more_than_24_hours_of_a_machine_in_a_day_are_refused(farm: Farm, facts: dict[str, Any]) -> None:
    record_work(**facts | {"machine_min": 1000})
    other = make_hand(farm, "odell")
    with pytest.raises(refusals.Over24Hours, match="tractor-1"):
        record_work(**facts | {"client_id": uuid.uuid4(), "hand": other, "machine_min": 441})


def test_more_acres_than_the_ground_has_are_refused_with_both_figures(facts: dict[str, Any]) -> None:
    with pytest.raises(refusals.AcresOver, match=r"Pond 40 disk has 40.00 acres; .* 255.5 would be done"):
        record_work(**facts | {"done_ac": Decimal("255.5")})
    assert not WorkRecord.objects.exists()
    record_work(**facts | {"done_ac": Decimal("40.08")})
    with pytest.raises(refusals.AcresOver, match=r"record 80\.16 would be done"):
        record_work(**facts | {"client_id": uuid.uuid4(), "done_ac": Decimal("40.08"), "machine_min": 0})


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"hand_min": -1}, "hand_min is -1"),
        ({"done_ac": Decimal("1.234")}, "1.234 acres: two decimals"),
        ({"overtime_min": 181}, "181 minutes of overtime are more than the 180"),
        ({"work_on": dt.date(2026, 4, 21)}, "2026-04-21 has not come yet"),
        ({"work_on": dt.date(202, 4, 21)}, "0202-04-21: is the year right"),
        ({"hand_min": 0, "machine_min": 0, "done_ac": Decimal(0)}, "says nothing"),
        ({"machine": None}, "Engine minutes without a machine"),
        ({"inputs": [("seed", Decimal("0"), "bag")]}, "0.000 bag of seed"),
        ({"inputs": [("seed", Decimal(1), "bag"), ("seed", Decimal(2), "bag")]}, "seed stands twice"),
    ],
)
def test_a_record_that_cannot_be_is_refused(facts: dict[str, Any], wrong: dict[str, Any], says: str) -> None:
    with pytest.raises(refusals.BadRecord, match=says):
        record_work(**facts | wrong)
    assert not WorkRecord.objects.exists()


@pytest.mark.parametrize("name", ["field_pass", "hand", "machine", "implement", "supersedes"])
def test_rows_of_another_farm_are_refused(facts: dict[str, Any], name: str) -> None:
    other = make_farm("egret-run")
    theirs: dict[str, Any] = {
        "field_pass": make_pass(make_season(make_field(other))),
        "hand": make_hand(other),
        "machine": make_machine(other),
        "implement": make_implement(other),
    }
    if name == "supersedes":
        theirs_record, _ = record_work(**facts | theirs | {"farm": other})
        theirs = {"supersedes": theirs_record}
    with pytest.raises(refusals.NotThisFarm, match="not one of Heron Slough"):
        record_work(**facts | {name: theirs[name]})
    assert not WorkRecord.objects.filter(farm=facts["farm"]).exists()


def test_a_correction_takes_the_place_of_what_it_corrects(facts: dict[str, Any]) -> None:
    first, _ = record_work(**facts | {"is_finished": True})
    mended = facts | {"client_id": uuid.uuid4(), "done_ac": Decimal("20.5"), "supersedes": first}
    record_work(**mended)
    ground: FieldPass = facts["field_pass"]
    assert (ground.state, ground.done_ac) == (PassState.UNDER_WAY, Decimal("20.50"))
    with pytest.raises(refusals.SupersededAlready):
        record_work(**mended | {"client_id": uuid.uuid4()})


def test_a_correction_counts_instead_of_what_it_corrects(facts: dict[str, Any]) -> None:
    """Otherwise 15 hours mended to 14 would make a day of 29, and 30 acres mended to 29 a field of 59."""
    first, _ = record_work(**facts | {"hand_min": 900, "done_ac": Decimal(30)})
    mended = {"client_id": uuid.uuid4(), "hand_min": 840, "done_ac": Decimal(29), "supersedes": first}
    record_work(**facts | mended)
    assert facts["field_pass"].done_ac == Decimal(29)


def test_a_correction_can_move_the_work_to_another_pass(facts: dict[str, Any]) -> None:
    wrong: FieldPass = facts["field_pass"]
    right = make_pass(make_season(make_field(facts["farm"], "river-50")))
    first, _ = record_work(**facts)
    record_work(**facts | {"client_id": uuid.uuid4(), "field_pass": right, "supersedes": first})
    wrong.refresh_from_db()
    assert (wrong.state, wrong.done_ac) == (PassState.WAITING, Decimal("0.00"))
    assert (right.state, right.done_ac) == (PassState.UNDER_WAY, Decimal("25.50"))


def test_going_there_for_nothing_leaves_the_pass_waiting(facts: dict[str, Any]) -> None:
    ground: FieldPass = facts["field_pass"]
    record_work(**facts | {"done_ac": Decimal(0), "not_done_why": "too wet at the low end"})
    assert ground.state == PassState.WAITING


def test_hours_on_a_finished_pass_do_not_open_it_again(facts: dict[str, Any]) -> None:
    record_work(**facts | {"is_finished": True})
    record_work(**facts | {"client_id": uuid.uuid4(), "done_ac": Decimal(0)})
    assert facts["field_pass"].state == PassState.FINISHED


def test_work_on_a_pass_that_was_called_off_is_kept_with_a_note(facts: dict[str, Any]) -> None:
    ground: FieldPass = facts["field_pass"]
    call_off(field_pass=ground, why="rain", now=NOW)
    record, _ = record_work(**facts | {"note": "did the dry side"})
    assert record.note == f"did the dry side\n{CALLED_OFF_NOTE}"
    assert (ground.state, ground.done_ac) == (PassState.CALLED_OFF, Decimal("25.50"))
    _, is_new = record_work(**facts | {"note": "did the dry side"})
    assert not is_new


def test_calling_off_says_why_once_and_can_be_taken_back(facts: dict[str, Any]) -> None:
    ground: FieldPass = facts["field_pass"]
    with pytest.raises(refusals.BadRecord, match="Say why"):
        call_off(field_pass=ground, why=" ", now=NOW)
    with pytest.raises(refusals.PassIsNotCalledOff):
        take_up_again(field_pass=ground)
    call_off(field_pass=ground, why="1.2 in of rain", now=NOW)
    call_off(field_pass=ground, why="another word", now=NOW + dt.timedelta(hours=2))
    assert (ground.state, ground.called_off_why, ground.called_off_at) == (
        PassState.CALLED_OFF,
        "1.2 in of rain",
        NOW,
    )
    take_up_again(field_pass=ground)
    assert (ground.state, ground.called_off_why) == (PassState.WAITING, "")


def test_a_finished_pass_is_not_called_off(facts: dict[str, Any]) -> None:
    record_work(**facts | {"is_finished": True})
    with pytest.raises(refusals.PassIsFinished, match="Pond 40 disk is finished"):
        call_off(field_pass=facts["field_pass"], why="rain", now=NOW)


def test_a_meter_that_runs_backwards_is_refused_with_both_values(farm: Farm) -> None:
    reading: dict[str, Any] = {"farm": farm, "machine": make_machine(farm), "read_at": NOW, "now": NOW}
    with pytest.raises(refusals.MeterRunsBackwards, match=r"2399.9 h after 2400.0 h"):
        record_hour_reading(**reading, client_id=uuid.uuid4(), reading_h=Decimal("2399.9"))
    record_hour_reading(**reading, client_id=uuid.uuid4(), reading_h=Decimal("2412.5"))
    later = reading | {"read_at": NOW + dt.timedelta(hours=9)}
    with pytest.raises(refusals.MeterRunsBackwards, match=r"2412.4 h after 2412.5 h"):
        record_hour_reading(**later, client_id=uuid.uuid4(), reading_h=Decimal("2412.4"))
    earlier = reading | {"read_at": NOW - dt.timedelta(hours=9)}
    with pytest.raises(refusals.MeterRunsBackwards, match=r"2412.6 h before 2412.5 h, read later"):
        record_hour_reading(**earlier, client_id=uuid.uuid4(), reading_h=Decimal("2412.6"))
    assert HourReading.objects.count() == 1


def test_a_slipped_digit_is_refused_before_it_makes_every_later_reading_run_backwards(farm: Farm) -> None:
    reading: dict[str, Any] = {"farm": farm, "machine": make_machine(farm), "now": NOW}
    record_hour_reading(**reading, client_id=uuid.uuid4(), reading_h=Decimal("2412.5"), read_at=NOW)
    tomorrow = NOW + dt.timedelta(days=1)
    with pytest.raises(
        refusals.MeterRunsTooFast, match=r"would gain 21712.5 h in 24.0 h: 24125.0 h after 2412.5 h"
    ):
        record_hour_reading(**reading, client_id=uuid.uuid4(), reading_h=Decimal("24125.0"), read_at=tomorrow)


def test_a_reading_is_kept_once(farm: Farm) -> None:
    reading: dict[str, Any] = {
        "farm": farm,
        "client_id": ID,
        "machine": make_machine(farm),
        "reading_h": Decimal("2412.5"),
        "read_at": NOW,
        "now": NOW,
    }
    assert record_hour_reading(**reading)[1] is True
    assert record_hour_reading(**reading)[1] is False
    with pytest.raises(refusals.ClientIdReused):
        record_hour_reading(**reading | {"reading_h": Decimal("2412.6")})
    with pytest.raises(refusals.BadRecord, match="hours and tenths"):
        record_hour_reading(**reading | {"client_id": uuid.uuid4(), "reading_h": Decimal("2412.55")})


def test_an_incident_is_kept_once_and_takes_its_field_from_the_season(farm: Farm) -> None:
    season = make_season(make_field(farm))
    puncture: dict[str, Any] = {
        "farm": farm,
        "client_id": ID,
        "kind": "puncture",
        "happened_at": NOW,
        "season": season,
        "wheel": "left front",
        "met": "bone",
        "lost_min": 90,
        "now": NOW,
    }
    incident, is_new = record_incident(**puncture)
    assert (incident.field, is_new, record_incident(**puncture)[1]) == (season.field, True, False)
    with pytest.raises(refusals.ClientIdReused):
        record_incident(**puncture | {"met": "wire"})
    with pytest.raises(refusals.BadRecord, match="'flood' is not known"):
        record_incident(**puncture | {"client_id": uuid.uuid4(), "kind": "flood"})
    with pytest.raises(refusals.BadRecord, match="not on the field"):
        record_incident(**puncture | {"client_id": uuid.uuid4(), "field": make_field(farm, "river-50")})
    with pytest.raises(refusals.NotThisFarm):
        record_incident(**puncture | {"client_id": uuid.uuid4(), "hand": make_hand(make_farm("egret-run"))})
    assert Incident.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"inputs": [("urea", Decimal("1e20"), "lb")]}, "a quantity is a number below 1,000,000,000"),
        ({"inputs": [("urea", Decimal("NaN"), "lb")]}, "a quantity is a number below"),
        ({"inputs": [("urea", Decimal("-Infinity"), "lb")]}, "a quantity is a number below"),
        ({"inputs": [("x" * 41, Decimal(1), "lb")]}, "code of 1 to 40 letters"),
        ({"inputs": [("=1+1", Decimal(1), "lb")]}, "code of 1 to 40 letters"),
        ({"inputs": [("urea", Decimal(1), "")]}, "a unit of 1 to 12 signs"),
        ({"inputs": [("urea", Decimal(1), "l\0b")]}, "a unit of 1 to 12 signs"),
        (
            {"inputs": [UsedInput("urea", Decimal(1), "lb", "7"), UsedInput("urea", Decimal(2), "lb", "7 ")]},
            "urea with the lot 7 stands twice among the inputs",
        ),
        (
            {"inputs": [UsedInput("urea", Decimal(1), "lb", "x" * 41)]},
            "The lot of urea is one line of at most 40",
        ),
        (
            {"inputs": [UsedInput("urea", Decimal(1), "lb", "a\nb")]},
            "The lot of urea is one line of at most 40",
        ),
        ({"done_ac": Decimal("NaN")}, "NaN acres are not a number"),
        ({"done_ac": Decimal("1e30")}, "acres are not a number below 100,000"),
        ({"note": "a\0b"}, "The note holds a sign that cannot be kept"),
        ({"not_done_why": "x" * 201}, "The not_done_why has 201 characters; at most 200 are kept"),
    ],
)
def test_what_no_row_can_hold_is_refused_and_nothing_is_kept(
    facts: dict[str, Any], wrong: dict[str, Any], says: str
) -> None:
    """A row that cannot be read back would stand in the way of every posting of the farm, and is never deleted."""
    with pytest.raises(refusals.BadRecord, match=says):
        record_work(**{**facts, **wrong})
    assert WorkRecord.objects.count() == InputUse.objects.count() == 0


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"wheel": "w" * 41}, "The wheel has 41 characters"),
        ({"met": "a\0b"}, "The met holds a sign"),
        ({"lost_min": 1441}, "1441 lost minutes: it is 0 to 1440"),
        ({"lost_min": -1}, "-1 lost minutes"),
        ({"happened_at": NOW + dt.timedelta(days=365)}, "happened_at: 2027-04-20 has not come yet"),
    ],
)
def test_an_incident_that_no_row_can_hold_is_refused(farm: Farm, wrong: dict[str, Any], says: str) -> None:
    with pytest.raises(refusals.BadRecord, match=says):
        record_incident(
            **{"farm": farm, "client_id": ID, "kind": "puncture", "happened_at": NOW, "now": NOW, **wrong}
        )
    assert Incident.objects.count() == 0


@pytest.mark.parametrize("reading_h", [Decimal("NaN"), Decimal(1_000_000), Decimal("-0.1"), Decimal("1.25")])
def test_a_reading_that_no_meter_shows_is_refused(farm: Farm, reading_h: Decimal) -> None:
    with pytest.raises(refusals.BadRecord, match="it is 0 to 1,000,000, in hours and tenths"):
        record_hour_reading(
            farm=farm, client_id=ID, machine=make_machine(farm), reading_h=reading_h, read_at=NOW, now=NOW
        )
    assert HourReading.objects.count() == 0


def test_a_reading_of_next_year_is_refused_before_it_shuts_out_every_other(farm: Farm) -> None:
    reading: dict[str, Any] = {
        "farm": farm,
        "machine": make_machine(farm),
        "reading_h": Decimal(2500),
        "now": NOW,
    }
    with pytest.raises(refusals.BadRecord, match="read_at: 2027-04-20 has not come yet"):
        record_hour_reading(**reading, client_id=ID, read_at=NOW + dt.timedelta(days=365))
    assert record_hour_reading(**reading, client_id=ID, read_at=NOW + dt.timedelta(hours=23))[1] is True
