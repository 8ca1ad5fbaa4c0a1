"""The hand's page: what it shows, what becomes of a report of work, and what a script is told."""

import datetime as dt
import gzip
import re
import uuid
from decimal import Decimal
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Membership, SoilZone
from scheduling.models import (
    FieldReport,
    HourReading,
    ParkedReport,
    PlannedTask,
    Remark,
    WorkLook,
    WorkRecord,
    WorkSetting,
    WorkStop,
)
from scheduling.selectors import plan_documents
from tests.factories import make_farm
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.hands_page import AGAIN, DAY, KEPT, door, form_of, page_of, send
from tests.farmops.pages.test_markup import Document


@pytest.fixture(autouse=True)
def evening(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=19))


def test_it_speaks_the_hands_language_and_says_first_what_comes_first(yard: Yard) -> None:
    page = page_of()
    assert '<html lang="es">' in page
    assert "Primero: rastrear en Pond 40, de 8:00 a.m. a 1:00 p.m.</h1>" in page
    assert "Lunes 20 de abril" in page
    assert "2140 Cane Road" in page
    assert "llantero" in page
    assert '<a href="tel:555-0142">' in page
    words = set(re.findall(r"\w+", re.sub(r"<[^>]*>", " ", page)))
    assert words.isdisjoint(
        {"Report", "Send", "Sign", "Skip", "Hours", "Take", "Before", "Photos", "More", "the"}
    )


def test_it_opens_on_the_next_day_with_work(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: MONDAY - dt.timedelta(days=1))
    assert "Lunes 20 de abril" in page_of(DAY)


def test_numbers_of_a_spanish_page_have_a_point(yard: Yard) -> None:
    assert 'placeholder="40.0"' in page_of()


def test_one_job_and_one_form_of_it_are_open(yard: Yard) -> None:
    page = page_of()
    assert re.findall(r"<details[^>]* open><summary>([^<]*)", page) == [
        "8:00 a.m. Pond 40: rastrear",
        "Antes de salir",
    ]


def test_a_report_of_work_is_kept_once_with_all_that_was_filled_in(yard: Yard) -> None:
    task = PlannedTask.objects.get()
    typed = form_of(page_of(), f"work-{task.pk}") | {
        "hours": "5,5",
        "meter": "2405.2",
        "done_ac": "40",
        "finished": "yes",
        "starts": "07:30",
        "stop_plugged": "20",
        "ridges": "some",
        "cut": "right",
        "speed_mph": "5.5",
        "level": "level",
    }
    for said in (KEPT, AGAIN):
        status, page = send("work", typed)
        assert (status, said in page) == (200, True)
    record = WorkRecord.objects.get()
    assert (record.hand_min, record.machine_min, record.done_ac, record.is_finished) == (330, 330, 40, True)
    assert record.machine is not None
    assert record.machine.code == "tractor-1"
    assert str(HourReading.objects.get().reading_h) == "2405.2"
    stop, look = WorkStop.objects.get(), WorkLook.objects.get()
    assert (stop.cause, stop.lost_min, look.ridges, look.cut) == ("plugged", 20, "some", "right")
    assert {(row.key, row.number, row.word) for row in WorkSetting.objects.all()} == {
        ("speed_mph", Decimal("5.50"), ""),
        ("level", None, "level"),
    }
    yard.field_pass.refresh_from_db()
    assert yard.field_pass.state == "finished"
    page = page_of()
    assert "Todo está reportado. Gracias.</h1>" in page
    assert "7:00 p.m. Pond 40, rastrear: guardado" in page


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"hours": "five"}, "Sus horas: “five” no es un número."),
        ({"hours": "-3"}, "Sus horas: “-3” no puede ser menos de cero."),
        ({"hours": "5", "stop_wet": "a lot"}, "Muy mojado: “a lot” no es un número entero."),
        ({"hours": "5", "starts": "25:00"}, "Empezó a las: “25:00” no es una hora."),
    ],
)
def test_a_report_that_cannot_be_read_is_given_back_as_it_was_typed(
    yard: Yard, typed: dict[str, str], says: str
) -> None:
    form = form_of(page_of(), f"work-{PlannedTask.objects.get().pk}")
    status, page = send("work", form | {"note": "mojado", "finished": "yes"} | typed)
    assert (status, Document(page).wrong) == (422, [])
    assert says in page
    at_box = says.partition(": ")[2]
    assert f">{at_box}</small>" in page
    back = form_of(page, f"work-{PlannedTask.objects.get().pk}")
    assert back["client_id"] == form["client_id"]
    assert back.items() >= {**typed, "note": "mojado", "finished": "yes"}.items()
    assert not FieldReport.objects.exists()


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"hours": "25"}, "el lunes 20 de abril tendría 25 horas. Un día tiene 24."),
        ({"hours": "5", "meter": "2300"}, "Usted anotó 2,300 del horómetro. Antes marcaba 2,400."),
        ({"hours": "5", "done_ac": "900"}, "Con este reporte van 900 acres. El campo tiene 40."),
    ],
)
def test_hours_that_do_not_fit_wait_for_the_manager_and_the_hand_reads_why(
    yard: Yard, typed: dict[str, str], why: str
) -> None:
    form = form_of(page_of(), f"work-{PlannedTask.objects.get().pk}")
    status, page = send("work", form | typed)
    assert status == 200
    assert "Este reporte espera a que el jefe lo revise; no se pierde nada." in page
    assert page.count(why) == 2, "as it is sent, and among what was sent"
    assert "Pond 40, rastrear: <b>Espera al jefe:</b> " in page
    assert "<small>· reportado, espera al jefe</small>" in page
    assert not WorkRecord.objects.exists()
    assert ParkedReport.objects.count() == 1


