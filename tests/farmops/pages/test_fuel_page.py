"""The page of fuel: what is not accounted for, who burned what, and entering it."""

import datetime as dt
import uuid
from decimal import Decimal
from html import unescape
from typing import Any

import pytest

from farmops.core.models import User
from farmops.farms.models import FuelTank, Machine
from scheduling.models import FuelDelivery, FuelFill, HourReading, TankReading
from scheduling.services.fuel import record_fuel_delivery, record_fuel_fill, record_tank_reading
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.scheduling.work import worked

FUEL = "/farms/heron-slough/fuel/"
MONDAY = dt.datetime(2026, 4, 20, 11, tzinfo=dt.UTC)
NOW = dt.datetime(2026, 4, 24, 22, tzinfo=dt.UTC)


def at(hours: float) -> dt.datetime:
    return MONDAY + dt.timedelta(hours=hours)


@pytest.fixture
def tank(yard: Yard) -> FuelTank:
    return FuelTank.objects.create(
        farm=yard.farm, code="yard-diesel", name="yard diesel", holds_gal=Decimal(1000)
    )


def page_of(user: str = "mona") -> str:
    answer = signed_in(user).get(FUEL)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert Document(page).wrong == []
    return unescape(page)


def sent(path: str, user: str = "mona", **boxes: str) -> Any:
    typed = {"client_id": str(uuid.uuid4()), "day": "2026-04-20", "hour": "07:30", **boxes}
    answer = signed_in(user).post(f"{FUEL}{path}/", typed)
    if answer.status_code == 422:
        assert Document(answer.content.decode()).wrong == []
    return answer


def fill(
    yard: Yard, tank: FuelTank | None, hours: float, gallons: str, meter_h: str | None = None
) -> FuelFill:
    row, _ = record_fuel_fill(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        machine=Machine.objects.get(),
        tank=tank,
        filled_at=at(hours),
        gallons=Decimal(gallons),
        meter_h=None if meter_h is None else Decimal(meter_h),
        recorded_by=None,
        now=NOW,
    )
    return row


def stick(yard: Yard, tank: FuelTank, hours: float, gallons: str) -> None:
    record_tank_reading(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        tank=tank,
        read_at=at(hours),
        gallons=Decimal(gallons),
        recorded_by=None,
        now=NOW,
    )


def test_a_farm_without_fuel_says_so(yard: Yard) -> None:
    page = page_of()
    assert "No fuel has been put in yet." in page
    assert "No tank is described" in page


def test_what_a_tank_lacks_is_said_first_and_line_by_line(yard: Yard, tank: FuelTank) -> None:
    """412 gal found, 400 came, 141.5 went: 670.5 should be there; 655.5 are: 15 of 1,000 are more than the stick errs."""
    stick(yard, tank, 0, "412")
    record_fuel_delivery(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        tank=tank,
        delivered_at=at(20),
        gallons=Decimal(400),
        ticket_no="T-118",
        recorded_by=None,
        now=NOW,
    )
    fill(yard, tank, 8, "61.5")
    fill(yard, tank, 30, "80")
    stick(yard, tank, 48, "655.5")
    fill(yard, tank, 50, "20")
    page = page_of()
    assert "15.0 gal of yard diesel are not accounted for since Monday, April 20." in page
    for said in (
        "412.0 gal",
        "400.0 gal",
        "141.5 gal",
        "670.5 gal",
        "655.5 gal",
        "15.0 gal missing",
        "T-118",
    ):
        assert said in page
    assert 'By the book it holds <b class="fig">635.5 gal</b> now' in page


def test_what_a_stick_cannot_tell_is_no_alarm(yard: Yard, tank: FuelTank) -> None:
    stick(yard, tank, 0, "400")
    stick(yard, tank, 48, "390")
    page = page_of()
    assert "All the fuel between the last readings is accounted for" in page
    assert "10.0 gal missing" in page


def test_a_fill_up_shows_the_passes_that_burned_it(yard: Yard, tank: FuelTank) -> None:
    """180 hp burn 0.044 × 180 = 7.9 gal an hour in the year's average; 36 gal over 6 h by the meter are 6.0."""
    fill(yard, tank, 0, "50", "2400")
    worked(yard.field_pass, yard.hand, Machine.objects.get(), starts_at=at(1), minutes=300)
    fill(yard, tank, 10, "36", "2406")
    page = page_of()
    assert "30.0 gal</span> Pond 40, disk" in page
    assert "6.0 gal</span> on no pass: road and yard" in page
    assert "6.0 gal/h over 6.0 h, usual 7.9" in page
    assert "no work is recorded since the fill-up before" in page, "of the first one"


