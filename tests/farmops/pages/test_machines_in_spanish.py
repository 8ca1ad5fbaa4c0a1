"""Machines, services, fuel, sprays, hours and months to a reader of Spanish: said whole, refused whole, kept in English."""

import datetime as dt
import re
import uuid
from decimal import Decimal
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.utils import translation
from django.utils.translation import gettext

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import FuelTank, Implement, Machine
from farmops.pages import words
from farmops.pages.care_words import left_said
from farmops.pages.views.ledgers import csv_file
from scheduling.care.due import Left
from scheduling.models import FuelFill, Spraying
from scheduling.services.fuel import record_tank_reading
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.scheduling.care_facts import make_rule, make_work

FARM = "/farms/heron-slough/"
TUESDAY = MONDAY + dt.timedelta(days=1, hours=9)
TYPED = {"day": "2026-04-21", "hour": "07:30"}


@pytest.fixture
def manager(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Client:
    monkeypatch.setattr(clock, "now", lambda: TUESDAY)
    User.objects.filter(username="mona").update(language="es")
    return signed_in("mona")


def read(answer: Any) -> str:
    page: str = answer.content.decode()
    assert Document(page).wrong == []
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", unescape(page))).replace(" ,", ",").replace(" .", ".")


def sent(client: Client, path: str, **typed: str) -> str:
    answer = client.post(f"{FARM}{path}", {"client_id": str(uuid.uuid4()), **typed}, follow=True)
    return read(answer)


def test_what_is_down_and_who_is_away_is_said_in_spanish(manager: Client, yard: Yard) -> None:
    tractor = Machine.objects.get(farm=yard.farm)
    page = read(manager.get(f"{FARM}fleet/"))
    assert "Todo sirve, y están todos los trabajadores." in page
    assert "rastrear" in page
    page = sent(manager, f"fleet/machine/{tractor.pk}/down/", day="2026-04-20", hour="12:00", then="keep")
    assert "la hora en que vuelve ya pasó" in page
    page = sent(manager, f"fleet/machine/{tractor.pk}/down/", day="2026-04-22", hour="12:00", then="keep")
    assert "fuera de servicio hasta más o menos el miércoles 22 de abril, 12:00 p.m. Lo que diga" in page
    page = sent(
        manager, f"fleet/hands/{yard.hand.pk}/away/", first="2026-04-23", last="2026-04-24", then="keep"
    )
    assert "Rosa no está del jueves 23 de abril al viernes 24 de abril" in page


def test_a_service_is_said_by_its_spanish_name(manager: Client, yard: Yard) -> None:
    disk = Implement.objects.get(farm=yard.farm)
    Implement.objects.filter(pk=disk.pk).update(name_es="rastra de 28 pies")
    make_rule(disk, what="grease the gang bearings", what_es="engrasar los baleros", every_days=10)
    page = read(manager.get(f"{FARM}care/"))
    assert "Engrasar los baleros" in page
    assert "rastra de 28 pies" in page
    assert "cada 10 días" in page
    page = sent(manager, f"fleet/implement/{disk.pk}/care/", what="", source="", takes_min="1.5")
    for says in ("Diga qué se hace.", "Eso es un número entero."):
        assert says in page


def test_fuel_that_is_missing_and_a_fill_that_cannot_be_are_told_in_spanish(
    manager: Client, yard: Yard
) -> None:
    tank = FuelTank.objects.create(farm=yard.farm, code="big", name="big tank", holds_gal=Decimal(500))
    for days, gallons in ((-2, "300"), (0, "250")):
        record_tank_reading(
            farm=yard.farm,
            client_id=uuid.uuid4(),
            tank=tank,
            read_at=MONDAY + dt.timedelta(days=days),
            gallons=Decimal(gallons),
            recorded_by=None,
            now=TUESDAY,
        )
    page = read(manager.get(f"{FARM}fuel/"))
    assert "Big tank: no se sabe qué pasó con 50.0 gal desde el sábado 18 de abril." in page
    assert "faltan 50.0 gal" in page
    machine = str(Machine.objects.get(farm=yard.farm).pk)
    page = sent(manager, "fuel/fill/", machine=machine, tank=str(tank.pk), gallons="4000", **TYPED)
    assert re.search(r"galones: dice 4000; va de 0\.1 a 1000\.", page)
    page = sent(
        manager, "fuel/fill/", machine=machine, tank=str(tank.pk), fuel="gasoline", gallons="40", **TYPED
    )
    assert "Big tank: tiene diésel, no gasolina." in page
    assert not FuelFill.objects.exists()


def test_a_record_of_spraying_is_asked_for_and_shown_in_spanish(manager: Client, yard: Yard) -> None:
    page = sent(manager, "sprays/new/", field=str(yard.field.pk), operation="spray")
    for says in ("Diga qué cultivo", "Diga quién fumigó.", "Diga qué producto."):
        assert says in page
    spans = {"start_day": "2026-04-21", "start_hour": "07:00", "end_day": "2026-04-21", "end_hour": "08:00"}
    product = {"name-0": "Alfa 2", "rate-0": "1", "unit-0": "pt", "total-0": "90"}
    facts = {"crop": "cotton", "treated_ac": "40", "reentry_h": "12", "sprayed_by": str(yard.hand.pk)}
    page = sent(
        manager, "sprays/new/", field=str(yard.field.pk), operation="spray", **spans, **product, **facts
    )
    assert "A 1 registro le falta algo." in page
    assert "falta número de registro de Alfa 2" in page
    assert "1 pt por acre en 40 acres son 40, y el total dice 90." in page
    assert "fumigar, algodón" in page
    assert Spraying.objects.get().detail.crop == "cotton", "what is stored keeps its language"


def test_hours_and_months_are_said_in_spanish(manager: Client, yard: Yard) -> None:
    make_work(yard.field_pass, yard.hand, MONDAY.date(), hand_min=300)
    page = read(manager.get(f"{FARM}hours/?week=2026-04-20"))
    assert "Del lunes 20 de abril al domingo 26 de abril de 2026" in page
    assert "Hasta ahora se trabajaron" in page
    page = read(manager.get(f"{FARM}periods/"))
    assert "Ningún mes de los libros está cerrado." in page
    assert "abril de 2026" in page
    page = read(manager.get(f"{FARM}trial-balance/"))
    assert "Costo de una temporada" in page


def test_files_of_the_books_stay_english_whoever_fetches_them() -> None:
    def write(path: Path) -> Any:
        path.write_text(gettext("Hours"))
        return None

    with translation.override("es"):
        answer = csv_file("hours.csv", write, wants_manifest=False)
        assert b"".join(answer.streaming_content) == b"Hours"  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("left", "says"),
    [
        (Left(Decimal("27.9"), 12, None), "27.9 h, 12 días"),
        (Left(Decimal("27.94"), -160, None), "160 días de más, 27.9 h por correr"),
        (Left(Decimal("-0.5"), 1, None, -1), "0.5 h de más, 1 arranque de más, 1 día por correr"),
    ],
)
def test_what_is_left_of_a_service_bends_with_its_count(left: Left, says: str) -> None:
    with translation.override("es"):
        assert left_said(left) == says


@pytest.mark.parametrize(("text", "said"), [("Listo", "Listo."), ("A las 7:00 p.m.", "A las 7:00 p.m.")])
def test_a_sentence_ends_with_one_stop(text: str, said: str) -> None:
    assert words.ended(text) == said
