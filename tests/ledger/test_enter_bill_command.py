"""The command that enters a bill."""

import datetime as dt
import uuid
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from farmops.farms.models import Farm
from ledger.models import Bill
from scheduling.models import Incident
from tests.factories import make_farm, make_field, make_machine, make_season

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_season(make_field(farm))
    make_machine(farm)
    return farm


def enter(farm: Farm, *words: str) -> str:
    out = StringIO()
    bill = ["--payee", "Cane Road Tire", "--on", "2026-04-22", "--usd", "212.60", "--category", "tires"]
    call_command("enter_bill", "--farm", farm.code, *bill, *words, stdout=out)
    return out.getvalue()


def puncture(farm: Farm) -> Incident:
    at = dt.datetime(2026, 4, 21, 15, tzinfo=dt.UTC)
    field = make_field(farm, "low-30")
    return Incident.objects.create(
        farm=farm, client_id=uuid.uuid4(), kind="puncture", happened_at=at, recorded_at=at, field=field
    )


def test_a_tire_bill_finds_its_puncture_and_is_entered_once(farm: Farm) -> None:
    incident = puncture(farm)
    said = [enter(farm, "--number", "A-17", "--incident", str(incident.pk)) for _ in range(2)]
    assert said[0] == "Cane Road Tire, 2026-04-22: 212.60 dollars, tires: entered.\n"
    assert said[1].endswith("known already, nothing entered.\n")
    bill = Bill.objects.get()
    assert (bill.cents, bill.incident, bill.number) == (21260, incident, "A-17")


def test_a_bill_names_a_season_or_a_pool_by_code(farm: Farm) -> None:
    enter(farm, "--field", "pond-40", "--crop-year", "2026")
    enter(farm, "--number", "B-2", "--machine", "tractor-1")
    seasons = [bill.season.field.code if bill.season else "" for bill in Bill.objects.order_by("pk")]
    machines = [bill.machine.code if bill.machine else "" for bill in Bill.objects.order_by("pk")]
    assert (seasons, machines) == (["pond-40", ""], ["", "tractor-1"])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--usd", "12.345"], "decimals"),
        (["--incident", "99"], "no incident 99; the newest are: none"),
        (["--machine", "tractor-9"], "no machine 'tractor-9'; it has tractor-1"),
        (["--field", "pond-40"], "give both"),
        (["--pump", "well-9"], "no pump 'well-9'; it has none"),
        (["--entity", "nobody"], "no entity 'nobody'; it has none"),
        (["--currency", "CAD"], "in US dollars"),
        (["--usd", "10000000000000"], "which no single line holds"),
        (["--category", "yachts"], "'yachts' is not a category of bills; known: labor,"),
        (["--shared-by", "acres", "--crop-year", "2019"], "no season of crop year 2019"),
        (["--field", "pond-40", "--crop-year", "2019"], "not one season of crop year 2019, but: none"),
        (["--farm", "nowhere"], "No farm has the code 'nowhere'"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_entered(farm: Farm, words: list[str], says: str) -> None:
    with pytest.raises(CommandError, match=says):
        enter(farm, *words)
    assert not Bill.objects.exists()


def test_a_bill_with_tax_is_shared_by_acres(farm: Farm) -> None:
    enter(farm, "--sales-tax-usd", "12.60", "--shared-by", "acres", "--crop-year", "2026")
    bill = Bill.objects.get()
    assert (bill.sales_tax_cents, bill.shared_by, bill.crop_year) == (1_260, "acres", 2026)


def test_a_bill_without_a_farm_is_refused() -> None:
    words = ["--payee", "X", "--on", "2026-04-22", "--usd", "1", "--category", "tires"]
    with pytest.raises(CommandError, match="arguments are required: --farm"):
        call_command("enter_bill", *words)


def test_another_farms_puncture_is_not_found(farm: Farm) -> None:
    incident = puncture(make_farm("other-bend"))
    with pytest.raises(CommandError, match="has no incident"):
        enter(farm, "--incident", str(incident.pk))
