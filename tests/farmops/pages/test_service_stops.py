"""Service stops of a plan: on the week page, on the hand's day and sheet, and kept as done once."""

import datetime as dt
from decimal import Decimal

import pytest

from farmops.core import clock
from farmops.digests.selectors.day import hands_with_tasks
from farmops.digests.services.composing import compose_sheet
from farmops.farms.models import CareRule, Hand, Machine
from scheduling.models import CareDone, FieldReport, ParkedReport, PlannedCare
from tests.factories import make_hand
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.test_markup import Document

TUESDAY = MONDAY.date() + dt.timedelta(days=1)
DAY = "/farms/heron-slough/day/"
SERVICE = f"{DAY}send/care/"


@pytest.fixture
def stop(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> PlannedCare:
    """Rosa changes the oil of tractor-1 on Tuesday from 7:00 to 7:45."""
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(days=1, hours=9))
    tractor = Machine.objects.get(code="tractor-1")
    rule = CareRule.objects.create(
        farm=yard.farm,
        code="oil-1",
        machine=tractor,
        what="change engine oil",
        what_es="cambiar el aceite",
        every_h=Decimal(250),
        takes_min=45,
        source="farm judgement",
    )
    begins = MONDAY + dt.timedelta(days=1, hours=7)
    return PlannedCare.objects.create(
        farm=yard.farm,
        plan=yard.plan,
        task_key="care:oil-1",
        rule=rule,
        mode="tractor-1+rosa",
        place="yard",
        machine=tractor,
        hand=yard.hand,
        starts_at=begins,
        ends_at=begins + dt.timedelta(minutes=45),
        work_min=45,
    )


def care(stop: PlannedCare, **typed: str) -> dict[str, str]:
    return {
        "client_id": "6f1c2c9e-6a50-4c8b-9a3e-0d6f5b1f7a11",
        "form": f"care-{stop.pk}",
        "day": f"{TUESDAY}",
        "stop_id": str(stop.pk),
        **typed,
    }


def page_of(name: str, address: str) -> str:
    page = signed_in(name).get(address).content.decode()
    assert Document(page).wrong == []
    return page


def test_the_week_has_a_row_for_service_and_counts_it_as_no_pass(stop: PlannedCare) -> None:
    plan = stop.plan
    plan.plan["left"].append({"id": "care:grease-1", "why": "No room."})
    plan.save()
    page = page_of("mona", "/farms/heron-slough/week/")
    row = page.partition('<th scope="row">Service</th>')[2].partition("</tr>")[0]
    assert "change engine oil" in row
    assert "7:00 am to 7:45 am" in row
    assert "at the yard" in row
    assert "Rosa" in row
    assert "One of two passes fits this week." in page


def test_the_hand_reads_it_in_the_hands_language_and_says_once_that_it_is_done(stop: PlannedCare) -> None:
    address = f"{DAY}?day={TUESDAY}"
    page = page_of("rosa", address)
    assert "Primero: cambiar el aceite, tractor-1, de 7:00 a.m. a 7:45 a.m.</h1>" in page
    assert "En el patio." in page
    typed = care(stop, minutes="50", meter="2405.5")
    for says in ("Reporte guardado. Gracias.", "ya estaba guardado"):
        answer = signed_in("rosa").post(SERVICE, typed, follow=True)
        assert says in answer.content.decode()
    done = CareDone.objects.get()
    assert (done.rule, done.hand_min, done.meter_h, done.hand) == (
        stop.rule,
        50,
        Decimal("2405.5"),
        stop.hand,
    )
    assert done.done_at == clock.now()
    page = page_of("rosa", address)
    assert "Todo está reportado. Gracias.</h1>" in page
    assert "cambiar el aceite <small>· reportado</small>" in page
    assert hands_with_tasks(farm=stop.farm, day=TUESDAY) == set(), "nothing is left to send a sheet for"


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"minutes": "five"}, "“five” no es un número entero."),
        ({"minutes": "-5"}, "“-5” no es un número entero."),
        ({"minutes": "2000"}, "“2000”"),
        ({"minutes": ""}, "Minutos que tomó: Falta."),
        ({"minutes": "50", "meter": "soon"}, "Lo que marca el horómetro: “soon” no es un número."),
    ],
)
def test_a_service_that_cannot_be_read_is_given_back_as_it_was_typed(
    stop: PlannedCare, typed: dict[str, str], says: str
) -> None:
    answer = signed_in("rosa").post(SERVICE, care(stop, **typed))
    page = answer.content.decode()
    assert (answer.status_code, Document(page).wrong) == (422, [])
    assert says in page
    assert f'value="{typed["minutes"]}"' in page
    assert not CareDone.objects.exists()
    assert not FieldReport.objects.exists()


def test_a_service_with_a_meter_that_ran_backwards_waits_for_the_manager(stop: PlannedCare) -> None:
    answer = signed_in("rosa").post(SERVICE, care(stop, minutes="50", meter="12.0"), follow=True)
    assert "El reporte quedó con el jefe" in answer.content.decode()
    assert not CareDone.objects.exists()
    assert ParkedReport.objects.get().code == "meter_runs_backwards"


def test_a_service_that_another_was_to_do_counts_for_whoever_did_it(stop: PlannedCare) -> None:
    PlannedCare.objects.update(hand=make_hand(stop.farm, "teo"))
    assert f"care-{stop.pk}" not in page_of("rosa", f"{DAY}?day={TUESDAY}")
    signed_in("rosa").post(SERVICE, care(stop, minutes="50"))
    assert CareDone.objects.get().hand == Hand.objects.get(code="rosa")


@pytest.mark.parametrize(
    ("language", "says", "where", "safe"),
    [
        ("en", "1. tractor-1: change engine oil", "where: at the yard", "engine off, key out"),
        ("es", "1. tractor-1: cambiar el aceite", "dónde: en el patio", "motor apagado, sin llave"),
    ],
)
def test_a_sheet_goes_out_for_a_day_with_nothing_but_service(
    stop: PlannedCare, language: str, says: str, where: str, safe: str
) -> None:
    assert hands_with_tasks(farm=stop.farm, day=TUESDAY) == {stop.hand_id}
    Hand.objects.filter(code="rosa").update(language=language)
    hand = Hand.objects.get(code="rosa")
    text = compose_sheet(farm=stop.farm, hand=hand, day=TUESDAY).text.lower()
    for line in (says, where, safe):
        assert line in " ".join(text.split())
