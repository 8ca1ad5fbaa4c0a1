"""Keeping the fuel that went into machines, that was delivered, and that the stick found in a tank."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.farms.models import Farm, Fuel, FuelTank, Hand, Machine
from scheduling.models import FuelDelivery, FuelFill, TankReading
from scheduling.services.fact_rules import (
    refuse_bad_correction,
    refuse_bad_instant,
    refuse_bad_number,
    refuse_bad_text,
)
from scheduling.services.record_rules import MOST_H, refuse_other_farms
from scheduling.services.refusals import BadRecord
from scheduling.services.work import record_hour_reading

LEAST_GAL = Decimal("0.1")
MOST_FILL_GAL = Decimal(1000)
"""Farm judgement: the largest tractors and combines hold some 300 to 500 gallons; more is a slip of the pen."""
LONGEST_NOTE = 200
LONGEST_TICKET = 40


@transaction.atomic
def fill_up(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    machine: Machine,
    filled_at: dt.datetime,
    meter_h: Decimal | None = None,
    hand: Hand | None = None,
    now: dt.datetime,
    **facts: Any,
) -> tuple[FuelFill, bool]:
    """Keep a fill-up as `record_fuel_fill` does, and what the hour meter showed as a reading, both or neither.

    Raises what both raise: MeterRunsBackwards and MeterRunsTooFast for a meter that its other readings do not allow.
    """
    kept = record_fuel_fill(
        farm=farm,
        client_id=client_id,
        machine=machine,
        filled_at=filled_at,
        meter_h=meter_h,
        hand=hand,
        now=now,
        **facts,
    )
    if meter_h is not None:
        record_hour_reading(
            farm=farm,
            client_id=uuid.uuid5(client_id, "meter"),
            machine=machine,
            reading_h=meter_h,
            read_at=filled_at,
            read_by=hand,
            now=now,
        )
    return kept


def record_fuel_fill(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    machine: Machine,
    tank: FuelTank | None = None,
    fuel: str | None = None,
    filled_at: dt.datetime,
    gallons: Decimal,
    meter_h: Decimal | None = None,
    hand: Hand | None = None,
    note: str = "",
    is_taken_back: bool = False,
    supersedes: FuelFill | None = None,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[FuelFill, bool]:
    """Keep the gallons put into a machine; return the row and False if it was kept before.

    Without `fuel` it is what the tank holds, or what the machine burns where no tank is named. A correction names the row that it
    `supersedes`; with `is_taken_back` nothing takes its place. Raises BadRecord for gallons outside 0.1 to 1,000, more
    than the tank holds, another fuel than the tank's, an hour to come; SupersededAlready; NotThisFarm.
    """
    refuse_other_farms(farm, machine, tank, hand, supersedes)
    refuse_bad_instant("filled_at", filled_at, farm, now)
    refuse_bad_number("gallons", gallons, least=LEAST_GAL, most=MOST_FILL_GAL, decimals=1)
    _refuse_more_than_it_holds("gallons", gallons, tank)
    if meter_h is not None:
        refuse_bad_number("meter_h", meter_h, least=Decimal(0), most=Decimal(MOST_H), decimals=1)
    refuse_bad_text("note", note, most=LONGEST_NOTE)
    facts: dict[str, Any] = {
        "machine": machine,
        "tank": tank,
        "fuel": _fuel_of(machine, tank, fuel),
        "filled_at": filled_at,
        "gallons": gallons,
        "meter_h": meter_h,
        "hand": hand,
        "note": note,
        "is_taken_back": is_taken_back,
        "supersedes": supersedes,
    }

    def make() -> FuelFill:
        refuse_bad_correction(supersedes, is_taken_back=is_taken_back)
        return FuelFill.objects.create(
            farm=farm, client_id=client_id, recorded_by=recorded_by, recorded_at=now, **facts
        )

    return keep_once(
        FuelFill.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def record_fuel_delivery(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    tank: FuelTank,
    delivered_at: dt.datetime,
    gallons: Decimal,
    ticket_no: str = "",
    note: str = "",
    is_taken_back: bool = False,
    supersedes: FuelDelivery | None = None,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[FuelDelivery, bool]:
    """Keep the gallons that a supplier put into a tank; return the row and False if it was kept before.

    Raises BadRecord for gallons that the tank does not hold, an hour to come; SupersededAlready; NotThisFarm.
    """
    refuse_other_farms(farm, tank, supersedes)
    refuse_bad_instant("delivered_at", delivered_at, farm, now)
    refuse_bad_number("gallons", gallons, least=LEAST_GAL, most=tank.holds_gal, decimals=1)
    refuse_bad_text("ticket_no", ticket_no, most=LONGEST_TICKET)
    refuse_bad_text("note", note, most=LONGEST_NOTE)
    facts: dict[str, Any] = {
        "tank": tank,
        "delivered_at": delivered_at,
        "gallons": gallons,
        "ticket_no": ticket_no,
        "note": note,
        "is_taken_back": is_taken_back,
        "supersedes": supersedes,
    }

    def make() -> FuelDelivery:
        refuse_bad_correction(supersedes, is_taken_back=is_taken_back)
        return FuelDelivery.objects.create(
            farm=farm, client_id=client_id, recorded_by=recorded_by, recorded_at=now, **facts
        )

    return keep_once(
        FuelDelivery.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def record_tank_reading(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    tank: FuelTank,
    read_at: dt.datetime,
    gallons: Decimal,
    note: str = "",
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[TankReading, bool]:
    """Keep the gallons that the stick found; return the row and False if it was kept before.

    A reading that was wrong is put right by another one of the same hour: the later row counts. Raises BadRecord for
    more than the tank holds, an hour to come; NotThisFarm.
    """
    refuse_other_farms(farm, tank)
    refuse_bad_instant("read_at", read_at, farm, now)
    refuse_bad_number("gallons", gallons, least=Decimal(0), most=tank.holds_gal, decimals=1)
    refuse_bad_text("note", note, most=LONGEST_NOTE)
    facts: dict[str, Any] = {"tank": tank, "read_at": read_at, "gallons": gallons, "note": note}

    def make() -> TankReading:
        return TankReading.objects.create(
            farm=farm, client_id=client_id, recorded_by=recorded_by, recorded_at=now, **facts
        )

    return keep_once(
        TankReading.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def take_back_fill(
    *, fill: FuelFill, client_id: uuid.UUID, recorded_by: User | None, now: dt.datetime
) -> tuple[FuelFill, bool]:
    """Keep that a fill-up never was; return the row that says so and False if it was kept before."""
    same = ("farm", "machine", "tank", "fuel", "filled_at", "gallons", "meter_h", "hand")
    return record_fuel_fill(
        **{name: getattr(fill, name) for name in same},
        client_id=client_id,
        is_taken_back=True,
        supersedes=fill,
        recorded_by=recorded_by,
        now=now,
    )


def take_back_delivery(
    *, delivery: FuelDelivery, client_id: uuid.UUID, recorded_by: User | None, now: dt.datetime
) -> tuple[FuelDelivery, bool]:
    """Keep that a delivery never was; return the row that says so and False if it was kept before."""
    same = ("farm", "tank", "delivered_at", "gallons", "ticket_no")
    return record_fuel_delivery(
        **{name: getattr(delivery, name) for name in same},
        client_id=client_id,
        is_taken_back=True,
        supersedes=delivery,
        recorded_by=recorded_by,
        now=now,
    )


def _fuel_of(machine: Machine, tank: FuelTank | None, fuel: str | None) -> str:
    if fuel is not None and fuel not in Fuel.values:
        known = ", ".join(Fuel.values)
        raise BadRecord(
            _("{fuel} is no fuel; it is one of {known}.").format(fuel=repr(fuel), known=known),
            fields={"fuel": f"one of {known}"},
        )
    if tank is not None and fuel not in (None, tank.fuel):
        raise BadRecord(
            _("{tank} holds {fuel}, not {other}.").format(
                tank=tank.name, fuel=_(tank.get_fuel_display()), other=_(str(Fuel(fuel).label))
            ),
            fields={"fuel": f"the tank holds {tank.fuel}"},
        )
    return tank.fuel if tank is not None else fuel or machine.fuel


def _refuse_more_than_it_holds(name: str, gallons: Decimal, tank: FuelTank | None) -> None:
    if tank is not None and gallons > tank.holds_gal:
        raise BadRecord(
            _("{gallons} gallons out of {tank}, which holds {holds}.").format(
                gallons=gallons, tank=tank.name, holds=tank.holds_gal
            ),
            fields={name: f"the tank holds {tank.holds_gal}"},
        )