def test_a_burn_far_from_the_usual_stands_out(yard: Yard, tank: FuelTank) -> None:
    fill(yard, tank, 0, "50")
    worked(yard.field_pass, yard.hand, Machine.objects.get(), starts_at=at(1), minutes=120)
    fill(yard, tank, 10, "60")
    assert '<small class="caution">30.0 gal/h over 2.0 h' in page_of()


def test_fuel_that_the_machine_does_not_burn_stands_out(yard: Yard, tank: FuelTank) -> None:
    fill(yard, tank, 0, "40")
    assert "It burns" not in page_of()
    Machine.objects.update(fuel="gasoline")
    assert "It burns gasoline: look at the tank." in page_of()


def test_the_office_enters_fuel_once_however_often_it_is_sent(yard: Yard, tank: FuelTank) -> None:
    machine = str(Machine.objects.get().pk)
    one_id = str(uuid.uuid4())
    boxes = {
        "machine": machine,
        "tank": str(tank.pk),
        "gallons": "61,5",
        "meter": "2410.3",
        "client_id": one_id,
    }
    for user in ("mona", "mona"):
        assert sent("fill", user, **boxes).status_code == 302
    row = FuelFill.objects.get()
    assert (row.gallons, row.meter_h, row.filled_at) == (Decimal("61.5"), Decimal("2410.3"), at(0.5))
    assert HourReading.objects.get().reading_h == Decimal("2410.3")
    assert sent("delivery", "bo", tank=str(tank.pk), gallons="500", ticket="T-7").status_code == 302
    assert FuelDelivery.objects.get().ticket_no == "T-7"
    assert sent("reading", "bo", tank=str(tank.pk), gallons="0").status_code == 302
    assert TankReading.objects.get().gallons == 0


@pytest.mark.parametrize(
    ("path", "boxes", "says"),
    [
        ("fill", {"gallons": "plenty"}, "“plenty” is not a number"),
        ("fill", {"gallons": "0"}, "The number of gallons is 0"),
        ("fill", {"gallons": "20", "meter": "12"}, "cannot go back"),
        ("fill", {"gallons": "20", "day": "2190-01-01"}, "has not come yet"),
        ("fill", {"gallons": "20", "machine": ""}, "Say which machine"),
        ("fill", {"gallons": "20", "fuel": "gasoline"}, "Yard diesel holds diesel"),
        ("delivery", {"gallons": "1001"}, "0.1 to 1000"),
        ("delivery", {"gallons": "20", "tank": ""}, "Say which tank"),
        ("reading", {"gallons": "1000.5"}, "0 to 1000"),
        ("reading", {"gallons": "", "hour": "25:00"}, "is not an hour"),
    ],
)
def test_what_is_wrong_stands_at_its_box_and_what_was_typed_stays(
    path: str, boxes: dict[str, str], says: str, yard: Yard, tank: FuelTank
) -> None:
    named = {"machine": str(Machine.objects.get().pk), "tank": str(tank.pk)}
    answer = sent(path, **{**named, **boxes})
    assert answer.status_code == 422
    page = unescape(answer.content.decode())
    assert says in page
    assert f'value="{boxes["gallons"]}"' in page
    for model in (FuelFill, FuelDelivery, TankReading, HourReading):
        assert model.objects.count() == 0


def test_taking_back_twice_is_taking_back_once(yard: Yard, tank: FuelTank) -> None:
    row = fill(yard, tank, 0, "50")
    one_id = str(uuid.uuid4())
    for _again in range(2):
        assert sent(f"fills/{row.pk}/back", client_id=one_id).status_code == 302
    assert FuelFill.objects.count() == 2
    assert "No fuel has been put in yet." in page_of()
    assert "That was taken back already." in unescape(
        signed_in("mona")
        .post(f"{FUEL}fills/{row.pk}/back/", {"client_id": str(uuid.uuid4())}, follow=True)
        .content.decode()
    )
    assert sent(f"barrels/{row.pk}/back").status_code == 404
    assert sent(f"deliveries/{row.pk}/back").status_code == 404


def test_hands_and_strangers_do_not_see_the_books_of_fuel(yard: Yard, tank: FuelTank) -> None:
    assert signed_in("rosa").get(FUEL).status_code == 403
    assert sent("reading", "rosa", tank=str(tank.pk), gallons="5").status_code == 403
    other = "/farms/other-farm/fuel/"
    assert signed_in("mona").get(other).status_code == 404


