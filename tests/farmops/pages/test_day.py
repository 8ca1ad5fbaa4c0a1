"""The hand's page: what it shows, and what its plain forms keep."""

import datetime as dt
import gzip
import io
import re
import uuid
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from PIL import Image
from pytest_django import Settings

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import FuelTank, HandLicense, Membership, SoilZone
from scheduling.models import (
    CheckTicked,
    FieldPass,
    FieldReport,
    FuelFill,
    HourReading,
    Incident,
    IncidentPlace,
    ParkedReport,
    PlannedTask,
    Remark,
    ReportPhoto,
    Spraying,
    WorkDay,
    WorkLook,
    WorkRecord,
    WorkSetting,
    WorkStop,
)
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.test_markup import Document

DAY = "/farms/heron-slough/day/"
KEPT, AGAIN = "Reporte guardado. Gracias.", "Este reporte ya estaba guardado."


@pytest.fixture(autouse=True)
def evening(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=19))


def door(kind: str) -> str:
    return f"{DAY}send/{kind}/"


def page_of(address: str = f"{DAY}?day=2026-04-20") -> str:
    page = signed_in("rosa").get(address).content.decode()
    assert Document(page).wrong == []
    return page


def form_of(page: str, key: str) -> dict[str, str]:
    """Return what a form of the page sends as it stands: hidden boxes, ticks and what is filled in."""
    [form] = [part for part in re.findall(r"<form.*?</form>", page, re.DOTALL) if f'value="{key}"' in part]
    sent = {}
    for tag in re.findall(r"<input [^>]*>", form):
        facts = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        is_sent = facts.get("type") not in ("checkbox", "radio", "file", "image") or tag.endswith(" checked>")
        if is_sent and "name" in facts:
            sent[facts["name"]] = facts.get("value", "")
    return sent


def send(kind: str, typed: dict[str, Any]) -> tuple[int, str]:
    answer = signed_in("rosa").post(door(kind), typed, follow=True)
    return answer.status_code, answer.content.decode()


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
    assert "7:00 p.m. Trabajo: guardado" in page


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
    assert f'<small class="wrong">{at_box}</small>' in page
    back = form_of(page, f"work-{PlannedTask.objects.get().pk}")
    assert back["client_id"] == form["client_id"]
    assert back.items() >= {**typed, "note": "mojado", "finished": "yes"}.items()
    assert not FieldReport.objects.exists()


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"hours": "25"}, "más de 24 horas"),
        ({"hours": "5", "meter": "2300"}, "El horómetro marca menos que antes."),
        ({"hours": "5", "done_ac": "900"}, "Son más acres de los que tiene el campo."),
    ],
)
def test_hours_that_do_not_fit_wait_for_the_manager_and_the_hand_reads_why(
    yard: Yard, typed: dict[str, str], why: str
) -> None:
    form = form_of(page_of(), f"work-{PlannedTask.objects.get().pk}")
    status, page = send("work", form | typed)
    assert status == 200
    assert "El reporte quedó con el jefe para revisarlo; no se pierde nada." in page
    assert page.count(why) == 2, "as it is sent, and among what was sent"
    assert "Trabajo: lo revisa el jefe" in page
    assert "<small>· reportado</small>" in page
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


def test_what_is_sent_the_day_after_stands_on_the_page_of_the_day(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = form_of(page_of(), "meter") | {"machine": "tractor-1", "reading": "2400.5"}
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(days=1, hours=7))
    page = send("meter", form)[1]
    assert "martes 21 de abril, 7:00 a.m. Horómetro: guardado" in page
    fuel = form_of(page, "fuel") | {"machine": "tractor-1", "gallons": "40"}
    assert fuel["past"] == "yes"
    send("fuel", fuel)
    assert FuelFill.objects.get().filled_at == MONDAY + dt.timedelta(hours=18)
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(days=2, hours=7))
    assert "Horómetro: guardado" not in page_of()


def test_work_that_was_not_on_the_hands_day_is_reported_too(yard: Yard) -> None:
    assert 'value="work"' not in page_of(), "there is no other work"
    season = make_season(make_field(yard.farm, "low-9"))
    other = make_pass(season, state="sent")
    make_pass(season, "plant")
    page = page_of()
    assert re.findall(r'<input type="radio" name="pass_id" value="(\d+)".*?<span>(.*?)</span>', page) == [
        (str(other.pk), "Low 9: rastrear")
    ]
    assert KEPT in send("work", form_of(page, "work") | {"pass_id": str(other.pk), "hours": "2"})[1]
    assert WorkRecord.objects.get().field_pass == other


def test_the_day_fuel_and_a_meter_are_reported(yard: Yard) -> None:
    FuelTank.objects.create(farm=yard.farm, code="yard", name="yard tank", holds_gal=500)
    page = page_of()
    day = form_of(page, "day")
    assert day["passes"] == str(yard.field_pass.pk)
    assert KEPT in send("day", day | {"starts": "07:00", "ends": "17:30", "break_minutes": "30"})[1]
    assert WorkDay.objects.get().worked_min == 600
    fuel = form_of(page, "fuel") | {"machine": "tractor-1", "tank": "yard", "gallons": "41.5"}
    assert KEPT in send("fuel", fuel)[1]
    fill = FuelFill.objects.get()
    assert fill.tank is not None
    assert (fill.gallons, fill.tank.code, fill.filled_at) == (Decimal("41.5"), "yard", clock.now())
    meter = form_of(page, "meter") | {"machine": "tractor-1", "reading": "2401.5", "read_at": "12:15"}
    assert KEPT in send("meter", meter)[1]
    assert HourReading.objects.get().read_at == MONDAY + dt.timedelta(hours=12, minutes=15)


