"""The words of the sheet: short, in both languages, and said as a clock and a calendar say them."""

import datetime as dt
import re
import string

import pytest
from django.utils import dates, translation

from farmops.digests.wording import PHRASES
from farmops.farms.operations import Operation
from scheduling.slips.cautions import CAUTIONS
from scheduling.slips.checks import CHECKS
from scheduling.slips.words import (
    GROUND_WORDS,
    MONTHS,
    WEEKDAYS,
    WETTEST,
    Said,
    clock_words,
    day_words,
    ground_words,
    span_words,
    work_words,
)


def everything_said() -> dict[str, Said]:
    said = {f"phrase {key}": words for key, words in PHRASES.items()}
    said |= {f"caution {key}": words for key, words in CAUTIONS.items()}
    said |= {f"check {index}": check.says for index, check in enumerate(CHECKS)}
    said |= {f"ground {below}": words for below, words in GROUND_WORDS}
    return said | {"wettest": WETTEST}


def sentences(text: str) -> list[str]:
    return [part.strip() for part in re.split(r"[.?!;]\s|[.?!:;]$|:\s", text) if part.strip()]


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_sentence_has_fewer_than_nine_words(language: str) -> None:
    """The crew reads short sentences, some in a second or third language: common practice of farm trainers, no source."""
    long = [
        (key, sentence)
        for key, said in everything_said().items()
        for sentence in sentences(said.in_(language))
        if len(sentence.split()) > 8
    ]
    assert long == []


def test_nothing_is_left_untranslated_and_both_languages_fill_in_the_same() -> None:
    same_in_both = {"phrase acres"}
    for key, said in everything_said().items():
        assert said.en.strip(), key
        assert said.es.strip(), key
        assert said.en != said.es or key in same_in_both or not re.search("[a-z]{3}", _plain(said.en)), key
        assert _names(said.en) == _names(said.es), key


def _names(text: str) -> set[str | None]:
    return {name for _before, name, _format, _conversion in string.Formatter().parse(text)} - {None}


def _plain(text: str) -> str:
    return re.sub(r"\{.*?\}", "", text)


@pytest.mark.parametrize("language", ["en", "es"])
def test_days_and_months_are_named_as_the_framework_translates_them(language: str) -> None:
    """Compared with the calendar names that ship translated with Django (django.utils.dates)."""
    with translation.override(language):
        assert [said.in_(language).lower() for said in WEEKDAYS] == [
            str(dates.WEEKDAYS[number]).lower() for number in range(7)
        ]
        assert [said.in_(language).lower() for said in MONTHS] == [
            str(dates.MONTHS[number]).lower() for number in range(1, 13)
        ]


def test_the_clock_has_twelve_hours_in_both_languages() -> None:
    """Every minute of the day against the C library's %I:%M %p."""
    for minute in range(24 * 60):
        hour = dt.time(minute // 60, minute % 60)
        expected = hour.strftime("%I:%M %p").lstrip("0").lower()
        assert clock_words(hour, "en") == expected
        assert clock_words(hour, "es") == expected.replace("am", "a.m.").replace("pm", "p.m.")


def test_dates_are_said_with_their_weekday() -> None:
    assert day_words(dt.date(2026, 4, 20), "en") == "Monday, April 20"
    assert day_words(dt.date(2026, 4, 20), "es") == "lunes 20 de abril"


def test_lengths_are_said_in_hours_and_minutes() -> None:
    assert [span_words(minutes) for minutes in (0, 20, 60, 310)] == ["0 min", "20 min", "1 h", "5 h 10 min"]


def test_ground_words_go_from_dry_to_wet() -> None:
    words = [ground_words(share / 100, "en") for share in range(0, 150, 5)]
    assert list(dict.fromkeys(words)) == [
        "dry on top",
        "a little damp",
        "damp, still fit",
        "sticks to the boot",
        "wet",
    ]
    assert ground_words(0.999, "en") == "damp, still fit"
    assert ground_words(1.0, "en") == "sticks to the boot"


def test_every_operation_has_its_verb_in_both_languages() -> None:
    for operation in Operation:
        assert work_words(operation, "en") != work_words(operation, "es")
