"""Close a month of the books, or open the last closed one again."""

import datetime as dt
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from farmops.farms.selectors import farm_by_code
from ledger.selectors.periods import month_from
from ledger.services.periods import close_period, reopen_period


class Command(BaseCommand):
    help = (
        "Close a month of a farm's books after posting what can be posted; nothing is booked into it any more, and what "
        "comes late goes to the month that is open, with its own day kept. With --reopen and --why the last closed "
        "month is opened again. Exit codes: 0 done, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--month", metavar="YYYY-MM", required=True)
        parser.add_argument("--reopen", action="store_true", help="open it again instead")
        parser.add_argument("--why", metavar="TEXT", default="", help="the reason of a reopening")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["why"] and not options["reopen"]:
            raise CommandError("--why is the reason of a reopening; say --reopen too.")
        try:
            farm = farm_by_code(options["farm"])
            month = month_from(options["month"])
            says = _reopened(farm, month, options["why"]) if options["reopen"] else _closed(farm, month)
        except (DomainError, ValueError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(says)


def _closed(farm: Farm, month: dt.date) -> str:
    done = close_period(farm=farm, month=month, now=clock.now())
    waits = f" {done.waiting} sources wait for a price and go to an open month later." if done.waiting else ""
    left = (
        f" What owning machines took is not booked for {done.machine_years} of them; to book it, open the month again."
        if done.machine_years
        else ""
    )
    return (
        f"{farm.code}: {month:%Y-%m} {done.entry.why}; "
        f"head {done.head.digest or 'none'} at entry {done.head.number}.{waits}{left}"
    )


def _reopened(farm: Farm, month: dt.date, why: str) -> str:
    reopen_period(farm=farm, month=month, why=why, now=clock.now())
    return f"{farm.code}: {month:%Y-%m} is open again."