def test_more_by_the_book_than_a_tank_holds_is_told(tank: FuelTank) -> None:
    """By hand: 400 found and 600 delivered fill a tank of 1,000; 100 more do not go in."""
    facts: dict[str, Any] = {"farm": tank.farm, "tank": tank, "recorded_by": None, "now": NOW}
    record_tank_reading(client_id=uuid.uuid4(), read_at=at(0), gallons=Decimal(400), **facts)
    record_fuel_delivery(client_id=uuid.uuid4(), delivered_at=at(1), gallons=Decimal(600), **facts)
    says = "more than goes in: a delivery is wrong, or a fill-up is missing"
    assert says not in page_of()
    record_fuel_delivery(client_id=uuid.uuid4(), delivered_at=at(2), gallons=Decimal(100), **facts)
    assert says in page_of()
    assert "1,100.0 gal" in page_of()
    record_tank_reading(client_id=uuid.uuid4(), read_at=at(3), gallons=Decimal(990), **facts)
    assert "more than it holds: look at the deliveries" in page_of()


def test_a_tank_is_added_and_put_right_on_the_page(yard: Yard) -> None:
    page = page_of()
    assert "No tank is described yet." in page
    assert '<details id="tank" open>' in page, "where none is, one is asked for"
    typed = {"name": "yard diesel", "fuel": "diesel", "holds_gal": "1,000"}
    for _time in range(2):
        assert sent("tanks", **typed).status_code == 302
    assert FuelTank.objects.get().holds_gal == 1000
    page = page_of()
    assert "Diesel, holds 1,000.0 gal." in page
    assert '<details id="tank">' in page
    assert sent("tanks/yard-diesel", name="yard", fuel="gasoline", holds_gal="550.5").status_code == 302
    tank = FuelTank.objects.get()
    assert (tank.code, tank.name, tank.fuel, tank.holds_gal) == (
        "yard-diesel",
        "yard",
        "gasoline",
        Decimal("550.5"),
    )


@pytest.mark.parametrize(
    ("change", "at", "says"),
    [
        ({"name": " "}, "name", "Say what the tank is called."),
        ({"name": "Yard diesel"}, "name", "There is a tank called yard diesel already."),
        ({"fuel": "coal"}, "fuel", "Choose one of the fuels."),
        ({"holds_gal": ""}, "holds_gal", "Give the gallons that it holds."),
        ({"holds_gal": "0.5"}, "holds_gal", "What it holds: 0.5 is outside 1 to 100000."),
        ({"holds_gal": "much"}, "holds_gal", "“much” is not a number."),
    ],
)
def test_a_tank_that_cannot_be_stands_as_it_was_typed(
    yard: Yard, tank: FuelTank, change: dict[str, str], at: str, says: str
) -> None:
    other = FuelTank.objects.create(farm=yard.farm, code="shop", name="shop", holds_gal=Decimal(300))
    for path, key in (("tanks", "tank"), ("tanks/shop", "tank-shop")):
        typed = {"name": "gasoline", "fuel": "gasoline", "holds_gal": "500", **change}
        answer = sent(path, **typed)
        assert answer.status_code == 422
        page = unescape(answer.content.decode())
        assert says in page.partition(f'id="wrong-{key}-{at}"')[2].partition("</span>")[0]
        assert page.count("aria-invalid") == 1
        assert f'value="{typed["name"]}"' in page
        assert f'value="{typed["holds_gal"]}"' in page
    other.refresh_from_db()
    assert (other.name, other.holds_gal) == ("shop", 300)
    assert FuelTank.objects.count() == 2


def test_only_the_manager_describes_tanks(yard: Yard, tank: FuelTank) -> None:
    typed = {"name": "yard", "fuel": "diesel", "holds_gal": "500"}
    for path in ("tanks", f"tanks/{tank.code}"):
        assert sent(path, user="bo", **typed).status_code == 403
        assert sent(path, user="rosa", **typed).status_code == 403
        assert signed_in("mona").get(f"{FUEL}{path}/").status_code == 302
    assert sent("tanks/none-such", **typed).status_code == 404
    assert "Add a tank" not in page_of("bo")
    assert FuelTank.objects.get().name == "yard diesel"
    User.objects.filter(username="mona").update(language="es")
    assert "Agregar un tanque" in page_of()
    assert "Ya hay un tanque que se llama yard diesel." in unescape(
        sent("tanks", **typed | {"name": "yard diesel"}).content.decode()
    )
