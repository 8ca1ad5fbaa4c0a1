"""Fill-ups, deliveries and tank readings: kept once, corrected by a newer row, refused with a sentence."""

import datetime as dt
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from farmops.core.appendonly import AppendOnlyRefused
from farmops.core.keeping import ClientIdReused
from farmops.farms.models import Farm, FuelTank, Hand, Machine
from scheduling.models import FuelFill, HourReading
from scheduling.selectors.fuel import standing_deliveries, standing_fills, tanks_by_machine
from scheduling.services import report_fuel
from scheduling.services.fuel import record_fuel_delivery, record_fuel_fill, record_tank_reading
from scheduling.services.refusals import BadRecord, MeterRunsBackwards, NotThisFarm, SupersededAlready
from scheduling.services.report_body import BodyUnreadable
from tests.factories import make_farm, make_hand, make_machine
from tests.scheduling.facts import MORNING, NOW, sent_by
from tests.scheduling.reports import make_report

pytestmark = pytest.mark.django_db
GAL = Decimal("61.5")


@pytest.fixture
def farm() -> Farm:
    return make_farm()


@pytest.fixture
def machine(farm: Farm) -> Machine:
    return make_machine(farm)


@pytest.fixture
def hand(farm: Farm) -> Hand:
    return make_hand(farm)


@pytest.fixture
def tank(farm: Farm) -> FuelTank:
    return make_tank(farm)


def make_tank(farm: Farm, code: str = "yard-diesel", **facts: Any) -> FuelTank:
    return FuelTank.objects.create(
        farm=farm, code=code, **{"name": code, "holds_gal": Decimal(1000), **facts}
    )


@pytest.fixture
def fill(farm: Farm, machine: Machine, tank: FuelTank) -> dict[str, Any]:
    return sent_by(1, farm=farm, machine=machine, tank=tank, filled_at=MORNING, gallons=GAL, recorded_by=None)


@pytest.fixture
def delivery(farm: Farm, tank: FuelTank) -> dict[str, Any]:
    return sent_by(2, farm=farm, tank=tank, delivered_at=MORNING, gallons=Decimal(500), recorded_by=None)


@pytest.fixture
def reading(farm: Farm, tank: FuelTank) -> dict[str, Any]:
    return sent_by(3, farm=farm, tank=tank, read_at=MORNING, gallons=Decimal(400), recorded_by=None)


KEEP: dict[str, Callable[..., tuple[Any, bool]]] = {
    "fill": record_fuel_fill,
    "delivery": record_fuel_delivery,
    "reading": record_tank_reading,
}


@pytest.mark.parametrize("name", KEEP)
def test_the_same_row_sent_again_is_the_same_row_and_another_one_is_refused(
    name: str, request: pytest.FixtureRequest
) -> None:
    facts = request.getfixturevalue(name)
    row, is_new = KEEP[name](**facts)
    again, is_new_again = KEEP[name](**{**facts, "now": NOW + dt.timedelta(hours=1)})
    assert (is_new, is_new_again, again.pk) == (True, False, row.pk)
    with pytest.raises(ClientIdReused):
        KEEP[name](**{**facts, "gallons": Decimal("62.0")})
    with pytest.raises(AppendOnlyRefused):
        row.save()


@pytest.mark.parametrize("name", ["fill", "delivery"])
def test_a_correction_stands_in_the_place_of_one_row_once(name: str, request: pytest.FixtureRequest) -> None:
    facts = request.getfixturevalue(name)
    standing = {"fill": standing_fills, "delivery": standing_deliveries}[name]
    first, _ = KEEP[name](**facts)
    second, _ = KEEP[name](**{**facts, **sent_by(11), "gallons": Decimal(60), "supersedes": first})
    assert list(standing(farm=facts["farm"])) == [second]
    with pytest.raises(SupersededAlready):
        KEEP[name](**{**facts, **sent_by(12), "supersedes": first})
    KEEP[name](**{**facts, **sent_by(13), "supersedes": second, "is_taken_back": True})
    assert not standing(farm=facts["farm"]).exists()


