"""Hours that a machine's meter ran and no work record has: the yard, the road, work that nobody reported."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm, Machine
from ledger.costing.money import divide_half_even, priced_cents
from ledger.models import Account, Line
from ledger.selectors.drafts import DraftLine, both_sides, other_side
from ledger.selectors.labor_lines import MINUTES_E4
from ledger.selectors.pools import by_source
from ledger.selectors.rates import RateBook
from scheduling.care import Backwards, TooFast, disagreements
from scheduling.models import HourReading
from scheduling.selectors.meters import meters_of, standing_readings

LEAST_MIN = 12
"""Farm judgement: a meter shows tenths, so two readings are right to two tenths of an hour."""


@dataclass(frozen=True)
class Unclaimed:
    """What a machine's newest reading says beside its work: minutes to book, below zero where work came late."""

    machine: Machine
    reading: HourReading
    minutes: int


def unclaimed_hours(*, farm: Farm, through: dt.date) -> list[Unclaimed]:
    """Return for each machine what its meter ran more than its work records say, less what was booked of it before.

    From what the meter showed when the machine was entered to its newest reading up to and with a day, going on where a
    meter was replaced; work that began before that reading counts. Fewer than 12 minutes are left alone, and so are
    machines whose readings run backwards or outrun the clock. Work that is reported late makes it less again, but never
    less than nothing in all.
    """
    zone = ZoneInfo(farm.zone)
    after = dt.datetime.combine(through + dt.timedelta(days=1), dt.time(0), tzinfo=zone)
    newest: dict[int, HourReading] = {}
    for reading in standing_readings(farm=farm).filter(read_at__lt=after).order_by("read_at", "id"):
        newest[reading.machine_id] = reading
    machines = list(Machine.objects.filter(farm=farm, pk__in=newest).order_by("code"))
    booked = _booked_min(farm)
    found = []
    for machine, meter in zip(machines, meters_of(farm=farm, machines=machines).values(), strict=True):
        reading = newest[machine.pk]
        if any(isinstance(one, Backwards | TooFast) for one in disagreements(meter)):
            continue
        ran_h = reading.reading_h + meter.added_h(reading.read_at) - meter.start_h
        ran_min = divide_half_even(int(ran_h * 10_000) * 60, 10_000)
        worked_min = sum(one.engine_min for one in meter.worked if one.began_at < reading.read_at)
        minutes = max(ran_min - worked_min, 0) - booked.get(machine.pk, 0)
        if abs(minutes) > LEAST_MIN:
            found.append(Unclaimed(machine, reading, minutes))
    return found


def reading_lines(*, unclaimed: Unclaimed, day: dt.date, book: RateBook) -> list[DraftLine]:
    """Return the lines of hours that nobody claims: the farm as a whole bears them at the machine's hour, its pool gets
    it. Raise NoRateOnDate where the machine has no hour."""
    machine = unclaimed.machine
    quantity_e4 = unclaimed.minutes * MINUTES_E4
    lines: list[DraftLine] = []
    for part in book.machine_hour(machine=machine, day=day).parts:
        cost = DraftLine(
            Account.OVERHEAD,
            priced_cents(quantity_e4=quantity_e4, unit="min", price_e4=part.price_e4),
            part.category,
            quantity_e4=quantity_e4,
            unit="min",
            price_e4=part.price_e4,
            rate=part.rate,
            cost_facts=part.cost_facts,
            says=f"{machine.name}, run on no work record by its meter at {unclaimed.reading.reading_h} h",
        )
        lines += both_sides(cost, against=other_side(cost, Account.MACHINE_POOL, machine=machine))
    return lines


def _booked_min(farm: Farm) -> Mapping[int, int]:
    """Return the minutes that stand booked as claimed by nobody, by machine; each part of an hour carries all of them."""
    rows = Line.objects.filter(farm=farm, account=Account.MACHINE_POOL, unit="min", machine__isnull=False)
    by_entry = {
        (machine_id, entry_id): -(quantity_e4 or 0) // MINUTES_E4
        for machine_id, entry_id, quantity_e4 in rows.filter(by_source("hour_reading")).values_list(
            "machine_id", "entry_id", "quantity_e4"
        )
    }
    found: dict[int, int] = {}
    for (machine_id, _entry_id), minutes in by_entry.items():
        found[machine_id] = found.get(machine_id, 0) + minutes
    return found
