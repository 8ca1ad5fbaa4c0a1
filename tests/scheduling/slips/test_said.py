"""How a slip is said: its lines in order, in both languages, with whom to call at its end."""

import datetime as dt
import re
import string
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.utils import translation
from django.utils.translation import gettext

from farmops.farms.operations import ALONE, Operation
from scheduling.slips import cautions, checks, phrases, settings
from scheduling.slips.checks import RuleDue, checks_for_work, ticked
from scheduling.slips.facts import (
    Effort,
    Fetch,
    GroundToday,
    ImplementFacts,
    LastTime,
    StartSetting,
    StayOut,
    Tool,
    WayThere,
)
from scheduling.slips.saying import about_gal, way_line
from scheduling.slips.slip import JobSlip
from scheduling.slips.words import Said, moment_words
from tests.farmops.digests.sheet_facts import task

DISK = ImplementFacts(28, 4, 5, 6, 80, bearings_front=8, bearings_back=6)
UNTIL = dt.datetime(2026, 4, 21, 16, 30, tzinfo=dt.UTC)


def slip(**facts: Any) -> JobSlip:
    whole: dict[str, Any] = {
        "way": WayThere("", 12, 2.31),
        "effort": Effort(13.6, 43.0, is_by_draft=True, power_share=0.5),
        "settings": (
            StartSetting("speed_mph", Decimal("4.5"), Decimal("5.5"), settings.WHY["speed_throws"]),
        ),
        "last_times": (
            LastTime(
                dt.date(2026, 3, 30),
                "Odell",
                "low end",
                "damp",
                (
                    ("speed_mph", Decimal("5.00"), ""),
                    ("gang_angle_deg", Decimal("18.00"), ""),
                    ("level", None, "front_low"),
                ),
            ),
        ),
    }
    return task(**{**whole, **facts})


def words_of(one: JobSlip, language: str = "en") -> dict[str, str]:
    said = one.said(language)
    return {line.key: line.says for line in (*said.lines, *said.settings, *said.last_times, *said.ends)}


def everything_said() -> dict[str, Said]:
    said = {f"phrase {key}": one for key, one in phrases.PHRASES.items()}
    said |= {f"why {key}": one for key, one in settings.WHY.items()}
    said |= {f"check {one.key}": one.says for one in checks.CHECKS}
    said |= {"bearings": checks.LOOK_AT_BEARINGS, "count": checks.BEARINGS}
    said |= {f"heat {key}": one for key, one in cautions.HEAT_WORDS.items()}
    return said | {"stay out": cautions.STAY_OUT, "felt": cautions.HEAT_FELT, "new": cautions.NEW_IN_HEAT}


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_sentence_of_a_slip_has_fewer_than_nine_words(language: str) -> None:
    """As on the sheet: the crew reads short sentences, common practice of farm trainers, no source."""
    long = [
        (key, part)
        for key, said in everything_said().items()
        for part in re.split(r"[.?!;:,]\s|[.?!:;]$", said.in_(language))
        if len(part.split()) > 8
    ]
    assert long == []


def test_nothing_of_a_slip_is_left_untranslated_and_both_languages_fill_in_the_same() -> None:
    same = {"phrase acres", "phrase speed_mph_unit"}
    for key, said in everything_said().items():
        assert said.en.strip(), key
        assert said.es.strip(), key
        plain = re.sub(r"\{.*?\}", "", said.en)
        assert said.en != said.es or key in same or not re.search("[a-z]{3}", plain), key
        assert _filled(said.en) == _filled(said.es), key


def _filled(text: str) -> set[str | None]:
    return {name for _before, name, _format, _conversion in string.Formatter().parse(text)} - {None}


def test_the_lines_come_in_the_order_of_reading_and_the_ends_last() -> None:
    said = slip(stay_out=StayOut(UNTIL, "Alpha 4L")).said("en")
    assert [line.key for line in said.lines] == [
        "stay_out",
        "when",
        "entrance",
        "way",
        "with",
        "ground",
        "effort",
    ]
    assert [line.key for line in said.settings] == ["speed_mph", "look_behind"]
    assert [line.key for line in said.ends] == ["emergency", "you_are_at", "place", "boss"]


