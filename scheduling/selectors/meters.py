"""Hour meters: what they show, which readings count, which cannot be right, and which nobody read for long."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from farmops.core.ready import Ready
from farmops.farms.models import Farm, Machine
from scheduling.care import Disagreement, Meter, Reading, Replaced, Unread, Worked, disagreements, unread
from scheduling.models import HourReading, MeterReplaced, ParkedReport, ParkedState, ReportKind
from scheduling.selectors.work_of_things import Thing, standing_work, work_at_hand, work_by_thing

LOOKED_BACK_DAYS = 60
"""Farm judgement: what did not agree longer ago is history."""

WAITING_OF_METERS = Ready(
    lambda farm_id: (
        ParkedReport.objects.filter(farm=farm_id, state=ParkedState.WAITING, report__kind=ReportKind.METER)
        .select_related("report__hand")
        .order_by("report__received_at", "report_id")
    ),
    -1,
)


@dataclass(frozen=True)
class MeterState:
    """An hour meter at an instant: what it shows, when it was read last, and what is wrong with it.

    `run_h` are the hours that go on across replaced meters.
    `newest` is the newest reading that counts; `waiting` are reports of it that wait for the manager, since they do
    not fit the readings.
    """

    machine: Machine
    meter: Meter
    run_h: Decimal
    shows_h: Decimal
    newest: Reading | None
    unread: Unread | None
    disagreements: tuple[Disagreement, ...]
    waiting: tuple[ParkedReport, ...]

    @property
    def is_odd(self) -> bool:
        """Return whether somebody should look at this meter."""
        return bool(self.unread or self.disagreements or self.waiting)


def standing_readings(*, farm: Farm) -> QuerySet[HourReading]:
    """Return the meter readings that count: those that nobody set aside as wrong."""
    return HourReading.objects.filter(farm=farm, set_aside__isnull=True)


def meters_of(
    *, farm: Farm, machines: Iterable[Machine], worked: Mapping[Thing, Sequence[Worked]] | None = None
) -> dict[int, Meter]:
    """Return the meters of some machines by their row ids, in a fixed number of queries.

    `worked` is their work where it was read before.
    """
    machines = list(machines)
    ids = {machine.pk for machine in machines}
    if worked is None:
        worked = work_by_thing(standing_work(farm=farm).filter(machine__in=ids), ZoneInfo(farm.zone))
    readings: dict[int, list[Reading]] = defaultdict(list)
    rows = standing_readings(farm=farm).filter(machine__in=ids).order_by("read_at", "id")
    for machine_id, read_at, reading_h in rows.values_list("machine_id", "read_at", "reading_h"):
        readings[machine_id].append(Reading(read_at, reading_h))
    replaced: dict[int, list[Replaced]] = defaultdict(list)
    for row in MeterReplaced.objects.filter(farm=farm, machine__in=ids).order_by("replaced_at", "id"):
        replaced[row.machine_id].append(Replaced(row.replaced_at, row.old_reading_h, row.new_reading_h))
    return {
        machine.pk: Meter(
            start_h=machine.meter_start_h,
            readings=tuple(readings.get(machine.pk, ())),
            replaced=tuple(replaced.get(machine.pk, ())),
            worked=tuple(worked.get(("Machine", machine.pk), ())),
        )
        for machine in machines
    }


def meter_of(*, machine: Machine) -> Meter:
    """Return the meter of one machine."""
    return meters_of(farm=machine.farm, machines=[machine])[machine.pk]


def shown_h(*, machine: Machine, at: dt.datetime) -> Decimal:
    """Return what the hour meter of a machine shows at an instant, as far as readings and work records say."""
    return meter_of(machine=machine).shows_h(at)


def meter_states(*, farm: Farm, at: dt.datetime, only: Machine | None = None) -> list[MeterState]:
    """Return every machine's meter, or the only one asked for, with what is wrong with it, in the order of their codes.

    What did not agree more than `LOOKED_BACK_DAYS` days ago is left out.
    """
    machines = [only] if only is not None else list(Machine.objects.filter(farm=farm).order_by("code"))
    meters = meters_of(farm=farm, machines=machines, worked=work_at_hand(farm=farm))
    waiting = _waiting(farm)
    since = at - dt.timedelta(days=LOOKED_BACK_DAYS)
    states = []
    for machine in machines:
        meter = meters[machine.pk]
        read = [one for one in meter.readings if one.at <= at]
        run_h = meter.run_h(at)
        states.append(
            MeterState(
                machine=machine,
                meter=meter,
                run_h=run_h,
                shows_h=run_h - meter.added_h(at),
                newest=max(read, key=lambda one: (one.at, one.hours), default=None),
                unread=unread(meter, at),
                disagreements=tuple(one for one in disagreements(meter) if one.after.at >= since),
                waiting=tuple(waiting.get(machine.code, ())),
            )
        )
    return states


def _waiting(farm: Farm) -> Mapping[str, list[ParkedReport]]:
    """Return the parked reports of meters by the code of the machine that they name."""
    found: dict[str, list[ParkedReport]] = defaultdict(list)
    for row in WAITING_OF_METERS.ask(farm.pk):
        found[str(row.report.body.get("machine", ""))].append(row)
    return found
