"""Which cautions a day carries: those of its work and weather, each with who has the last word."""

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from farmops.digests.page import lay_out
from farmops.farms.operations import ALONE, SPRAYING, Operation
from scheduling.slips.cautions import CAUTIONS, HEAT_FELT, NEW_IN_HEAT, STAY_OUT, cautions_of, hazards_of
from scheduling.slips.checks import checks_of
from scheduling.slips.facts import HeatToday, NewHand, StayOut
from scheduling.slips.slip import JobSlip
from scheduling.slips.words import work_words
from tests.farmops.digests.sheet_facts import sheet_day, task

LAST_WORDS = {
    "en": ("manual", "law", "label", "electrician", "tire man", "boss", "hospital", "811", "{emergency}"),
    "es": (
        "manual",
        "ley",
        "etiqueta",
        "electricista",
        "llantero",
        "Pregunte",
        "hospital",
        "811",
        "{emergency}",
    ),
}


MACHINE = {"raised", "riders", "hydraulics", "shafts", "tires", "overhead", "noise", "plugged", "road"}


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_caution_says_who_has_the_last_word(language: str) -> None:
    told = {**CAUTIONS, "stay out": STAY_OUT, "heat felt": HEAT_FELT, "new in heat": NEW_IN_HEAT}
    for hazard, said in told.items():
        assert any(who in said.in_(language) for who in LAST_WORDS[language]), hazard


@pytest.mark.parametrize(
    ("operation", "hazards"),
    [
        (Operation.PIVOT_START, {"electricity", "starts_alone", "stings", "shafts", "tires"}),
        (Operation.PIVOT_STOP, {"electricity", "starts_alone", "stings", "shafts", "tires"}),
        (Operation.DISK, MACHINE),
        (Operation.RIP_BED, MACHINE | {"buried"}),
        (Operation.PLANT, MACHINE | {"seed"}),
        (Operation.COVER, MACHINE | {"seed"}),
        (Operation.STRIP_TILL, MACHINE | {"buried"}),
        (Operation.BURNDOWN, MACHINE | {"label", "reentry", "drift", "poison"}),
        (Operation.SPRAY, MACHINE | {"label", "reentry", "drift", "poison"}),
        (Operation.DEFOLIATE, MACHINE | {"label", "reentry", "drift", "poison"}),
        (Operation.SPREAD, MACHINE | {"fertilizer"}),
        (Operation.SIDEDRESS, MACHINE | {"fertilizer"}),
        (Operation.DIG, MACHINE),
        (Operation.COMBINE, MACHINE | {"fire"}),
        (Operation.PICK, MACHINE | {"fire"}),
        (Operation.SHRED, MACHINE | {"fire", "thrown"}),
        (Operation.DEBRIS_WALK, {"sharp", "snakes"}),
    ],
)
def test_each_kind_of_work_carries_its_hazards(operation: Operation, hazards: set[str]) -> None:
    """Pivot boxes, turning shafts, raised implements, extra riders, oil under pressure: US farm safety teaching."""
    assert set(hazards_of([task(operation)])) == hazards


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_kind_of_work_that_a_hand_does_is_said_with_checks_and_cautions(language: str) -> None:
    for operation in set(Operation) - ALONE:
        page = lay_out(sheet_day(task(operation)), language)
        assert work_words(operation, language) in page.headline
        assert len(page.cautions) > 1, operation
        assert all(line.says.strip() for block in page.blocks for line in block.lines), operation


def test_where_something_is_sprayed_the_label_has_the_last_word() -> None:
    for operation in SPRAYING:
        said = " ".join(cautions_of([task(operation)], "en"))
        assert "The label wins." in said
        assert "Nobody goes in until the label allows." in said


def test_heat_and_thunder_are_said_when_they_may_come_and_when_nobody_knows() -> None:
    cool = [task(temp_max_f=79.9, rain_chance=0.1)]
    assert {"heat", "lightning"}.isdisjoint(hazards_of(cool))
    assert hazards_of([task(temp_max_f=80.0, rain_chance=0.2)])[:2] == ["heat", "lightning"]
    assert hazards_of([task(temp_max_f=None, rain_chance=None)])[:2] == ["heat", "lightning"]


def test_a_wide_implement_carries_the_caution_of_the_road_by_daylight_and_any_other_the_shorter_one() -> None:
    assert "road_wide" not in hazards_of([task()])
    wide = hazards_of([task(), task(wide_on_road=True)])
    assert "road_wide" in wide
    assert "road" not in wide


def test_the_farm_s_own_emergency_number_is_the_one_that_is_named() -> None:
    said = " ".join(cautions_of([with_number("112")], "en"))
    assert "112" in said
    assert "911" not in said


def with_number(number: str) -> JobSlip:
    slip = task()
    return replace(slip, call=replace(slip.call, emergency_number=number))


def test_two_tasks_of_a_kind_say_a_thing_once() -> None:
    tasks = [task(), task(hours=(13, 15))]
    assert checks_of(tasks) == checks_of(tasks[:1])
    assert cautions_of(tasks, "en") == cautions_of(tasks[:1], "en")
    assert len(set(cautions_of(tasks, "en"))) == len(cautions_of(tasks, "en"))


@pytest.mark.parametrize(
    ("level", "says"),
    [("lower", None), ("moderate", "96 °F: moderate heat"), ("very_high", "very high heat")],
)
def test_the_level_of_heat_is_told_from_moderate_on(level: str, says: str | None) -> None:
    """Levels and the 15 °F of full sun: OSHA, protective measures at each heat index."""
    said = " ".join(cautions_of([task(heat=HeatToday(level, 96.2))], "en"))
    assert ("feel like" in said) is (says is not None)
    assert says is None or (says in said and "15 °F" in said)
    assert "water and shade" in said


def test_the_hottest_hours_of_the_day_rule() -> None:
    slips = [task(heat=HeatToday("moderate", 95.0)), task(heat=HeatToday("high", 104.0))]
    assert "104 °F" in cautions_of(slips, "en")[0]


def test_a_new_hand_s_first_days_in_heat_are_short_ones_and_on_cool_days_nothing_is_said_of_it() -> None:
    """A fifth of the time on the first day: OSHA, Protecting new workers."""
    new: dict[str, Any] = {"new_hand": NewHand(1, 20)}
    assert any("20 %" in one for one in cautions_of([task(temp_max_f=85.0, **new)], "en"))
    assert not any("20 %" in one for one in cautions_of([task(temp_max_f=70.0, **new)], "en"))


def test_a_field_that_a_label_keeps_shut_says_until_which_day_and_hour_and_that_the_label_decides() -> None:
    stay_out = StayOut(dt.datetime(2026, 4, 21, 16, 30, tzinfo=dt.UTC), "Alpha 4L")
    assert cautions_of([task(stay_out=stay_out)], "en")[0] == (
        "Stay out of Pond 80 until Tuesday, April 21, 4:30 pm. The label decides."
    )
    assert cautions_of([task(stay_out=stay_out)], "es")[0] == (
        "Hasta martes 21 de abril, 4:30 p.m., no entre a Pond 80. La etiqueta manda."
    )


def test_a_day_without_slips_has_no_cautions() -> None:
    assert cautions_of([], "en") == []


def test_every_day_with_work_ends_its_cautions_with_the_right_to_stop() -> None:
    assert lay_out(sheet_day(task()), "en").cautions[-1] == "Not safe? Stop and call Marlene."
    assert (
        lay_out(sheet_day(task(), boss_name=""), "es").cautions[-1]
        == "¿No es seguro? Pare y llame a su jefe."
    )