@pytest.mark.parametrize(
    ("name", "wrong", "says"),
    [
        ("fill", {"gallons": Decimal(0)}, "gallons is 0"),
        ("fill", {"gallons": Decimal("-5")}, "gallons is -5"),
        ("fill", {"gallons": Decimal("5.25")}, "at most 1 decimal"),
        ("fill", {"gallons": Decimal("NaN")}, "gallons is NaN"),
        ("fill", {"gallons": Decimal(1001), "tank": None}, "0.1 to 1000"),
        ("fill", {"fuel": "gasoline"}, "yard-diesel holds diesel, not gasoline"),
        ("fill", {"fuel": "kerosene"}, "'kerosene' is no fuel"),
        ("fill", {"filled_at": NOW + dt.timedelta(hours=2)}, "has not come yet"),
        ("fill", {"filled_at": NOW.replace(year=1970)}, "is the year right"),
        ("fill", {"note": "x" * 201}, "at most 200"),
        ("fill", {"is_taken_back": True}, "Name the row"),
        ("delivery", {"gallons": Decimal("1000.1")}, "0.1 to 1000"),
        ("delivery", {"ticket_no": "9" * 41}, "at most 40"),
        ("reading", {"gallons": Decimal("1000.1")}, "0 to 1000"),
        ("reading", {"gallons": Decimal("-0.1")}, "0 to 1000"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(
    name: str, wrong: dict[str, Any], says: str, request: pytest.FixtureRequest
) -> None:
    with pytest.raises(BadRecord, match=says):
        KEEP[name](**{**request.getfixturevalue(name), **wrong})


def test_no_more_comes_out_of_a_tank_than_it_holds(farm: Farm, fill: dict[str, Any]) -> None:
    can = make_tank(farm, "can", holds_gal=Decimal(55))
    with pytest.raises(BadRecord, match=r"61\.5 gallons out of can, which holds 55"):
        record_fuel_fill(**{**fill, "tank": can})


def test_without_a_tank_it_is_what_the_machine_burns_unless_told_otherwise(
    machine: Machine, fill: dict[str, Any]
) -> None:
    Machine.objects.filter(pk=machine.pk).update(fuel="propane")
    machine.refresh_from_db()
    told = {**fill, "machine": machine, "tank": None}
    row, _ = record_fuel_fill(**{**told, "client_id": uuid.uuid4()})
    assert row.fuel == "propane"
    row, _ = record_fuel_fill(**{**told, "client_id": uuid.uuid4()}, fuel="gasoline")
    assert row.fuel == "gasoline"


def test_a_machine_is_offered_tanks_of_its_fuel_and_those_it_was_filled_from(
    farm: Farm, machine: Machine, tank: FuelTank, fill: dict[str, Any]
) -> None:
    gas = make_tank(farm, "gas", fuel="gasoline")
    assert tanks_by_machine(farm=farm, machines=[machine]) == {machine.pk: [tank]}
    record_fuel_fill(**{**fill, "tank": gas})
    assert tanks_by_machine(farm=farm, machines=[machine]) == {machine.pk: [gas, tank]}


def test_a_fill_up_takes_the_fuel_of_its_tank(farm: Farm, fill: dict[str, Any]) -> None:
    gas = make_tank(farm, "gas", fuel="gasoline")
    assert record_fuel_fill(**{**fill, "tank": gas})[0].fuel == "gasoline"
    assert record_fuel_fill(**{**fill, **sent_by(12), "tank": None})[0].fuel == "diesel"


@pytest.mark.parametrize("name", KEEP)
def test_a_tank_of_another_farm_is_unknown(name: str, request: pytest.FixtureRequest) -> None:
    other = make_tank(make_farm("other-farm"))
    with pytest.raises(NotThisFarm):
        KEEP[name](**{**request.getfixturevalue(name), "tank": other})


BODY = {"machine": "tractor-1", "tank": "yard-diesel", "gallons": "61,5", "meter": "2410.3"}


def taken(hand: Hand, body: dict[str, Any], *, number: int = 1, **facts: Any) -> FuelFill:
    report = make_report(hand, "fuel", body, now=NOW, number=number, **facts)
    report_fuel.take(farm=hand.farm, hand=hand, report=report, body=body, now=NOW, sent_by=None)
    return FuelFill.objects.get(client_id=report.client_id)


def test_a_hands_fill_up_is_kept_with_the_hour_meter(hand: Hand, machine: Machine, tank: FuelTank) -> None:
    row = taken(hand, BODY, made_at=MORNING)
    assert (row.machine, row.tank, row.gallons, row.hand) == (machine, tank, GAL, hand)
    assert (row.meter_h, row.filled_at) == (Decimal("2410.3"), MORNING)
    reading = HourReading.objects.get()
    assert (reading.machine, reading.reading_h, reading.read_at) == (machine, Decimal("2410.3"), MORNING)


def test_an_hour_on_the_farms_clock_goes_before_the_phones(
    hand: Hand, machine: Machine, tank: FuelTank
) -> None:
    row = taken(hand, {**BODY, "filled_at": "2026-06-15T06:10"}, made_at=MORNING)
    assert row.filled_at == dt.datetime(2026, 6, 15, 10, 10, tzinfo=dt.UTC), "New York is 4 h behind in June"


def test_without_an_hour_of_its_own_a_fill_up_was_when_the_report_came(
    hand: Hand, machine: Machine, tank: FuelTank
) -> None:
    assert taken(hand, BODY, made_at=None).filled_at == NOW


def test_a_fill_up_that_has_not_come_yet_is_not_kept(hand: Hand, machine: Machine, tank: FuelTank) -> None:
    with pytest.raises(BadRecord, match="has not come yet"):
        taken(hand, BODY, made_at=NOW + dt.timedelta(days=1))
    assert not FuelFill.objects.exists()


def test_a_fill_up_elsewhere_names_no_tank(hand: Hand, machine: Machine) -> None:
    assert taken(hand, {"machine": "tractor-1", "gallons": 40, "fuel": "gasoline"}).tank is None


@pytest.mark.parametrize(
    ("wrong", "at"),
    [
        ({"gallons": None}, "gallons"),
        ({"gallons": "0"}, "gallons"),
        ({"gallons": "1_000"}, "gallons"),
        ({"gallons": "٣"}, "gallons"),
        ({"gallons": "1e400"}, "gallons"),
        ({"gallons": "NaN"}, "gallons"),
        ({"machine": ""}, "machine"),
        ({"fuel": "kerosene"}, "fuel"),
        ({"filled_at": "yesterday"}, "filled_at"),
        ({"farm": "other-farm"}, "farm"),
    ],
)
def test_a_fill_up_that_cannot_be_read_is_told_at_its_box(
    wrong: dict[str, Any], at: str, hand: Hand, machine: Machine, tank: FuelTank
) -> None:
    with pytest.raises(BodyUnreadable) as caught:
        taken(hand, {**BODY, **wrong})
    assert list(caught.value.fields) == [at]
    assert not FuelFill.objects.exists()


def test_a_meter_that_runs_back_is_not_taken(hand: Hand, machine: Machine, tank: FuelTank) -> None:
    with pytest.raises(MeterRunsBackwards):
        taken(hand, {**BODY, "meter": "2399.9"})


@pytest.mark.parametrize("wrong", [{"machine": "tractor-9"}, {"tank": "barn"}])
def test_a_machine_or_tank_that_the_farm_has_not_is_not_taken(
    wrong: dict[str, Any], hand: Hand, machine: Machine, tank: FuelTank
) -> None:
    with pytest.raises(NotThisFarm):
        taken(hand, {**BODY, **wrong})
