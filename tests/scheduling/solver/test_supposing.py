"""What is supposed of a week, as it is written, understood and said."""

import datetime as dt
from typing import Any

import pytest

from scheduling.solver import Problem, parse_problem
from scheduling.solver.plan import LeftTask, PlacedTask, Plan
from scheduling.solver.supposing import (
    FEWER,
    MORE,
    OUTFIT,
    OVERTIME,
    RAIN,
    Supposition,
    SuppositionError,
    in_words,
    parse_supposition,
    usual_suppositions,
)
from tests.scheduling.solver import example

THURSDAY = dt.date(2027, 4, 8)
NAMES = {"hand-1": "Imani", "disk-1": "28 ft disk", "rip_bed": "rip and bed"}


def farm() -> dict[str, Any]:
    """The worked example with a second hand, who is off from Thursday on, a pump, and a turn of water."""
    problem = example.problem()
    hand = {**problem["resources"][2], "id": "hand-2", "calendar": [{"from": 420, "to": 1080}]}
    pump = {"id": "pump:north", "kind": "pump", "calendar": [{"from": 0, "to": 10080}]}
    problem["resources"] += [hand, pump]
    problem["tasks"].append(
        {
            "id": "field-01/irrigate",
            "place": "field-01",
            "operation": "irrigate",
            "modes": [{"id": "pump:north", "resources": ["pump:north"], "minutes": 60, "cents": 10}],
            "open": [{"from": 0, "to": 10080}],
        }
    )
    return problem


@pytest.fixture
def problem() -> Problem:
    return parse_problem(farm())


@pytest.mark.parametrize(
    ("text", "kind", "resources", "rest", "says"),
    [
        ("hand:+1@monday", MORE, ("hand-1", "hand-2"), {}, "One more hand on Monday, April 5"),
        ("hand:+1", MORE, ("hand-1", "hand-2"), {}, "One more hand on all days"),
        ("hand:+2", MORE, ("hand-1", "hand-2"), {"count": 2}, "2 more hands on all days"),
        ("Hand : -1 @ Mon", FEWER, ("hand-1", "hand-2"), {}, "One hand fewer on Monday, April 5"),
        ("hand-1:-1@mon", FEWER, ("hand-1",), {}, "Imani missing on Monday, April 5"),
        ("imani:-1@2027-04-05", FEWER, ("hand-1",), {}, "Imani missing on Monday, April 5"),
        ("disk-1:-1", FEWER, ("disk-1",), {}, "28 ft disk missing on all days"),
        ("tractor:+1", MORE, ("tractor-1",), {}, "One more tractor on all days"),
        ("tractor-1:+1", MORE, ("tractor-1",), {}, "One more like tractor-1 on all days"),
        (
            "pump:north:-1@thu",
            FEWER,
            ("pump:north",),
            {"day": THURSDAY},
            "pump:north missing on Thursday, April 8",
        ),
        (
            "disk:+1=$30/h@thu",
            MORE,
            ("disk-1",),
            {"cents_per_h": 3000, "day": THURSDAY},
            "One more implement to disk on Thursday, April 8 at $30.00 an hour on top",
        ),
        (
            "DISK:+2@thu=12.50/h",
            MORE,
            ("disk-1",),
            {"cents_per_h": 1250, "day": THURSDAY, "count": 2},
            "2 more implements to disk on Thursday, April 8 at $12.50 an hour on top",
        ),
        (
            "outfit:disk:+1",
            OUTFIT,
            ("tractor-1", "disk-1", "hand-1"),
            {"subject": "disk", "leads": "disk-1", "kinds": ("tractor", "driver")},
            "A hired 28 ft disk with its tractor and driver to disk on all days",
        ),
        (
            "Outfit : Disk : +2 = $90/h @ mon",
            OUTFIT,
            ("tractor-1", "disk-1", "hand-1"),
            {"cents_per_h": 9000, "count": 2},
            "2 hired outfits, each 28 ft disk, tractor and driver, to disk on Monday, April 5 at $90.00 an hour on top",
        ),
        (
            "overtime:+1h",
            OVERTIME,
            ("hand-1", "hand-2"),
            {"minutes": 60},
            "One more hour of overtime on all days",
        ),
        (
            "hand-1:+1.5h@mon=$9/h",
            OVERTIME,
            ("hand-1",),
            {"minutes": 90, "cents_per_h": 900},
            "1.5 more hours of overtime for Imani on Monday, April 5 at $9.00 an hour on top",
        ),
        ("rain@thursday", RAIN, (), {"day": THURSDAY}, "Rain on Thursday, April 8"),
        ("rain", RAIN, (), {}, "Rain on all days"),
    ],
)
def test_what_is_written_is_understood_and_said(
    problem: Problem, text: str, kind: str, resources: tuple[str, ...], rest: dict[str, Any], says: str
) -> None:
    found = parse_supposition(text, problem, names=NAMES)
    assert (found.kind, found.resources) == (kind, resources)
    for key, value in rest.items():
        assert getattr(found, key) == value
    assert in_words(found, names=NAMES) == says
    assert found.is_loss is (kind in (FEWER, RAIN))


