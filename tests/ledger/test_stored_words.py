"""Sentences that the books keep in English are said again in Spanish, by their forms; all else stays as it was written."""

import pytest
from django.utils import translation

from ledger.selectors.stored_words import FORMS, said_again


@pytest.mark.parametrize(
    ("stored", "said"),
    [
        ("share of tractor 1: 12.0 of 1,300.5 h", "parte de tractor 1: 12.0 de 1,300.5 h"),
        ("on the wages: Teo, 75 min lost: puncture", "sobre el salario: Teo, 75 min perdidos: ponchadura"),
        (
            "corn-seed lot A-7, bought 2026-03-01: bill of Ott & Sons no. 12",
            "corn-seed lote A-7, comprado el 2026-03-01: factura de Ott & Sons núm. 12",
        ),
        (
            "No price of the input corn-seed holds on 2026-03-01; set one from that day or earlier (0 is allowed).",
            "No hay precio del insumo corn-seed para el 2026-03-01; ponga uno desde ese día o antes (se permite 0).",
        ),
        ("closed with 1 entry", "cerrado con 1 asiento"),
        ("{hand} in braces", "{hand} in braces"),
        ("a reason in words, as somebody wrote it", "a reason in words, as somebody wrote it"),
        ("there on Monday", "there on Monday"),
        ("", ""),
    ],
)
def test_a_stored_sentence_is_said_again_in_spanish_where_its_form_is_known(stored: str, said: str) -> None:
    with translation.override("es"):
        assert said_again(stored) == said
    with translation.override("en"):
        assert said_again(stored) == stored


def test_a_form_is_known_before_a_shorter_one_that_would_hold_it_too() -> None:
    """Each form, filled in with numbers and words of its own, comes back by itself."""
    fills = {
        **dict.fromkeys(("minutes", "hours", "years", "yearly_hours", "gallons", "of_gallons", "short"), "7"),
        **dict.fromkeys(("horsepower", "share", "whole", "meter", "percent", "year", "number", "count"), "7"),
        **dict.fromkeys(("quantity", "places", "amount"), "7"),
        "day": "2026-04-20",
        "clock": "16:00",
    }
    with translation.override("es"):
        for form in FORMS:
            names = [part.split("}")[0] for part in form.split("{")[1:]]
            told = {name: fills.get(name, "xx") for name in names}
            assert said_again(form.format(**told)) == translation.gettext(form).format(**told), form