def test_an_id_that_comes_with_other_facts_is_refused(yard: Yard) -> None:
    form = form_of(page_of(), f"work-{PlannedTask.objects.get().pk}")
    send("work", form | {"hours": "5"})
    status, page = send("work", form | {"hours": "6"})
    assert (status, "Esto ya se mandó con otros datos." in page) == (409, True)
    assert WorkRecord.objects.get().hand_min == 300


def test_a_hand_says_the_ground_was_too_wet_and_the_remark_names_the_report(yard: Yard) -> None:
    low = yard.field.zones.get()
    low.name = "low end"
    low.save()
    SoilZone.objects.create(farm=yard.farm, field=yard.field, name="hill", texture="sandy_loam", share_pct=40)
    page = page_of()
    assert f'name="too_wet" value="{low.pk}"><span>low end</span>' in page
    form = form_of(page, f"work-{PlannedTask.objects.get().pk}")
    send("work", form | {"hours": "1", "not_done": "atascado", "too_wet": str(low.pk)})
    remark = Remark.objects.get()
    assert (remark.what, remark.operation, remark.zone, remark.note) == ("too_wet", "disk", low, "atascado")
    assert remark.work_record == WorkRecord.objects.get()


def test_a_script_is_answered_in_json(yard: Yard) -> None:
    client = Client(headers={"accept": "application/json"})
    client.force_login(User.objects.get(username="rosa"))
    form = form_of(page_of(), f"work-{PlannedTask.objects.get().pk}") | {"hours": "5"}
    first, again = (client.post(door("work"), form) for _time in range(2))
    assert (first.status_code, first.json()["state"], first.json()["client_id"]) == (
        201,
        "kept",
        form["client_id"],
    )
    assert (again.status_code, again["Idempotency-Replayed"], again.json()["state"]) == (200, "true", "again")
    new = form | {"client_id": str(uuid.uuid4())}
    parked = client.post(door("work"), new | {"hours": "23"})
    assert (parked.status_code, parked.json()["state"]) == (202, "parked")
    refused = client.post(door("work"), new | {"client_id": str(uuid.uuid4()), "hours": "five"})
    assert (refused.status_code, refused["Content-Type"]) == (422, "application/problem+json")
    assert refused.json()["errors"] == [{"pointer": "/hours", "detail": "“five” no es un número."}]
    assert refused.json()["detail"] == "Sus horas: “five” no es un número."


def test_the_senders_clock_goes_with_the_report(yard: Yard) -> None:
    form = form_of(page_of(), "meter") | {"machine": "tractor-1", "reading": "2400.5"}
    send("meter", form | {"made_at": "2026-04-20T12:00:00-04:00", "made_offset_min": "-240"})
    report = FieldReport.objects.get()
    assert (report.made_at, report.made_offset_min) == (MONDAY + dt.timedelta(hours=12), -240)
    assert HourReading.objects.get().read_at == MONDAY + dt.timedelta(hours=12)


def test_nobody_reports_for_a_farm_or_a_kind_that_is_not_there(yard: Yard) -> None:
    other = make_farm("other-bend")
    user = User.objects.create_user("odd")
    Membership.objects.create(farm=other, user=user, role="manager")
    form = form_of(page_of(), "meter") | {"machine": "tractor-1", "reading": "2400.5"}
    assert signed_in("rosa").post("/farms/other-bend/day/send/meter/", form).status_code == 404
    assert signed_in("mona").post(door("meter"), form).status_code == 403
    assert signed_in("rosa").post(door("gossip"), form).status_code == 404
    assert signed_in("rosa").post(door("meter"), form | {"client_id": ""}).status_code == 404
    assert signed_in("rosa").get(door("meter")).status_code == 302
    assert not FieldReport.objects.exists()


def test_the_page_and_all_it_loads_are_light_however_many_jobs(yard: Yard) -> None:
    """At most 60 kB compressed, on a day of six jobs; the farm's own limit for a thin network."""
    with CaptureQueriesContext(connection) as of_one:
        page_of()
    plan_documents.forget()
    task = PlannedTask.objects.get()
    for number in range(2, 7):
        task.pk, task.task_key = None, f"pond-40/disk-{number}"
        task.save()
        yard.plan.problem["tasks"].append({**yard.plan.problem["tasks"][0], "id": task.task_key})
        yard.plan.plan["tasks"].append({**yard.plan.plan["tasks"][0], "id": task.task_key})
    yard.plan.save()
    with CaptureQueriesContext(connection) as of_six:
        page = page_of()
    assert page.count('class="job"') == 6
    assert len(of_six) == len(of_one), "more jobs, no more questions to the database"
    address = f"{DAY}?day=2026-04-20"
    sent = signed_in("rosa").get(address, headers={"accept-encoding": "gzip"})
    assert sent["Content-Encoding"] == "gzip"
    assert len(sent.content) < len(page) / 4
    loaded = [page.encode()]
    for name in set(re.findall(r'(?:href|src)="/static/([^"]+)"', page)):
        found = finders.find(name)
        assert found, name
        loaded.append(Path(found).read_bytes())
    loaded += [signed_in("rosa").get(path).content for path in set(re.findall(r'src="(/farms/[^"]+)"', page))]
    assert len(loaded) >= 4
    assert sum(len(gzip.compress(one)) for one in loaded) <= 60_000


def test_reports_are_told_apart_by_the_field_and_the_work_that_they_are_about(yard: Yard) -> None:
    page = page_of()
    assert 'data-title="Pond 40, rastrear: Reporte"' in page
    assert 'data-title="Pond 40: Ponchadura, atascado, se quebró"' in page
    assert 'data-title="Combustible"' in page
