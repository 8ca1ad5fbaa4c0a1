"""What was kept in English is said again in the language that is on; the sentences are those of the rules themselves."""

import datetime as dt
import re
import uuid

import pytest
from django.utils import translation

from farmops.core.problems import DomainError
from scheduling.models import ParkedReport
from scheduling.selectors import kept_words
from scheduling.selectors.kept_words import kept_said
from scheduling.services.limit_choices import LimitChoiceRefused, choose_limit
from scheduling.services.receiving import receive_report
from scheduling.windows.choices import known_choices
from scheduling.windows.limits import Choice
from scheduling.windows.limits_file import load_limits
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season

NOW = dt.datetime(2026, 4, 20, 23, tzinfo=dt.UTC)
BRACES = re.compile(r"\{(\w+)\}")


@pytest.mark.parametrize("form", kept_words.FORMS)
def test_each_sentence_is_known_again_with_all_that_it_speaks_of(form: str) -> None:
    told = {name: f"7{name}7" for name in BRACES.findall(form)}
    with translation.override("es"):
        said = kept_said(form.format(**told))
    assert said != form.format(**told)
    assert all(part in said for part in told.values())


def test_where_english_is_on_and_where_a_sentence_is_not_known_nothing_changes() -> None:
    with translation.override("en"):
        assert kept_said("A check is not fine.") == "A check is not fine."
    with translation.override("es"):
        assert kept_said("Somebody wrote this.") == "Somebody wrote this."


def test_what_is_filled_in_is_said_again_too() -> None:
    with translation.override("es"):
        assert kept_said("Pond 40 disk was called off: Not walked after all.") == (
            "Se canceló: Pond 40 rastrear. Al final no se caminó."
        )
        assert kept_said(
            "2026-04-01 to 2026-04-03 (3 days): nothing was read; the usual weather stands in."
        ) == ("2026-04-01 a 2026-04-03 (3 días): no se leyó nada; en su lugar va el tiempo usual.")


def test_notes_on_choices_that_are_not_followed_are_known_again() -> None:
    _followed, notes = known_choices(
        load_limits(), [Choice(key="re_entry", is_used=False, set_at="2026-04-01")]
    )
    with translation.override("es"):
        assert kept_said(notes[0]) == (
            "Una elección del 2026-04-01 no se sigue: re_entry: manda la etiqueta; se puede hacer más estricto, "
            "nunca quitar."
        )


@pytest.mark.django_db
def test_refused_limits_are_known_again() -> None:
    farm = make_farm()
    with translation.override("es"), pytest.raises(LimitChoiceRefused) as refused:
        choose_limit(farm=farm, key="sticks", number=9.0, source="x", set_by=None, now=NOW)
    with translation.override("es"):
        assert kept_said(refused.value.says).startswith("sticks: el número es 9; ")


@pytest.mark.django_db
@pytest.mark.parametrize("language", ["en", "es"])
def test_a_reason_is_kept_in_english_whatever_language_is_on_and_told_in_the_readers(language: str) -> None:
    farm = make_farm()
    hand = make_hand(farm, "rosa", language=language, name="Rosa")
    ground = make_pass(make_season(make_field(farm)))
    for body in (
        {"pass_id": ground.pk, "work_on": "2026-04-20", "hours": "25"},
        {"pass_id": ground.pk, "work_on": "2026-04-20", "hours": "2", "done_ac": "900"},
        {"pass_id": ground.pk, "work_on": "2026-03-20", "hours": "2"},
        {"pass_id": ground.pk + 99, "work_on": "2026-04-20", "hours": "2"},
    ):
        with translation.override(language):
            receive_report(
                farm=farm, hand=hand, client_id=uuid.uuid4(), kind="work", body=body, sent_by=None, now=NOW
            )
    kept = list(ParkedReport.objects.order_by("pk").values_list("why", flat=True))
    assert kept[0] == "Rosa would have 25 h 00 min on 2026-04-20; a day has 24."
    with translation.override("es"):
        assert [kept_said(one) for one in kept] == [
            "Rosa tendría 25 h 00 min el 2026-04-20; un día tiene 24.",
            f"Pond 40 rastrear tiene {ground.area_ac} acres; con este reporte serían 900 hechos.",
            "Es del 2026-03-20, hace 31 días; con más de 7 se revisa primero.",
            "Heron Slough no tiene esa pasada.",
        ]


def test_a_domain_error_keeps_its_words() -> None:
    """Commands and the API have no language on and read the sentence as it was raised."""
    assert kept_said(DomainError("A check is not fine.").says) == "A check is not fine."
