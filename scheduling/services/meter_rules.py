"""What a reading of an hour meter may say: each rule refuses in a sentence with the numbers that do not fit."""

import datetime as dt
from decimal import Decimal

from django.utils.translation import gettext as _

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
            _("The meter reading is {hours}; it is 0 to {most}, in hours and tenths.").format(
                hours=hours, most=f"{MOST_H:,}"
            ),
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
            _("The meter of {machine} cannot go back: {hours} h after {before} h.").format(
                machine=machine.name, hours=reading_h, before=least_h
            ),
            fields={name: f"less than {least_h}"},
            facts={"reading_h": reading_h, "before_h": least_h},
        )
    if after is not None and reading_h > after.hours - added_h:
        raise MeterRunsBackwards(
            _("The meter of {machine} cannot go back: {hours} h before {later} h, read later.").format(
                machine=machine.name, hours=reading_h, later=after.hours - added_h
            ),
            fields={name: f"more than {after.hours - added_h}"},
            facts={"reading_h": reading_h, "later_h": after.hours - added_h},
        )
    if before is None and reading_h - least_h > MOST_BEFORE_FIRST_H:
        raise MeterRunsTooFast(
            _(
                "The meter of {machine} was entered with {first} h; is the point in {hours} h where it belongs?"
            ).format(machine=machine.name, first=least_h, hours=reading_h),
            fields={name: f"more than a year's hours above {least_h}"},
        )
    if before is not None:
        passed_h = Decimal((read_at - before.at) // dt.timedelta(minutes=1)) / 60
        if reading_h - least_h > passed_h + METER_SLACK_H:
            raise MeterRunsTooFast(
                _(
                    "The meter of {machine} would gain {gained} h in {passed} h: {hours} h after {before} h."
                ).format(
                    machine=machine.name,
                    gained=reading_h - least_h,
                    passed=f"{passed_h:.1f}",
                    hours=reading_h,
                    before=least_h,
                ),
                fields={name: "gains more than the clock"},
                facts={"gained_h": reading_h - least_h, "passed_h": passed_h},
            )


def _decimals(number: Decimal) -> int:
    exponent = number.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 99
