"""Sentences of windows: numbers that can be told apart, and a clock as people say it."""

import datetime as dt
from dataclasses import replace
from string import Formatter
from zoneinfo import ZoneInfo

import pytest

from scheduling.windows.limits import Choice, Limit
from scheduling.windows.wording import (
    Opening,
    Sentence,
    clock_en,
    clock_es,
    odds_en,
    odds_es,
    reason,
    with_opening,
)
from tests.scheduling.windows.scene import LIMITS, ZONE

NEW_YORK = ZoneInfo(ZONE)
MONDAY = dt.datetime(2026, 4, 20, tzinfo=NEW_YORK)


def limit(key: str) -> Limit:
    return next(one for one in LIMITS if one.key == key)


@pytest.mark.parametrize(
    ("moment", "english", "spanish"),
    [
        (dt.time(0), "12 am", "las 12 de la madrugada"),
        (dt.time(1), "1 am", "la 1 de la madrugada"),
        (dt.time(9, 5), "9:05 am", "las 9:05 de la mañana"),
        (dt.time(12), "12 pm", "las 12 del día"),
        (dt.time(13, 30), "1:30 pm", "la 1:30 de la tarde"),
        (dt.time(20), "8 pm", "las 8 de la noche"),
    ],
)
def test_the_clock_has_twelve_hours(moment: dt.time, english: str, spanish: str) -> None:
    assert (clock_en(moment), clock_es(moment)) == (english, spanish)


@pytest.mark.parametrize(
    ("chance", "english", "spanish"),
    [
        (1.0, "10 in 10", "10 de cada 10"),
        (0.999, "9 in 10", "9 de cada 10"),
        (0.7, "7 in 10", "7 de cada 10"),
        (0.49, "4 in 10", "4 de cada 10"),
        (0.02, "less than 1 in 10", "menos de 1 de cada 10"),
    ],
)
def test_odds_are_rounded_down(chance: float, english: str, spanish: str) -> None:
    assert (odds_en(chance), odds_es(chance)) == (english, spanish)


def test_numbers_that_all_but_meet_are_told_apart() -> None:
    assert reason(limit("wind_most"), value=10.0004, bound=10).english.startswith(
        "too windy to spray: 10.0004 mph, at most 10.0000 mph"
    )


def test_a_reason_has_both_numbers() -> None:
    said = reason(limit("sticks"), value=0.2133, bound=0.1801)
    assert said.english == "sticks to the boot: topsoil 0.21, workable below 0.18"
    assert said.spanish == "se pega a la bota: suelo de arriba 0.21, se puede con menos de 0.18"


@pytest.mark.parametrize(
    ("choice", "english", "spanish"),
    [
        (Choice("sticks", number=0.9), " (the farm's own number)", " (número propio del rancho)"),
        (
            Choice("sticks", field="pond-40", number=0.9, set_by="rosa"),
            " (this field's own number, rosa)",
            " (número propio de este campo, rosa)",
        ),
        (Choice("sticks", is_used=True, set_by="rosa"), "", ""),
    ],
)
def test_a_reason_says_whose_own_number_ruled(choice: Choice, english: str, spanish: str) -> None:
    said = reason(replace(limit("sticks"), choice=choice), value=0.2133, bound=0.1801)
    assert said.english == "sticks to the boot: topsoil 0.21, workable below 0.18" + english
    assert said.spanish == "se pega a la bota: suelo de arriba 0.21, se puede con menos de 0.18" + spanish


def test_numbers_that_round_alike_get_another_digit() -> None:
    assert "topsoil 0.184, workable below 0.180" in reason(limit("sticks"), value=0.184, bound=0.18).english


def test_water_at_the_seed_is_told_in_percent_of_what_it_can_hold() -> None:
    said = reason(limit("dry_seedbed"), value=0.021, bound=0.05)
    assert said.english == "dry at the seed: 2 % of its water left, wants 5 %; wait for rain"
    assert "le queda 2 % del agua, pide 5 %" in said.spanish


def test_a_hair_below_nothing_is_told_as_nothing() -> None:
    assert "air 0.0 °F above" in reason(limit("dew"), value=-0.01, bound=3.6).english


def test_units_are_said_in_each_language() -> None:
    said = reason(limit("downpour"), value=1.62, bound=1.0)
    assert "1.6 in within 24 hours" in said.english
    assert "1.6 pulgadas en 24 horas" in said.spanish
    cold = reason(limit("corn_soil"), value=51.2, bound=55)
    assert "soil 51 °F at 2 in" in cold.english
    assert "suelo 51 °F a 2 pulgadas" in cold.spanish


@pytest.mark.parametrize(
    ("at", "chance", "english", "spanish"),
    [
        (MONDAY.replace(hour=14), 1.0, "opens about 2 pm", "se abre como a las 2 de la tarde"),
        (
            MONDAY.replace(day=23, hour=14),
            0.75,
            "opens Thursday about 2 pm, 7 in 10",
            "se abre el jueves como a las 2 de la tarde, 7 de cada 10",
        ),
        (MONDAY.replace(day=23), 1.0, "opens Thursday", "se abre el jueves"),
        (MONDAY.replace(hour=10, minute=20), 1.0, "opens at 10:20 am", "se abre a las 10:20 de la mañana"),
        (
            MONDAY.replace(day=28, hour=9),
            1.0,
            "opens Tuesday, Apr 28 about 9 am",
            "se abre el martes 28 como a las 9 de la mañana",
        ),
    ],
)
def test_the_opening_is_told_with_its_day_hour_and_odds(
    at: dt.datetime, chance: float, english: str, spanish: str
) -> None:
    said = with_opening(Sentence("wet", "mojado"), Opening(at, chance), shut_from=MONDAY, zone=ZONE)
    assert (said.english, said.spanish) == (f"wet; {english}", f"mojado; {spanish}")


def test_every_shipped_sentence_can_be_filled() -> None:
    for one in LIMITS:
        words = {
            word: Sentence(f"<{word}>", f"<{word}>")
            for word in ("pump", "until", "since", "products", "place")
        }
        said = reason(one, value=0.3, bound=0.2, words=words, soil_zone="low end")
        assert "{" not in said.english + said.spanish
        assert said.english.startswith("low end: ")
        asked = [
            {name for _, name, _, _ in Formatter().parse(sentence) if name}
            for sentence in (one.says_en, one.says_es)
        ]
        assert asked[0] == asked[1]