def test_checks_that_are_ticked_are_kept_and_not_asked_again(yard: Yard) -> None:
    task = PlannedTask.objects.get()
    page = page_of()
    [form] = re.findall(rf'<form(?:(?!</form>).)*value="check-{task.pk}".*?</form>', page, re.DOTALL)
    offered = re.findall(r'name="check" value="([^"]+)"', form)
    assert len(offered) > 2
    _status, page = send("check", form_of(page, f"check-{task.pk}") | {"check": offered[:2]})
    assert KEPT in page
    assert {row.check_key for row in CheckTicked.objects.all()} == {one.split("|")[0] for one in offered[:2]}
    assert page.count('<p class="done">✓') == 2
    assert len(re.findall(r'name="check" value=', page)) == len(offered) - 2
    assert "Marque lo que revisó." in send("check", form_of(page, f"check-{task.pk}"))[1]


def test_a_flat_tire_has_the_place_that_was_tapped_on_the_fields_shape(yard: Yard) -> None:
    picture = signed_in("rosa").get(f"{DAY}field/pond-40.svg")
    assert picture["Content-Type"] == "image/svg+xml"
    assert "style" not in picture.content.decode()
    typed = form_of(page_of(), f"incident-{PlannedTask.objects.get().pk}") | {
        "kind": "puncture",
        "met": "hueso",
    }
    assert KEPT in send("incident", typed | {"tap.x": "160", "tap.y": "120"})[1]
    incident, place = Incident.objects.get(), IncidentPlace.objects.get()
    assert (incident.field, incident.met, place.placed_by) == (yard.field, "hueso", "tapped")
    # the middle of the picture is the middle of the square field from 31.60 to 31.60365 N, 83.52 to 83.51573 W
    assert (float(place.latitude_deg), float(place.longitude_deg)) == pytest.approx((31.601825, -83.517865))
    # the corner is a press by keyboard, and what lies off the picture is no tap on it
    for number, (x, y) in enumerate((("0", "0"), ("321", "10"), ("10", "241"))):
        again = typed | {"client_id": str(uuid.UUID(int=number)), "tap.x": x, "tap.y": y}
        assert KEPT in send("incident", again)[1]
    assert (Incident.objects.count(), IncidentPlace.objects.count()) == (4, 1)


def test_a_place_that_is_no_place_is_told_at_its_box(yard: Yard) -> None:
    typed = form_of(page_of(), "incident") | {"kind": "stuck", "field": "pond-40", "place": "by the well"}
    status, page = send("incident", typed)
    assert (status, "Lugar, en grados: “by” no es un número." in page) == (422, True)


def test_a_spray_record_offers_restricted_use_to_a_hand_with_a_valid_license_only(yard: Yard) -> None:
    FieldPass.objects.update(operation="spray")
    PlannedTask.objects.update(operation="spray")
    key = f"spray-{PlannedTask.objects.get().pk}"
    HandLicense.objects.create(
        farm=yard.farm, hand=yard.hand, number="GA-1", expires_on=MONDAY.date() - dt.timedelta(days=1)
    )
    assert "Uso restringido" not in page_of()
    HandLicense.objects.update(expires_on=MONDAY.date())
    page = page_of()
    assert page.count("Uso restringido") == 3
    typed = {
        "started_at": "08:00",
        "ended_at": "09:30",
        "treated_ac": "40",
        "reentry_h": "12",
        "wind_mph": "6",
        "wind_from": "NE",
        "product_1_name": "Clear Row",
        "product_1_registration_no": "0000-1",
        "product_1_rate": "1.5",
        "product_1_unit": "pt",
        "product_1_total": "60",
        "product_1_restricted": "yes",
    }
    assert KEPT in send("spray", form_of(page, key) | typed)[1]
    spraying = Spraying.objects.get()
    assert (spraying.detail.crop, spraying.detail.license_no) == ("cotton", "GA-1")
    assert spraying.ended_at == MONDAY + dt.timedelta(hours=9, minutes=30)


def photo(color: str = "green") -> SimpleUploadedFile:
    file = io.BytesIO()
    Image.new("RGB", (40, 30), color).save(file, "JPEG")
    return SimpleUploadedFile("tire.jpg", file.getvalue(), "image/jpeg")


def test_photos_of_a_plain_form_are_kept_once_and_a_wrong_one_takes_nothing_with_it(
    yard: Yard, settings: Settings, tmp_path: Path
) -> None:
    settings.PHOTO_DIR = tmp_path
    typed = form_of(page_of(), "incident") | {"kind": "breakage"}
    assert KEPT in send("incident", typed | {"photos": [photo()]})[1]
    assert AGAIN in send("incident", typed | {"photos": [photo()]})[1]
    assert ReportPhoto.objects.count() == 1
    typed["client_id"] = str(uuid.uuid4())
    page = send("incident", typed | {"photos": [SimpleUploadedFile("a.jpg", b"no photo")]})[1]
    assert KEPT in page
    assert '<p class="caution" role="status">' in page
    assert (Incident.objects.count(), ReportPhoto.objects.count()) == (2, 1)


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
    assert signed_in("rosa").get(door("meter")).status_code == 405
    assert not FieldReport.objects.exists()


def test_the_page_and_all_it_loads_are_light_however_many_jobs(yard: Yard) -> None:
    """At most 60 kB compressed, on a day of six jobs; the farm's own limit for a thin network."""
    with CaptureQueriesContext(connection) as of_one:
        page_of()
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
