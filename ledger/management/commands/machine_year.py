"""Book what owning machines took in a calendar year into their pools, or only say it."""

from decimal import Decimal
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from farmops.farms.selectors import farm_by_code
from ledger.costing.money import cents_of, usd_text
from ledger.selectors.fixed_costs import fixed_costs
from ledger.services.machine_years import book_machine_years


class Command(BaseCommand):
    help = (
        "Book capital recovery of a year that is over into the pool of each machine and implement with cost facts, once. "
        "For management, not for taxes. Exit codes: 0 done or known, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--year", metavar="YEAR", type=int, required=True)
        parser.add_argument("--dry-run", action="store_true", help="say what each comes to, book nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        year = options["year"]
        if not 1990 <= year <= 2100:
            raise CommandError(f"{year} is not a year between 1990 and 2100.")
        try:
            farm = farm_by_code(options["farm"])
            if options["dry_run"]:
                self._say(farm, year)
                return
            done = book_machine_years(farm=farm, year=year, now=clock.now())
        except DomainError as error:
            raise CommandError(error.says) from error
        for row in done.booked:
            self.stdout.write(f"{row}: {usd_text(row.recovery_cents)} dollars into its pool.")
        self.stdout.write(
            f"{len(done.booked)} booked, {len(done.known)} known before, {len(done.left_out)} left out."
        )
        for says in done.left_out:
            self.stderr.write(f"left out: {says}")

    def _say(self, farm: Farm, year: int) -> None:
        self.stdout.write("For management, not for taxes. Dollars.")
        for one in fixed_costs(farm=farm, year=year):
            if one.owned is None:
                self.stdout.write(f"{one.thing}: {one.lacks}")
                continue
            owned = one.owned
            self.stdout.write(
                f"{one.thing}: worth {_usd(owned.value_start_usd)} to {_usd(owned.value_end_usd)}, lost "
                f"{_usd(owned.depreciation_usd)}; factor {owned.recovery_factor:.5f}, recovery "
                f"{_usd(owned.recovery_usd)}, insurance and housing {_usd(owned.insurance_housing_usd)}, "
                f"{_usd(owned.per_h_usd)} an hour."
            )


def _usd(value: Decimal) -> str:
    return usd_text(cents_of(value))
