"""What the hand's plain forms keep beside the work: hours, fuel, checks, a flat tire, a spraying, photos."""

import datetime as dt
import io
import re
import uuid
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from pytest_django import Settings

from farmops.core import clock
from farmops.farms.models import FuelTank, HandLicense
from scheduling.models import (
    CheckTicked,
    FieldPass,
    FuelFill,
    HourReading,
    Incident,
    IncidentPlace,
    PlannedTask,
    ReportPhoto,
    Spraying,
    WorkDay,
    WorkRecord,
)
from tests.factories import make_field, make_machine, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.hands_page import AGAIN, DAY, KEPT, form_of, page_of, send


@pytest.fixture(autouse=True)
def evening(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=19))


def test_what_is_sent_the_day_after_stands_on_the_page_of_the_day(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = form_of(page_of(), "meter") | {"machine": "tractor-1", "reading": "2400.5"}
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(days=1, hours=7))
    page = send("meter", form)[1]
    assert "martes 21 de abril, 7:00 a.m. Horómetro: guardado" in page
    assert "A qué hora (vacío: las 6 p.m. de ese día)" in page
    assert "(vacío: ahora)" not in page
    fuel = form_of(page, "fuel") | {"machine": "tractor-1", "gallons": "40"}
    assert fuel["past"] == "yes"
    send("fuel", fuel)
    assert FuelFill.objects.get().filled_at == MONDAY + dt.timedelta(hours=18)
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(days=2, hours=7))
    assert "Horómetro: guardado" not in page_of()


def test_a_break_below_nothing_is_said_to_be_that(yard: Yard) -> None:
    day = form_of(page_of(), "day") | {"starts": "07:00", "ends": "17:30", "break_minutes": "-30"}
    page = send("day", day)[1]
    assert "no puede ser menos de cero" in page.lower()
    assert "no es un número entero" not in page.lower()
    assert not WorkDay.objects.exists()


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


def test_a_hand_is_offered_tanks_that_hold_what_the_machines_burn(yard: Yard) -> None:
    FuelTank.objects.create(farm=yard.farm, code="yard", name="yard tank", holds_gal=500)
    FuelTank.objects.create(farm=yard.farm, code="gas", name="gas tank", fuel="gasoline", holds_gal=300)
    page = page_of()
    assert form_of(page, "fuel")["tank"] == "yard", "the only one of the day's tractor"
    assert "gas tank" not in page
    make_machine(yard.farm, "pickup", kind="truck", fuel="gasoline")
    page = page_of()
    assert form_of(page, "fuel")["tank"] == "yard"
    assert "gas tank" in page


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


def test_a_queue_is_told_to_come_again_with_a_photo_that_could_not_be_stored(
    yard: Yard, settings: Settings, tmp_path: Path
) -> None:
    """What the queue has a receipt for it throws away: a report with half of its photos gets none."""
    (tmp_path / "full").write_text("no folder")
    settings.PHOTO_DIR = tmp_path / "full"
    typed = form_of(page_of(), "incident") | {"kind": "breakage"}

    def queued() -> tuple[int, str]:
        answer = signed_in("rosa").post(
            f"{DAY}send/incident/", typed | {"photos": [photo()]}, headers={"Accept": "application/json"}
        )
        return answer.status_code, answer.json().get("code", answer.json().get("state"))

    assert queued() == (503, "photo_not_stored")
    settings.PHOTO_DIR = tmp_path / "room"
    assert queued() == (200, "again")
    assert (Incident.objects.count(), ReportPhoto.objects.count()) == (1, 1)


def test_a_form_of_another_hands_page_is_kept_under_nobodys_name(yard: Yard) -> None:
    """Two hands share a phone: one signs in while the other's page is still open in another tab."""
    form = form_of(page_of(), "fuel") | {"machine": "tractor-1", "gallons": "40"}
    status, page = send("fuel", form | {"hand": "teo"})
    assert "Esa página era de otra persona" in page
    asked = signed_in("rosa").post(
        f"{DAY}send/fuel/", form | {"hand": "teo"}, headers={"accept": "application/json"}
    )
    assert (status, asked.status_code, FuelFill.objects.count()) == (200, 403, 0)
    assert send("fuel", form)[0] == 200
    assert FuelFill.objects.count() == 1


def test_a_day_is_begun_in_the_morning_and_ended_in_the_evening_from_the_same_form(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = form_of(page_of(), "day")
    page = send("day", form | {"starts": "06:45", "ends": ""})[1]
    assert KEPT in page
    evening = form_of(page, "day")
    assert evening["starts"] == "06:45"
    page = send("day", evening | {"ends": "17:15", "break_minutes": "30"})[1]
    [day] = WorkDay.objects.filter(superseded_by__isnull=True)
    assert (day.worked_min, day.supersedes is not None) == (600, True)
    assert form_of(page, "day")["starts"] == "", "the next is another stretch of the day"


def test_two_passes_of_one_name_are_told_apart_by_their_acres(yard: Yard) -> None:
    season = make_season(make_field(yard.farm, "low-9"))
    make_pass(season, state="sent", area_ac=Decimal("72.7"))
    make_pass(season, state="sent", turn=2, area_ac=Decimal("4.1"))
    page = page_of()
    assert "(72.7 ac)" in page
    assert "(4.1 ac)" in page
