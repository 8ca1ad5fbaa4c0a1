"""The mail is read by people who left school early, some in a second language: every kind stays at grade 6 or below."""

import re

import pytest

from farmops.digests.text import as_text
from farmops.digests.wording import PHRASES
from scheduling.slips.cautions import CAUTIONS
from scheduling.slips.checks import CHECKS
from scheduling.slips.phrases import PHRASES as OF_SLIPS
from scheduling.slips.words import Said
from tests.farmops.digests.all_mails import KINDS, page_of
from tests.farmops.digests.reading import ease_es, grade_en, syllables_en, syllables_es

MOST_GRADE = 6.0
LEAST_EASE = 70.0
SAID: dict[str, list[Said]] = {
    "sheets": list(PHRASES.values()),
    "cautions": list(CAUTIONS.values()),
    "checks": [one.says for one in CHECKS],
    "slips": list(OF_SLIPS.values()),
}


def plain(text: str) -> str:
    return re.sub(r"\{.*?\}", "", text)


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("field", 1),
        ("shut", 1),
        ("morning", 2),
        ("weather", 2),
        ("tomorrow", 3),
        ("manager", 3),
        ("emergency", 4),
        ("Don't", 1),
        ("am", 2),
    ],
)
def test_english_syllables_are_counted_as_spoken(word: str, count: int) -> None:
    """Counts as any dictionary divides the words; from memory."""
    assert syllables_en(word) == count


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("no", 1),
        ("ya", 1),
        ("hoy", 1),
        ("quien", 1),
        ("día", 2),
        ("agua", 2),
        ("limpie", 2),
        ("guía", 2),
        ("leer", 2),
        ("mañana", 3),
        ("baleros", 3),
        ("reúne", 3),
        ("teléfono", 4),
        ("cacahuate", 4),
        ("todavía", 4),
        ("aéreo", 4),
    ],
)
def test_spanish_syllables_are_counted_with_their_diphthongs(word: str, count: int) -> None:
    """Counts by the rules of the Real Academia for diphthong and hiatus; from memory."""
    assert syllables_es(word) == count


def test_the_formulas_are_those_of_their_handbooks() -> None:
    """One sentence of ten words of one syllable: 0.39 * 10 + 11.8 - 15.59 = 0.11, and 206.84 - 60 - 10.2 = 136.64."""
    assert grade_en("The cat sat on the mat and then it slept.") == pytest.approx(0.11)
    assert ease_es("Hoy no voy al sol ni por pan ni sal.") == pytest.approx(136.64)
    assert grade_en("Immediate notification of responsible management is mandatory.") > 20


@pytest.mark.parametrize("name", SAID)
def test_all_that_is_said_stays_at_grade_six(name: str) -> None:
    """Grade 6 of Flesch-Kincaid, and 70 of Fernández Huerta ("fairly easy"): what the house asks of itself."""
    assert grade_en("\n".join(plain(one.en) for one in SAID[name])) <= MOST_GRADE
    assert ease_es("\n".join(plain(one.es) for one in SAID[name])) >= LEAST_EASE


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("count", [0, 1, 6])
def test_every_mail_as_a_whole_stays_at_grade_six(kind: str, count: int) -> None:
    """A name that is a number drops out of the count, as numbers do."""
    english, spanish = (as_text(page_of(kind, language, count=count, name="80")) for language in ("en", "es"))
    assert grade_en(english) <= MOST_GRADE
    assert ease_es(spanish) >= LEAST_EASE
