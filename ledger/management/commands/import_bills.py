"""Enter the bills of a CSV file."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.services.bill_files import EXTRAS, NEEDED, import_bills


class Command(BaseCommand):
    help = (
        f"Enter the bills of a CSV file (columns {','.join(NEEDED)}; where wanted {','.join(EXTRAS)}): all of it or "
        "nothing. With --partial, bills that are refused are named and the others entered. The same file again enters "
        "nothing more. Exit codes: 0 all entered or known, 1 refused, also where some were."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--partial", action="store_true", help="enter what is right, name what is not")

    def handle(self, *args: Any, **options: Any) -> None:
        path = options["file"]
        try:
            farm = farm_by_code(options["farm"])
            report = import_bills(farm=farm, path=path, partial=options["partial"], now=clock.now())
        except DomainError as error:
            raise CommandError(error.says) from error
        self.stdout.write(f"{path.name}: {report}.")
        if report.refused:
            raise CommandError("\n".join(report.refused))
