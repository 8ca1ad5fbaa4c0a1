"""Keep a map from categories to the lines of a form as a farm's own."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.services.maps import load_map


class Command(BaseCommand):
    help = (
        "Keep a map from categories to the lines of a form, from a .csv with the columns category, line and label: for "
        "the form of a year and the years after. A map with the code schedule_f stands over the one that ships. Exit "
        "codes: 0 kept, 1 refused and nothing kept."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--code", metavar="CODE", required=True, help="of the map")
        parser.add_argument("--name", metavar="NAME", required=True, help="of the form")
        parser.add_argument("--form-year", metavar="YEAR", type=int, required=True)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            done = load_map(
                farm=farm_by_code(options["farm"]),
                path=options["file"],
                code=options["code"],
                name=options["name"],
                form_year=options["form_year"],
            )
        except DomainError as error:
            raise CommandError(error.says) from error
        what = "kept" if done.is_new else "kept in the place of the one before"
        self.stdout.write(f"{done.map}: {done.line_count} categories, {what}.")
