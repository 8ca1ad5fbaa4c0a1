"""Which cautions a day carries: those of its work and weather, each with who has the last word."""

from collections.abc import Sequence
from dataclasses import dataclass

import pytest

from farmops.digests.page import lay_out
from farmops.farms.operations import ALONE, SPRAYING, Operation
from scheduling.slips.cautions import CAUTIONS, cautions_for, checks_for, hazards_of
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


@dataclass(frozen=True)
class Day:
    """A day of work, as far as its cautions ask."""

    tasks: Sequence[JobSlip]
    temp_max_f: float | None = 75.0
    rain_chance: float | None = 0.0
    emergency_number: str = "911"


MACHINE = {"raised", "riders", "hydraulics", "shafts", "tires", "overhead", "noise"}


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_caution_says_who_has_the_last_word(language: str) -> None:
    for hazard, said in CAUTIONS.items():
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
        (Operation.COMBINE, MACHINE | {"plugged", "fire"}),
        (Operation.PICK, MACHINE | {"plugged", "fire"}),
        (Operation.SHRED, MACHINE | {"plugged", "fire", "thrown"}),
        (Operation.DEBRIS_WALK, {"sharp", "snakes"}),
    ],
)
def test_each_kind_of_work_carries_its_hazards(operation: Operation, hazards: set[str]) -> None:
    """Pivot boxes, turning shafts, raised implements, extra riders, oil under pressure: US farm safety teaching."""
    assert set(hazards_of(Day([task(operation)]))) == hazards


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_kind_of_work_that_a_hand_does_is_said_with_checks_and_cautions(language: str) -> None:
    for operation in set(Operation) - ALONE:
        page = lay_out(sheet_day(task(operation)), language)
        assert work_words(operation, language) in page.headline
        assert len(page.cautions) > 1, operation
        assert all(line.says.strip() for block in page.blocks for line in block.lines), operation


def test_where_something_is_sprayed_the_label_has_the_last_word() -> None:
    for operation in SPRAYING:
        said = " ".join(cautions_for(Day([task(operation)]), "en"))
        assert "The label wins." in said
        assert "Nobody goes in until the label allows." in said


def test_heat_and_thunder_are_said_when_they_may_come_and_when_nobody_knows() -> None:
    assert {"heat", "lightning"}.isdisjoint(hazards_of(Day([task()], temp_max_f=79.9, rain_chance=0.1)))
    assert hazards_of(Day([task()], temp_max_f=80.0, rain_chance=0.2))[:2] == ["heat", "lightning"]
    assert hazards_of(Day([task()], temp_max_f=None, rain_chance=None))[:2] == ["heat", "lightning"]


def test_a_wide_implement_carries_the_caution_of_the_road() -> None:
    assert "road" not in hazards_of(Day([task()]))
    assert "road" in hazards_of(Day([task(wide_on_road=True)]))


def test_the_farm_s_own_emergency_number_is_the_one_that_is_named() -> None:
    said = " ".join(cautions_for(Day([task()], emergency_number="112"), "en"))
    assert "112" in said
    assert "911" not in said


def test_two_tasks_of_a_kind_say_a_thing_once() -> None:
    tasks = (task(), task(hours=(13, 15)))
    assert len(set(checks_for(tasks, "en"))) == len(checks_for(tasks, "en"))
    assert checks_for(tasks, "en") == checks_for(tasks[:1], "en")


def test_every_day_with_work_ends_its_cautions_with_the_right_to_stop() -> None:
    assert lay_out(sheet_day(task()), "en").cautions[-1] == "Not safe? Stop and call Marlene."
    assert (
        lay_out(sheet_day(task(), boss_name=""), "es").cautions[-1]
        == "¿No es seguro? Pare y llame a quien manda."
    )
