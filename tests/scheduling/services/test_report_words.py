"""A hand reads why a report waits in his or her language, with the numbers and days that it is about."""

import datetime as dt
from decimal import Decimal
from string import Formatter
from typing import Any

import pytest

from farmops.core.problems import DomainError
from scheduling.services import refusals
from scheduling.services.report_words import OTHERWISE, WHY, WITH_FACTS, why

DAY = dt.date(2026, 4, 20)


@pytest.mark.parametrize(
    ("error", "facts", "en", "es"),
    [
        (
            refusals.MeterRunsBackwards,
            {"reading_h": Decimal("401.5"), "before_h": Decimal("4010.0")},
            "You wrote 401.5 on the hour meter. Before, it showed 4,010.",
            "Usted anotó 401.5 del horómetro. Antes marcaba 4,010.",
        ),
        (
            refusals.MeterRunsBackwards,
            {"reading_h": Decimal("4020"), "later_h": Decimal("4015.5")},
            "You wrote 4,020 on the hour meter. Later, it showed 4,015.5.",
            "Usted anotó 4,020 del horómetro. Después marcó 4,015.5.",
        ),
        (
            refusals.ReportTooOld,
            {"day": DAY, "days": 9},
            "It is about Monday, April 20, 9 days ago.",
            "Es del lunes 20 de abril, hace 9 días.",
        ),
        (refusals.ReportTooOld, {}, WHY["report_too_old"].en, WHY["report_too_old"].es),
    ],
)
def test_a_reason_speaks_of_its_numbers_in_both_languages(
    error: type[DomainError], facts: dict[str, Any], en: str, es: str
) -> None:
    assert why(error("-", facts=facts)) == (en, es)


def test_what_cannot_be_is_asked_about_where_it_is_known_which_value_it_is() -> None:
    assert why(refusals.BadRecord("-", fields={"ends": "x"})).es == "¿Terminó antes de empezar?"
    assert why(refusals.BadRecord("-", fields={"odd": "x"})) == WHY["bad_record"]
    assert why(DomainError("-")) == OTHERWISE


def test_both_languages_speak_of_the_same_facts() -> None:
    for sentences in WITH_FACTS.values():
        for said in sentences:
            en, es = ({name for _t, name, _s, _c in Formatter().parse(text) if name} for text in said)
            assert en == es
