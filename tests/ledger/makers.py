"""Makers of work, rates and bills for the tests of the ledger; prices are round so that sums can be done by hand."""

import datetime as dt
import uuid
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import connection

from farmops.core import guards
from farmops.farms.models import Farm, Hand, Implement, Machine, Season
from ledger.models import Bill
from ledger.services.bills import enter_bill
from ledger.services.rates import set_rate
from scheduling.models import FieldPass, InputUse, WorkRecord
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)

NOON = dt.datetime(2026, 4, 20, 16, tzinfo=dt.UTC)
DAY = dt.date(2026, 4, 20)
NEW_YEAR = dt.date(2026, 1, 1)


@dataclass(frozen=True)
class Place:
    """A farm with one field of 40 acres, a tractor of 180 hp, a disk and a hand."""

    farm: Farm
    season: Season
    field_pass: FieldPass
    machine: Machine
    implement: Implement
    hand: Hand


def make_place(code: str = "heron-slough", *, rated: bool = True) -> Place:
    farm = make_farm(code)
    season = make_season(make_field(farm))
    place = Place(farm, season, make_pass(season), make_machine(farm), make_implement(farm), make_hand(farm))
    if rated:
        set_rates(farm)
    return place


def set_rates(farm: Farm, **prices: str) -> None:
    """Set wage 18, overtime extra 9, fuel 3.20, machine 40, implement 12 from New Year on; no seed."""
    standard = {"wage": "18", "overtime_extra": "9", "fuel": "3.20", "machine": "40", "implement": "12"}
    for kind, usd in {**standard, **prices}.items():
        set_rate(farm=farm, kind=kind, usd_per_unit=usd, valid_from=NEW_YEAR, now=NOON)


def make_work(place: Place, **facts: Any) -> WorkRecord:
    """Record work by default: the disk with tractor and hand, 5 h and 4 h 30 min of the engine."""
    defaults: dict[str, Any] = {
        "client_id": uuid.uuid4(),
        "field_pass": place.field_pass,
        "hand": place.hand,
        "machine": place.machine,
        "implement": place.implement,
        "work_on": DAY,
        "hand_min": 300,
        "machine_min": 270,
        "done_ac": Decimal("40"),
        "recorded_at": NOON,
    }
    return WorkRecord.objects.create(farm=place.farm, **{**defaults, **facts})


def make_bill(place: Place, amount_usd: str = "100.00", **facts: Any) -> Bill:
    defaults: dict[str, Any] = {
        "client_id": uuid.uuid4(),
        "payee": "Three Rivers Supply",
        "bill_on": DAY,
        "category": "other",
        "now": NOON,
    }
    bill, is_new = enter_bill(farm=place.farm, amount_usd=amount_usd, **{**defaults, **facts})
    assert is_new
    return bill


def use_input(
    record: WorkRecord,
    code: str,
    quantity: str,
    unit: str,
    *,
    usd: str,
    priced_by: str = "",
    category: str = "",
) -> None:
    """Put an input on with a work record, at a price from New Year on, by default for the same unit."""
    set_rate(
        farm=record.farm,
        kind="input",
        subject=code,
        unit=priced_by or unit,
        usd_per_unit=usd,
        category=category,
        valid_from=NEW_YEAR,
        now=NOON,
    )
    InputUse.objects.create(
        farm=record.farm, work_record=record, input_code=code, quantity=Decimal(quantity), unit=unit
    )


def behind_the_back(*statements: str) -> None:
    """Change rows as nobody can who goes through the guards."""
    with guards.lifted(connection), connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