@pytest.mark.parametrize(
    ("language", "says"),
    [
        (
            "en",
            {
                "way": "12 min from the yard, about 2.3 miles",
                "effort": "13.6 acres an hour, about 45 gallons of fuel",
                "speed_mph": "4.5 to 5.5 mph",
                "last_time": "Monday, March 30, low end, damp, still fit: 5 mph, 18 degrees, front low",
                "emergency": "911",
                "you_are_at": "Pond 80, 2140 Cane Branch Road",
                "place": "31.60180, -83.51790",
                "boss": "Marlene, 555-0142",
            },
        ),
        (
            "es",
            {
                "way": "12 min desde el patio, unas 2.3 millas",
                "effort": "13.6 acres por hora, cerca de 45 galones de combustible",
                "speed_mph": "4.5 a 5.5 mph",
                "last_time": "lunes 30 de marzo, low end, húmedo, aún se puede: 5 mph, 18 grados, bajo de frente",
                "emergency": "911",
            },
        ),
    ],
)
def test_what_a_slip_says(language: str, says: dict[str, str]) -> None:
    told = words_of(slip(), language)
    assert {key: told[key] for key in says} == says


def test_every_setting_says_why_and_after_the_first_round_one_looks_behind() -> None:
    said = slip().said("en")
    assert "Speed is a setting too" in said.settings[0].why
    assert "Stop and look behind" in said.settings[-1].says
    assert slip(operation=Operation.PLANT, settings=()).said("en").settings == ()


def test_the_way_says_nothing_where_one_is_there() -> None:
    assert way_line(WayThere("Sawpit", 36, 12.4), "en").says == "36 min from Sawpit, about 12 miles"
    assert way_line(WayThere("Sawpit", 0, 0), "en").says == "you are already there"
    assert way_line(WayThere("Sawpit", 1, 0.04), "en").says == "1 min from Sawpit"


def test_all_that_is_fetched_is_named_and_when_to_leave_for_it() -> None:
    disk = Tool("disk-28", Said("28 ft disk", "rastra de 28 pies"))
    fetch = (Fetch("Blue Crane"), Fetch("", is_machine=False))
    leave = WayThere("", 58, 12.4, fetch=fetch, hitch_min=30, leave_at=UNTIL.replace(hour=6, minute=2))
    one = slip(way=leave, implement=disk)
    assert words_of(one)["fetch"] == "Tractor 2 at Blue Crane; 28 ft disk at the yard"
    assert words_of(one, "es")["fetch"].endswith("rastra de 28 pies en el patio")
    [line] = [line for line in one.said("en").lines if line.key == "leave_by"]
    assert (line.says, line.why, line.warns) == (
        "6:02 am, to be there by 7:00 am",
        "Hitching up takes 30 min of it.",
        True,
    )
    late = slip(way=WayThere("Sawpit", 58, 12.4, there_at=UNTIL.replace(hour=9, minute=49)))
    assert words_of(late, "es")["late_there"] == "llegada: 9:49 a.m. o después"
    assert "fetch" not in words_of(late)


def test_ground_that_is_too_wet_and_ground_that_nobody_knows_warn() -> None:
    for ground in (GroundToday("a", 0.25, 0.2), None):
        [line] = [line for line in task(ground=ground).said("en").lines if line.key == "ground"]
        assert line.warns, ground


def test_work_that_no_ground_bears_says_nothing_of_unknown_ground() -> None:
    assert "ground" not in words_of(task(Operation.DEBRIS_WALK, ground=None))


def test_what_is_to_be_sprayed_says_until_when_nobody_goes_in() -> None:
    told = words_of(task(Operation.SPRAY, nobody_in=StayOut(UNTIL, "", is_planned=True)))
    assert told["nobody_in"] == "Tuesday, April 21, 4:30 pm, the label decides."


def test_names_are_those_of_the_language() -> None:
    disk = Tool("disk-28", Said("28 ft disk", "rastra de 28 pies"))
    assert words_of(slip(implement=disk))["with"] == "Tractor 2 with 28 ft disk"
    assert words_of(slip(implement=disk), "es")["with"] == "Tractor 2 con rastra de 28 pies"