def test_of_a_day_only_those_at_work_are_meant(problem: Problem) -> None:
    assert parse_supposition("hand:-1@monday", problem).resources == ("hand-1", "hand-2")
    del problem
    later = farm()
    later["resources"][2]["calendar"] = [{"from": 4 * 1440, "to": 5 * 1440}]
    assert parse_supposition("hand:-1@friday", parse_problem(later)).resources == ("hand-1",)


THERE_IS = "There is tractor: tractor-1; implement: disk-1; hand: hand-1, hand-2; pump: pump:north; work with an implement: disk."


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "'' is not understood. Say hand:+1@thursday,"),
        ("hand", "'hand' does not say how many more or fewer."),
        ("hand:1", "'hand:1' does not say how many more or fewer."),
        ("hand:+1@", "is not understood"),
        ("hand:+1@thursday@friday", "is not understood"),
        ("hand:+1=@monday", "is not understood"),
        ("hand:+1=$-3/h", "is not understood"),
        ("plow:+1", f"'plow:+1': there is no 'plow' here. {THERE_IS}"),
        ("implement:+1", f"there is no 'implement' here. {THERE_IS}"),
        ("irrigate:+1", "'irrigate:+1': no implement is used to irrigate."),
        ("outfit:disk:-1", "an outfit is hired whole and only added. Say outfit:disk:+1."),
        ("outfit:disk:+1h", "an outfit is hired whole and only added."),
        ("outfit:disk:+0", "0 is not a whole number from 1 to 9."),
        ("outfit:+1", f"there is no work '' to hire for here. {THERE_IS}"),
        ("outfit:plow:+1", f"there is no work 'plow' to hire for here. {THERE_IS}"),
        ("outfit:irrigate:+1", f"no implement is used to irrigate. {THERE_IS}"),
        ("outfit:disk:+1@sunday", "nobody and nothing of 'disk' is at work on Sunday, April 11"),
        ("hand:+0", "0 is not a whole number from 1 to 9."),
        ("hand:+10", "10 is not a whole number from 1 to 9."),
        ("hand:+1.5", "1.5 is not a whole number from 1 to 9."),
        ("hand:-3", "there is only 2 of hand to be missed."),
        ("hand:-1=$5/h", "what is missing has no price an hour."),
        ("disk:+1=$10001/h", "$10001 an hour is more than anything costs."),
        ("hand:+1@sunday", "nobody and nothing of 'hand' is at work on Sunday, April 11"),
        ("hand:+1@soon", "'soon' names none of the days. Say a weekday such as thursday, or a date such as 2027-04-05; the days planned are Monday, April 5 to Sunday, April 11."),
        ("hand:+1@2027-04-12", "2027-04-12 lies outside; the days planned are Monday, April 5 to Sunday, April 11."),
        ("rain@9999-12-31", "9999-12-31 lies outside"),
        ("overtime:+1", "overtime is told in hours. Say overtime:+1h."),
        ("overtime:-1h", "overtime can only be added."),
        ("overtime:+0h", "0 hours are not whole minutes, more than none and at most 8 hours."),
        ("overtime:+9h", "9 hours are not whole minutes"),
        ("overtime:+0.001h", "0.001 hours are not whole minutes"),
        ("disk-1:+1h", f"only hands work overtime. {THERE_IS}"),
        ("overtime:+1h@sunday", "nobody and nothing of 'overtime' is at work on Sunday, April 11"),
        ("rain:+1@monday", "rain is not counted. Say rain@friday."),
        ("rain=$3/h", "rain has no price an hour."),
        ("hand\n:+1", "That is nothing that can be supposed."),
        ("x" * 121, "That is nothing that can be supposed."),
    ],
)  # fmt: skip
def test_what_is_not_understood_is_named_with_what_there_is(problem: Problem, text: str, says: str) -> None:
    with pytest.raises(SuppositionError) as refused:
        parse_supposition(text, problem, names=NAMES)
    assert says in str(refused.value)


