"""Service stops of a plan: on the week page, on the hand's day and sheet, and kept as done once."""

import datetime as dt
from decimal import Decimal

import pytest

from farmops.core import clock
from farmops.digests.selectors.day import hands_with_tasks
from farmops.digests.services.composing import compose_sheet
from farmops.farms.models import CarePlace, CareRule, CareRuleHand, Hand, Implement, Machine
from scheduling.models import CareDone, FieldReport, ParkedReport, PlannedCare, PlannedTask
from tests.factories import make_field, make_hand
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.hands_page import form_of
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
        ({"minutes": "-5"}, "“-5” no puede ser menos de cero."),
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
    assert "Este reporte espera a que el jefe lo revise" in answer.content.decode()
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


def test_a_stop_stands_among_the_jobs_by_its_hour_and_says_where_and_how_to_be_safe(
    yard: Yard, stop: PlannedCare
) -> None:
    disk = Implement.objects.get()
    Implement.objects.filter(pk=disk.pk).update(name_es="rastra de 21 pies")
    CareRule.objects.filter(pk=stop.rule.pk).update(machine=None, implement=disk, place=CarePlace.FIELD)
    task = PlannedTask.objects.get(plan=yard.plan)
    begins = task.starts_at - dt.timedelta(hours=1)
    PlannedCare.objects.filter(pk=stop.pk).update(
        place="pond-40",
        machine=None,
        implement=disk,
        starts_at=begins,
        ends_at=begins + dt.timedelta(minutes=45),
    )
    page = page_of("rosa", f"{DAY}?day=2026-04-20")
    assert page.index("rastra de 21 pies: cambiar el aceite") < page.index("Pond 40: rastrear")
    assert "Está en Pond 40." in page
    assert page.index("Motor apagado, sin llave.") < page.index("¿No es seguro? Pare y llame a")
    assert page.count("Nunca se meta bajo un implemento levantado.") == 1
    sheet = compose_sheet(farm=yard.farm, hand=yard.hand, day=MONDAY.date())
    assert "rastra de 21 pies: cambiar el aceite" in sheet.text.lower()
    assert "Dónde: está en Pond 40" in sheet.text
    assert "Motor apagado, sin llave." in sheet.text


def test_what_the_plan_has_elsewhere_before_is_brought_to_where_it_is_served(
    yard: Yard, stop: PlannedCare
) -> None:
    """The disk works at Pond 40 until 1 pm by the plan, and is greased at 2 pm where it stood when the plan was made."""
    disk = Implement.objects.get()
    make_field(yard.farm, "hill-20")
    CareRule.objects.filter(pk=stop.rule.pk).update(machine=None, implement=disk, place=CarePlace.FIELD)
    begins = PlannedTask.objects.get(plan=yard.plan).ends_at + dt.timedelta(hours=1)
    ends = begins + dt.timedelta(minutes=45)
    of_stop = PlannedCare.objects.filter(pk=stop.pk)
    of_stop.update(place="hill-20", machine=None, implement=disk, starts_at=begins, ends_at=ends)
    sheet = compose_sheet(farm=yard.farm, hand=yard.hand, day=MONDAY.date())
    assert "Dónde: llévelo a Hill 20" in sheet.text
    assert "Llévelo a Hill 20." in page_of("rosa", f"{DAY}?day=2026-04-20")
    assert "bring it to Hill 20" in page_of("mona", "/farms/heron-slough/week/")
    of_stop.update(place="pond-40")
    sheet = compose_sheet(farm=yard.farm, hand=yard.hand, day=MONDAY.date())
    assert "Dónde: está en Pond 40" in sheet.text
    assert "it stands at Pond 40" in page_of("mona", "/farms/heron-slough/week/")


def test_a_service_that_is_no_stop_of_the_plan_is_reported_by_its_name(yard: Yard, stop: PlannedCare) -> None:
    common = {"farm": yard.farm, "takes_min": 20, "source": "farm judgement"}
    tractor = Machine.objects.get(code="tractor-1")
    CareRule.objects.create(
        code="grease-1",
        machine=tractor,
        what="grease",
        what_es="engrasar",
        every_days=1,
        **common,
        counts_from_on=dt.date(2026, 4, 1),
    )
    far = CareRule.objects.create(
        code="coolant-1", machine=tractor, what="change coolant", every_h=Decimal(900), **common
    )
    of_another = CareRule.objects.create(
        code="belts-1", machine=tractor, what="look at belts", every_days=9, **common
    )
    CareRuleHand.objects.create(farm=yard.farm, rule=of_another, hand=make_hand(yard.farm, "odell"))
    page = page_of("rosa", f"{DAY}?day={TUESDAY}")
    form = form_of(page, "care")
    shown = page[page.index('value="care"') :]
    shown = shown[: shown.index("</form>")]
    assert shown.index("toca ya: tractor-1: engrasar") < shown.index(f"tractor-1: {far.what}")
    assert "look at belts" not in shown, "somebody else's"
    assert "cambiar el aceite" not in shown, "it has its own form among the jobs"
    signed_in("rosa").post(SERVICE, form | {"rule": "grease-1", "minutes": "15", "meter": "2401.0"})
    done = CareDone.objects.get()
    assert (done.rule.code, done.hand, done.hand_min, done.meter_h) == (
        "grease-1",
        yard.hand,
        15,
        Decimal(2401),
    )
