"""What the services of the books refuse with is told in the reader's language, with its facts, and never stored so."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.utils import translation

from farmops.core.problems import DomainError
from ledger.costing import money
from ledger.selectors import said
from ledger.services.bill_items import NewBillItem
from ledger.services.bills import enter_bill
from ledger.services.budgets import set_budget
from ledger.services.landlords import set_landlord_term
from ledger.services.yields import enter_yield
from tests.ledger.conftest import Place

NOON = dt.datetime(2026, 4, 20, 17, tzinfo=dt.UTC)
DAY = dt.date(2026, 4, 20)
SEED: dict[str, Any] = {
    "category": "seed",
    "amount_usd": "10",
    "item": "seed-lot",
    "quantity": "2",
    "unit": "bag",
}


def test_every_sentence_of_money_can_be_said_in_another_language() -> None:
    assert set(said.MONEY_SENTENCES) == set(money.SENTENCES)


@pytest.mark.parametrize(
    ("given", "english", "spanish"),
    [
        (
            "12.345",
            "The amount 12.345 has more than two decimals; nothing smaller than a cent is booked.",
            "El monto 12.345 tiene más de dos decimales; no se asienta nada menor que un centavo.",
        ),
        (
            "20000000000",
            "The amount 20000000000 is more than 10,000,000,000, which no single line holds.",
            "El monto 20000000000 pasa de 10,000,000,000, que no cabe en un renglón.",
        ),
    ],
)
def test_a_refused_amount_is_told_with_its_facts(given: str, english: str, spanish: str) -> None:
    with pytest.raises(money.MoneyError) as refused:
        money.cents_from(given)
    assert str(refused.value) == english
    assert said.money_said(refused.value) == english
    with translation.override("es"):
        assert said.money_said(refused.value) == spanish
        assert str(refused.value) == english


@pytest.mark.parametrize(
    ("facts", "spanish"),
    [
        ({"payee": " "}, "Una factura dice a quién se paga."),
        ({"check_no": "9" * 21, "paid_on": DAY}, "cheque de la factura: tiene 21 letras; a lo más 20."),
        (
            {"bill_on": dt.date(2062, 4, 20)},
            "día de la factura: 2062-04-20 no está entre 1990 y 2027-04-21; ¿está bien el año?",
        ),
        ({"amount_usd": "0"}, "Una factura de $0.00 no cobra nada."),
        (
            {"items": [NewBillItem(**{**SEED, "quantity": "0"})]},
            "Renglón 1 de la factura: la cantidad es cero; quítela, o diga cuánto fue.",
        ),
        (
            {"items": [NewBillItem(**{**SEED, "category": "repairs"})]},
            "Renglón 1 de la factura: la categoría reparaciones no se compra para existencias; quite la clave.",
        ),
        (
            {"items": [NewBillItem(**{**SEED, "amount_usd": "8"})]},
            "Los renglones suman $8.00, y la factura es de $12.00.",
        ),
    ],
)
@pytest.mark.django_db
def test_a_bill_is_refused_in_the_readers_language(place: Place, facts: dict[str, Any], spanish: str) -> None:
    told: dict[str, Any] = {
        "payee": "Cane Road Tire",
        "bill_on": DAY,
        "amount_usd": "12",
        "category": "repairs",
        **facts,
    }
    with translation.override("es"), pytest.raises(DomainError) as refused:
        enter_bill(farm=place.farm, client_id=uuid.uuid4(), now=NOON, **told)
    assert refused.value.says == spanish


@pytest.mark.django_db
def test_what_was_kept_before_is_told_in_the_readers_words(place: Place) -> None:
    terms: dict[str, Any] = {
        "farm": place.farm,
        "season": place.season,
        "landlord": "Orchard Trust",
        "now": NOON,
    }
    set_landlord_term(**terms, category="land_rent", share_pct=Decimal(25))
    budget: dict[str, Any] = {
        "farm": place.farm,
        "crop_year": 2026,
        "crop": "cotton",
        "category": "fertilizer",
        "now": NOON,
    }
    set_budget(**budget, usd_per_ac="110")
    enter_yield(season=place.season, quantity="61.5", unit="bale", now=NOON)
    with translation.override("es"):
        with pytest.raises(DomainError) as of_term:
            set_landlord_term(**terms, category="land_rent", share_pct=Decimal(20))
        with pytest.raises(DomainError) as of_budget:
            set_budget(**budget, usd_per_ac="120")
        with pytest.raises(DomainError) as of_yield:
            enter_yield(season=place.season, quantity="62", unit="bale", now=NOON)
    assert of_term.value.says == (
        "A Orchard Trust le toca 25 % de renta de la tierra de Pond 40 algodón 2026; diga que esto lo corrige."
    )
    assert of_budget.value.says == (
        "fertilizante y cal de algodón 2026 ya tiene presupuesto de 110.00 por acre; diga que es una corrección."
    )
    assert (
        of_yield.value.says
        == "Pond 40 algodón 2026 dio 61.5 pacas, como ya se registró; diga que es una corrección."
    )
