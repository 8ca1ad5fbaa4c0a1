"""Choose how a farm counts the use of its stocks and its fuel in a year."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.models import FuelBy, StockCost
from ledger.services.books import choose_year


class Command(BaseCommand):
    help = (
        "Choose for a calendar year, once: inputs and fuel in stock at the average of what is there or at what that "
        "lot was bought at; fuel by an average hour of the machine or by what was filled up. "
        "Exit codes: 0 chosen, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--year", metavar="YEAR", type=int, required=True)
        parser.add_argument("--stock-cost", metavar="average|actual", default=StockCost.AVERAGE.value)
        parser.add_argument("--fuel-by", metavar="average_hour|fill_ups", default=FuelBy.AVERAGE_HOUR.value)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            choice, is_new = choose_year(
                farm=farm_by_code(options["farm"]),
                year=options["year"],
                stock_cost=options["stock_cost"],
                fuel_by=options["fuel_by"],
                now=clock.now(),
            )
        except DomainError as error:
            raise CommandError(error.says) from error
        known = "" if is_new else " (chosen before)"
        self.stdout.write(
            f"{choice.calendar_year}: stocks at {choice.get_stock_cost_display()}; "
            f"fuel by {choice.get_fuel_by_display()}{known}."
        )
