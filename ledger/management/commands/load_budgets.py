"""Keep the budgets of a file."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.services.budget_files import load_budgets


class Command(BaseCommand):
    help = (
        "Load budgets (columns crop_year,crop,category,usd_per_ac and, where wanted, field) of a farm: all of the file "
        "or nothing. Exit codes: 0 loaded, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--file", metavar="FILE", type=Path, required=True)
        parser.add_argument("--corrects", action="store_true", help="other amounts are corrections")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            new, known = load_budgets(
                farm=farm_by_code(options["farm"]), path=path, corrects=options["corrects"], now=clock.now()
            )
        except DomainError as error:
            raise CommandError(error.says) from error
        self.stdout.write(f"{path.name}: {new} new, {known} known before.")
