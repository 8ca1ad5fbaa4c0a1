"""A bookkeeper who reads Spanish enters, corrects and pays bills, keeps stock, budgets and landlords, and files by it."""

import datetime as dt
import re
import uuid
from html import unescape
from typing import Any

import pytest

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Season
from ledger.models import Bill, BudgetLine, LandlordTerm, Line, OpeningStock
from ledger.services.posting import post_pending
from scheduling.models import Incident
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document

NOW = dt.datetime(2026, 4, 24, 22, tzinfo=dt.UTC)
FARM = "/farms/heron-slough/"
TYPED: dict[str, Any] = {
    "payee": "Cane Road Tire",
    "bill_on": "4/22",
    "amount_usd": "412.38",
    "category": "repairs",
}


@pytest.fixture
def office(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    User.objects.filter(username="bo").update(language="es")
    return yard


def page_of(path: str, **asked: str) -> str:
    answer = signed_in("bo").get(f"{FARM}{path}", asked)
    assert answer.status_code == 200
    assert Document(answer.text).wrong == []
    return unescape(re.sub(r"\s+", " ", answer.text))


def told(path: str, status: int = 200, **boxes: Any) -> str:
    typed = {"client_id": str(uuid.uuid4()), **boxes}
    answer = signed_in("bo").post(f"{FARM}{path}", typed, follow=True)
    assert answer.status_code == status
    return unescape(answer.text)


def test_a_bill_is_entered_refused_and_paid_in_spanish_and_stored_as_ever(office: Yard) -> None:
    assert "Todas las facturas están pagadas" in page_of("bills/")
    refused = told("bills/enter/", 422, **TYPED | {"bill_on": "22/4/2026", "amount_usd": "412.385"})
    assert "“22/4/2026” no es una fecha como 4/20/2026 (mes/día/año)." in refused
    assert "El monto 412.385 tiene más de dos decimales" in told(
        "bills/enter/", 422, **TYPED | {"amount_usd": "412.385"}
    )
    assert "Guardada: $412.38 de Cane Road Tire." in told("bills/enter/", **TYPED, place="Por acres")
    assert Bill.objects.get().shared_by == "acres"
    page = page_of("bills/")
    assert "1 factura sin pagar: $412.38" in page
    assert "todos los campos de 2026, por acres" in page
    assert "22 abr 2026" in page
    assert "Pagado: $412.38 a Cane Road Tire." in told(f"bills/{Bill.objects.get().pk}/pay/", check_no="77")
    assert "24 abr 2026, cheque 77" in page_of("bills/")


@pytest.mark.parametrize("place", ["por partes iguales", "in equal parts"])
def test_a_place_may_be_typed_in_either_language(office: Yard, place: str) -> None:
    told("bills/enter/", **TYPED, place=place)
    bill = Bill.objects.get()
    assert bill.shared_by == "equal"
    assert 'value="por partes iguales"' in page_of(f"bills/{bill.pk}/")


@pytest.mark.parametrize("said", ["percance {}", "Percance {}", "incident {}"])
def test_an_incident_may_be_typed_in_either_language(office: Yard, said: str) -> None:
    incident = Incident.objects.create(
        farm=office.farm, client_id=uuid.uuid4(), kind="puncture", happened_at=NOW, recorded_at=NOW,
        field=office.field, season=office.field_pass.season, hand=office.hand,
    )  # fmt: skip
    assert f'<option value="percance {incident.pk}">' in page_of("bills/")
    told("bills/enter/", **TYPED, place=said.format(incident.pk))
    assert Bill.objects.get().incident == incident


def test_stock_years_and_payees_are_said_in_spanish(office: Yard) -> None:
    stock: dict[str, Any] = {
        "item": "urea",
        "category": "fertilizer",
        "quantity": "1200",
        "unit": "lb",
        "amount_usd": "300",
    }
    assert "La cantidad -1 no es mayor que cero" in told(
        "stock/enter/", 422, **stock | {"quantity": "-1", "on": "1/1"}
    )
    assert "Guardado: urea." in told("stock/enter/", **stock, on="1/1/2026")
    assert OpeningStock.objects.get().category == "fertilizer"
    post_pending(farm=office.farm, now=NOW)
    page = page_of("stock/")
    assert "$300.00 en existencias" in page
    assert "$0.25 por lb" in page
    told(
        "stock/enter/",
        **stock | {"item": "cotton-seed", "category": "seed", "unit": "thousand"},
        on="1/1/2026",
    )
    post_pending(farm=office.farm, now=NOW)
    assert "$0.25 por millar" in page_of("stock/")
    assert "Escogido para 2027." in told(
        "stock/year/", year="2027", stock_cost="actual", fuel_by="average_hour"
    )
    assert "lo que costó ese lote o, si no, el más viejo" in page_of("stock/")
    told("bills/enter/", **TYPED | {"amount_usd": "2100"}, check_no="9")
    assert "1 beneficiario no tiene W-9 en archivo y llegó al límite de 2026" in page_of("payees/")


def test_budgets_yields_and_landlords_are_said_in_spanish_and_kept_by_their_codes(office: Yard) -> None:
    assert "Todavía nadie ha dicho cuánto debe costar un cultivo." in page_of("budgets/")
    budget: dict[str, Any] = {"year": "2026", "crop": "cotton", "category": "fertilizer", "usd_per_ac": "110"}
    assert "El presupuesto se guardó." in told("budgets/set/", **budget)
    assert "de algodón 2026 ya tiene presupuesto de 110.00 por acre" in told(
        "budgets/set/", 422, **budget | {"usd_per_ac": "120"}
    )
    assert BudgetLine.objects.get().category == "fertilizer"
    season = Season.objects.get()
    ground = f"{season.field.code}|cotton"
    told("budgets/yield/", year="2026", ground=ground, quantity="61.5", unit="bale")
    page = page_of("budgets/")
    assert "1 temporada con presupuesto de" in page
    assert "61.5 pacas" in page
    term: dict[str, Any] = {
        "season": str(season.pk),
        "landlord": "Orchard Trust",
        "category": "",
        "share_pct": "25",
    }
    assert "A Orchard Trust le toca" not in page_of("landlords/")
    assert f"Se guardó lo que le toca a Orchard Trust de {season.field} algodón 2026." in told(
        "landlords/term/", **term
    )
    assert LandlordTerm.objects.get().category == ""
    assert "Todo lo demás" in page_of("landlords/")
    assert "de 0 a 100" in told("landlords/term/", 422, **term | {"share_pct": "250"})


def test_the_tax_form_is_said_in_spanish_and_its_file_is_the_same_for_everybody(office: Yard) -> None:
    told("bills/enter/", **TYPED, check_no="12")
    told("bills/enter/", **TYPED | {"amount_usd": "-12"}, check_no="13")
    page = page_of("schedule-f/")
    assert "En 2026 se pagaron $400, todo en líneas del formulario." in page
    assert "Línea 25: Reparaciones y mantenimiento" in page
    assert "Crédito o devolución" in page
    spanish = b"".join(signed_in("bo").get(f"{FARM}schedule-f.csv"))
    assert b"credit or refund" in spanish
    assert spanish == b"".join(signed_in("mona").get(f"{FARM}schedule-f.csv"))


def test_what_is_booked_is_kept_in_english_whoever_made_the_books_run(office: Yard) -> None:
    told("bills/enter/", **TYPED, place="por acres")
    season: dict[str, Any] = {
        "season": str(Season.objects.get().pk),
        "landlord": "Orchard Trust",
        "share_pct": "25",
    }
    told("landlords/term/", **season)
    charge: dict[str, Any] = {
        "landlord": "Orchard Trust",
        "crop_year": "2026",
        "last_on": "2026-04-24",
        "why": "mitad",
    }
    said = told("landlords/charge/", **charge)
    assert (
        "Orchard Trust le debe a la finca $103.09 más." in said
    )  # a quarter of 412.38, the odd half cent is the farm's
    lines = set(
        Line.objects.filter(entry__share_out__landlord__name="Orchard Trust").values_list("says", flat=True)
    )
    assert lines == {"Orchard Trust bears 25 %", "Orchard Trust for Pond 40 cotton 2026"}