def test_fuel_is_said_as_a_round_number_and_never_as_none() -> None:
    assert [about_gal(gallons) for gallons in (0.2, 6.6, 19.4, 22.4, 43.0)] == [1, 7, 19, 20, 45]


def test_midnight_and_noon_of_a_moment_are_twelve() -> None:
    assert moment_words(UNTIL.replace(hour=0, minute=0), "en") == "Tuesday, April 21, 12:00 am"


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_kind_of_work_can_be_said(language: str) -> None:
    for operation in set(Operation) - ALONE:
        said = slip(operation=operation).said(language)
        assert said.title.startswith("Pond 80: ")
        assert said.order == ("1 of 1" if language == "en" else "1 de 1")
        assert all(line.says.strip() and line.label for line in (*said.lines, *said.ends)), operation


def rule(code: str, what: str, *, is_due: bool, implement: bool = True) -> RuleDue:
    named = {"implement_code": "disk-1"} if implement else {"machine_code": "tractor-1"}
    return RuleDue(code, Said(what, f"es {what}"), is_due=is_due, **named)


def keys_and_words(*rules: RuleDue, facts: ImplementFacts | None = DISK) -> dict[str, str]:
    found = checks_for_work(
        operation=Operation.DISK,
        machine=Tool("tractor-1", Said("tractor 1", "tractor 1")),
        implement=Tool("disk-1", Said("disk 1", "rastra 1")),
        facts=facts,
        rules=rules,
    )
    return {one.check_key: one.says.en for one in found}


def test_a_service_that_is_due_stands_first_with_the_count_of_bearings() -> None:
    found = keys_and_words(rule("grease", "grease the gang bearings", is_due=True))
    assert next(iter(found)) == "rule:grease"
    assert found["rule:grease"] == "Disk 1: Grease the gang bearings. 8 front, 6 back."
    assert "work:grease" not in found


def test_bearings_whose_service_is_not_due_are_looked_at_and_not_greased() -> None:
    """Greasing beyond the book harms the seals: US Army TM 5-3710-200-13P, page 27."""
    found = keys_and_words(rule("grease", "grease the gang bearings", is_due=False))
    assert "rule:grease" not in found
    assert found["work:grease"] == "Disk 1: Any hot, loose or dry bearings? Look. 8 front, 6 back."


def test_without_a_rule_the_manual_says_how_often_and_without_a_count_none_is_printed() -> None:
    assert (
        keys_and_words()["work:grease"] == "Disk 1: Grease the bearings as the manual says. 8 front, 6 back."
    )
    uncounted = keys_and_words(facts=replace(DISK, bearings_back=None))
    assert uncounted["work:grease"] == "Disk 1: Grease the bearings as the manual says."


def test_a_service_of_something_else_has_no_count_and_leaves_the_grease_check() -> None:
    found = keys_and_words(rule("oil", "change the oil", is_due=True, implement=False))
    assert found["rule:oil"] == "Tractor 1: Change the oil."
    assert "work:grease" in found


def test_what_was_ticked_for_this_outfit_is_ticked_and_for_another_is_not() -> None:
    found = checks_for_work(
        operation=Operation.DISK,
        machine=Tool("tractor-1", Said("", "")),
        implement=Tool("disk-1", Said("", "")),
        facts=None,
        rules=(),
    )
    seen = frozenset({("work:around", "tractor-1", "disk-1"), ("work:tires", "tractor-2", "disk-1")})
    assert {one.check_key for one in ticked(found, seen) if one.is_ticked} == {"work:around"}


def test_no_spanish_hour_has_an_article_that_one_oclock_would_not_take() -> None:
    """It is “la 1:00” and “las 2:00”: on the slip, and on the manager's board."""
    said = {key: one.es for key, one in phrases.PHRASES.items()}
    with translation.override("es"):
        said |= {one: gettext(one) for one in ("leave by {hour}", "not there before {hour}")}
    assert said["leave by {hour}"] != "leave by {hour}"
    assert not [key for key, one in said.items() if re.search(r"\blas? \{(hour|start|end|leave)\}", one)]
