"""Fuel of a farm: which pass burned what, and what of each tank is not accounted for."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from farmops.farms.models import Farm, FuelTank, Machine
from scheduling.fuel import Burned, Fill, Flow, Level, Ran, Stretch, burned_by_fill, since_reading, stretches
from scheduling.models import FieldPass, FuelDelivery, FuelFill, TankReading, WorkRecord
from scheduling.selectors.work_of_things import JUST_BEFORE_NOON


@dataclass(frozen=True)
class PassShare:
    """The gallons of a fill-up that one pass burned, with the engine minutes behind them."""

    field_pass: FieldPass
    engine_min: int
    gallons: Decimal


@dataclass(frozen=True)
class FillShared:
    """A fill-up of a machine, shared to the passes since the one before; what no pass burned is `burned.no_work_gal`."""

    row: FuelFill
    burned: Burned
    passes: list[PassShare]

    @property
    def unshared_gal(self) -> Decimal:
        """Return the gallons that no work can be named for."""
        return self.row.gallons if not (self.passes or self.burned.no_work_gal) else Decimal(0)


@dataclass(frozen=True)
class TankStock:
    """A tank: the stretches between its readings, oldest first, and what went through it since the last one.

    `came_gal` and `went_gal` are all that was ever delivered and filled from it: what a tank without a reading shows.
    """

    tank: FuelTank
    stretches: list[Stretch]
    now: Stretch | None
    came_gal: Decimal
    went_gal: Decimal


def standing_fills(*, farm: Farm) -> QuerySet[FuelFill]:
    """Return the fill-ups that stand: not corrected by a newer row, not taken back."""
    return FuelFill.objects.filter(farm=farm, superseded_by__isnull=True, is_taken_back=False)


def standing_deliveries(*, farm: Farm) -> QuerySet[FuelDelivery]:
    """Return the deliveries that stand."""
    return FuelDelivery.objects.filter(farm=farm, superseded_by__isnull=True, is_taken_back=False)


def shared_fills(*, farm: Farm) -> list[FillShared]:
    """Return every fill-up of a farm with the passes that burned it, newest first; a fixed number of queries.

    The gallons of the passes and what no pass burned sum to what was filled. Work without an hour counts as begun
    before noon. Gasoline and diesel of one machine are one: what a machine burns is what it was filled with.
    """
    fills: dict[int, list[FuelFill]] = defaultdict(list)
    rows = standing_fills(farm=farm).select_related("machine", "tank", "hand").order_by("filled_at", "id")
    for row in rows:
        fills[row.machine_id].append(row)
    records = {record.pk: record for record in _work_of(farm, list(fills))}
    ran = _ran_by_machine(records, ZoneInfo(farm.zone))
    found = []
    for machine_id, of_machine in fills.items():
        by_key = {row.pk: row for row in of_machine}
        given = [Fill(row.pk, row.filled_at, row.gallons, row.meter_h) for row in of_machine]
        for burned in burned_by_fill(fills=given, ran=ran.get(machine_id, [])):
            found.append(FillShared(by_key[burned.fill.key], burned, _by_pass(burned, records)))
    found.sort(key=lambda one: (one.row.filled_at, one.row.pk), reverse=True)
    return found


def fuel_by_pass(*, farm: Farm) -> Mapping[int, Decimal]:
    """Return the gallons that each pass burned so far, by its row id, as fill-ups were shared."""
    gallons: dict[int, Decimal] = defaultdict(Decimal)
    for one in shared_fills(farm=farm):
        for share in one.passes:
            gallons[share.field_pass.pk] += share.gallons
    return gallons


def tank_stocks(*, farm: Farm) -> list[TankStock]:
    """Return every tank of a farm with what is not accounted for between its readings."""
    levels: dict[int, list[Level]] = defaultdict(list)
    readings = TankReading.objects.filter(farm=farm).order_by("read_at", "id")
    for tank_id, at, gallons in readings.values_list("tank_id", "read_at", "gallons"):
        levels[tank_id].append(Level(at, gallons))
    came = _flows(standing_deliveries(farm=farm), "delivered_at")
    went = _flows(standing_fills(farm=farm).filter(tank__isnull=False), "filled_at")
    return [
        TankStock(
            tank=tank,
            stretches=stretches(levels=levels[tank.pk], came=came[tank.pk], went=went[tank.pk]),
            now=since_reading(levels=levels[tank.pk], came=came[tank.pk], went=went[tank.pk]),
            came_gal=sum((one.gallons for one in came[tank.pk]), Decimal(0)),
            went_gal=sum((one.gallons for one in went[tank.pk]), Decimal(0)),
        )
        for tank in FuelTank.objects.filter(farm=farm)
    ]


def tanks_by_machine(*, farm: Farm, machines: Sequence[Machine]) -> dict[int, list[FuelTank]]:
    """Return the tanks of each machine by its row id: those that hold its fuel, and those it was filled from before."""
    tanks = list(FuelTank.objects.filter(farm=farm))
    fills = standing_fills(farm=farm).filter(tank__isnull=False)
    used = set(fills.values_list("machine_id", "tank_id").distinct()) if tanks else set()
    return {
        one.pk: [tank for tank in tanks if tank.fuel == one.fuel or (one.pk, tank.pk) in used]
        for one in machines
    }


def _flows(rows: QuerySet, at: str) -> Mapping[int, list[Flow]]:
    found: dict[int, list[Flow]] = defaultdict(list)
    for tank_id, instant, gallons in rows.values_list("tank_id", at, "gallons"):
        found[tank_id].append(Flow(instant, gallons))
    return found


def _work_of(farm: Farm, machines: list[int]) -> QuerySet[WorkRecord]:
    records = WorkRecord.objects.filter(farm=farm, machine__in=machines, superseded_by__isnull=True)
    return records.select_related("field_pass__season__field").order_by("work_on", "id")


def _ran_by_machine(records: Mapping[int, WorkRecord], zone: ZoneInfo) -> Mapping[int, list[Ran]]:
    found: dict[int, list[Ran]] = defaultdict(list)
    for record in records.values():
        noon = dt.datetime.combine(record.work_on, JUST_BEFORE_NOON, tzinfo=zone)
        assert record.machine_id is not None  # the rows were asked for by their machine
        found[record.machine_id].append(Ran(record.pk, record.starts_at or noon, record.machine_min))
    return found


def _by_pass(burned: Burned, records: Mapping[int, WorkRecord]) -> list[PassShare]:
    passes: dict[int, FieldPass] = {}
    minutes: dict[int, int] = defaultdict(int)
    gallons: dict[int, Decimal] = defaultdict(Decimal)
    for key, share in burned.gallons.items():
        field_pass = records[key].field_pass
        passes[field_pass.pk] = field_pass
        minutes[field_pass.pk] += records[key].machine_min
        gallons[field_pass.pk] += share
    return [PassShare(passes[pk], minutes[pk], gallons[pk]) for pk in passes]
