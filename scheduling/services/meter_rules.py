"""What a reading of an hour meter may say: each rule refuses in a sentence with the numbers that do not fit."""

import datetime as dt
from decimal import Decimal

from farmops.farms.models import Machine
from scheduling.care import Meter
from scheduling.selectors.meters import meter_of
from scheduling.services.record_rules import MOST_H
from scheduling.services.refusals import BadRecord, MeterRunsBackwards, MeterRunsTooFast

MOST_BEFORE_FIRST_H = 366 * 24
"""What a meter can have gained since it was entered, until somebody reads it: a year without a stop. Farm judgement."""
METER_SLACK_H = 24  # farm judgement: a reading may be booked up to a day beside its hour


def refuse_bad_hours(name: str, hours: Decimal) -> None:
    """Refuse what no hour meter shows."""
    if not (hours.is_finite() and 0 <= hours < MOST_H) or _decimals(hours) > 1:
        raise BadRecord(
            f"The meter reading is {hours}; it is 0 to {MOST_H:,}, in hours and tenths.",
            fields={name: "not hours and tenths"},
        )


def refuse_bad_reading(
    machine: Machine, reading_h: Decimal, read_at: dt.datetime, *, name: str = "reading_h"
) -> None:
    """Refuse a meter reading below an earlier or above a later one, or that outruns the clock.

    Readings that were set aside do not count; where the meter was replaced, those of the other meter count with what
    was run since. Call it with the machine locked.
    """
    refuse_bad_hours(name, reading_h)
    refuse_out_of_line(machine, meter_of(machine=machine), reading_h, read_at, name=name)


def refuse_out_of_line(
    machine: Machine, meter: Meter, reading_h: Decimal, read_at: dt.datetime, *, name: str
) -> None:
    """Refuse a reading that the others do not allow, all of them in hours of the meter of that instant."""
    added_h = meter.added_h(read_at)
    known = meter.run_on()
    before = max(
        (one for one in known if one.at <= read_at), key=lambda one: (one.at, one.hours), default=None
    )
    after = min((one for one in known if one.at > read_at), key=lambda one: (one.at, one.hours), default=None)
    least_h = before.hours - added_h if before is not None else meter.start_h
    if reading_h < least_h:
        raise MeterRunsBackwards(
            f"The meter of {machine.name} cannot go back: {reading_h} h after {least_h} h.",
            fields={name: f"less than {least_h}"},
            facts={"reading_h": reading_h, "before_h": least_h},
        )
    if after is not None and reading_h > after.hours - added_h:
        raise MeterRunsBackwards(
            f"The meter of {machine.name} cannot go back: {reading_h} h before {after.hours - added_h} h, read later.",
            fields={name: f"more than {after.hours - added_h}"},
            facts={"reading_h": reading_h, "later_h": after.hours - added_h},
        )
    if before is None and reading_h - least_h > MOST_BEFORE_FIRST_H:
        raise MeterRunsTooFast(
            f"The meter of {machine.name} was entered with {least_h} h; is the point in {reading_h} h where it belongs?",
            fields={name: f"more than a year's hours above {least_h}"},
        )
    if before is not None:
        passed_h = Decimal((read_at - before.at) // dt.timedelta(minutes=1)) / 60
        if reading_h - least_h > passed_h + METER_SLACK_H:
            raise MeterRunsTooFast(
                f"The meter of {machine.name} would gain {reading_h - least_h} h in {passed_h:.1f} h: "
                f"{reading_h} h after {least_h} h.",
                fields={name: "gains more than the clock"},
                facts={"gained_h": reading_h - least_h, "passed_h": passed_h},
            )


def _decimals(number: Decimal) -> int:
    exponent = number.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 99