def test_a_name_that_two_have_is_asked_back(problem: Problem) -> None:
    with pytest.raises(SuppositionError, match="'Teo' may be any of hand-1, hand-2"):
        parse_supposition("Teo:-1", problem, names={"hand-1": "Teo", "hand-2": "teo"})


def test_of_many_things_a_dozen_are_listed() -> None:
    document = farm()
    hand = document["resources"][2]
    document["resources"] += [{**hand, "id": f"hand-{number}"} for number in range(3, 20)]
    with pytest.raises(SuppositionError, match="hand-11, hand-12 and 7 more; pump"):
        parse_supposition("plow:+1", parse_problem(document))


def test_what_is_asked_first_can_be_understood(problem: Problem) -> None:
    asked = usual_suppositions(problem)
    days = ["monday"]
    assert asked == ("overtime:+1h", *(f"hand:+1@{day}" for day in days), "disk:+1", "outfit:disk:+1")
    assert all(isinstance(parse_supposition(text, problem), Supposition) for text in asked)


def test_the_work_of_an_outfit_may_be_told_by_its_name(problem: Problem) -> None:
    found = parse_supposition("outfit:rip and bed:+1", parse_problem(ripped()), names=NAMES)
    assert found.subject == "rip_bed"


def ripped() -> dict[str, Any]:
    """The example's disking, and ripping that waits for it, with a disk that need not be in time itself."""
    document = farm()
    disk = document["tasks"][0]
    rip = {**disk, "id": "field-01/rip_bed", "operation": "rip_bed", "after": [{"task": disk["id"]}]}
    rip.pop("was")
    disk["late_cents_per_hour"] = 0
    spray = {**rip, "id": "field-01/spray", "operation": "spray", "after": [], "late_cents_per_hour": 0}
    document["tasks"] += [rip, spray]
    return document


def test_with_a_plan_implements_are_asked_about_where_work_is_left_or_late_or_holds_that_up() -> None:
    problem = parse_problem(ripped())
    mode = "tractor-1+disk-1+hand-1"
    disk, spray = PlacedTask("field-01/disk", mode, 450, 795), PlacedTask("field-01/spray", mode, 3000, 3300)

    def asked(*tasks: PlacedTask, left: tuple[LeftTask, ...] = ()) -> list[str]:
        plan = Plan("good", 0, 0, 0.0, {}, tasks, left)
        return [text for text in usual_suppositions(problem, plan) if not text.startswith(("hand", "over"))]

    both = ["disk:+1", "outfit:disk:+1", "rip_bed:+1", "outfit:rip_bed:+1"]
    assert asked(disk, spray, PlacedTask("field-01/rip_bed", mode, 2600, 2880)) == []
    assert asked(disk, spray, PlacedTask("field-01/rip_bed", mode, 2600, 2881)) == both
    assert asked(disk, spray, left=(LeftTask("field-01/rip_bed", "It has no room."),)) == both


def test_where_nobody_works_nothing_is_asked_of_hands(problem: Problem) -> None:
    document = farm()
    document["resources"] = [one for one in document["resources"] if one["kind"] == "pump"]
    document["tasks"] = document["tasks"][1:]
    assert usual_suppositions(parse_problem(document)) == ()
