"""Booking hours that a meter ran and nobody reported, when a month closes."""

import datetime as dt
from dataclasses import dataclass, field

from django.db import transaction

from farmops.core.clock import local_date
from farmops.farms.models import Farm
from ledger.costing.refusals import CostingError
from ledger.models import Entry
from ledger.selectors.rates import NoRateOnDate, rate_book
from ledger.selectors.reading_lines import reading_lines, unclaimed_hours
from ledger.services.journal import hold_books, write_entry


@dataclass
class ReadingsPosted:
    """What was booked of hours that nobody claims, and sentences of machines that were left out."""

    entries: list[Entry] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)


def post_readings(*, farm: Farm, through: dt.date, now: dt.datetime) -> ReadingsPosted:
    """Book what each machine's meter ran up to and with a day on no work record, to the farm as a whole.

    What was booked of it before is taken off, so late reports put it right by themselves the next time; a second run
    books nothing. A machine without a rate is left out until it has one.
    """
    done = ReadingsPosted()
    with transaction.atomic():
        hold_books(farm=farm)
        book = rate_book(farm=farm)
        for one in unclaimed_hours(farm=farm, through=through):
            day = local_date(one.reading.read_at, farm.zone)
            try:
                lines = reading_lines(unclaimed=one, day=day, book=book)
            except (NoRateOnDate, CostingError) as error:
                done.left_out.append(str(error))
                continue
            if not lines:
                continue
            before = Entry.objects.filter(hour_reading=one.reading).count()
            done.entries.append(
                write_entry(
                    farm=farm,
                    source=one.reading,
                    lines=lines,
                    happened_on=day,
                    now=now,
                    purpose=f"cost-{before + 1}" if before else "cost",
                )
            )
    return done
