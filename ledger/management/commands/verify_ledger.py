"""Walk the books."""

import dataclasses
import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.services.verify import verify_ledger


class Command(BaseCommand):
    help = (
        "Walk the books: numbers, digests, balance, prices, sources, reversals, closed months, stocks, photos of bills. "
        "Exit codes: 0 all whole, 1 a fault, named with its place."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", help="one farm; all farms where it is left out")
        parser.add_argument(
            "--held",
            metavar="DIGEST",
            default="",
            help="a digest noted before, which the books must still hold",
        )
        parser.add_argument("--json", action="store_true", help="print the report as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            farm = farm_by_code(options["farm"]) if options["farm"] else None
            report = verify_ledger(farm=farm, held=options["held"])
        except DomainError as error:
            raise CommandError(error.says) from error
        if options["json"]:
            self.stdout.write(json.dumps(dataclasses.asdict(report), indent=2))
        else:
            for books in report.books:
                head = books.head or "none"
                waits = f", {books.not_posted} sources not posted yet" if books.not_posted else ""
                self.stdout.write(
                    f"{books.farm}: {books.entries} entries, {books.lines} lines, head {head}{waits}"
                )
            for note in report.notes:
                self.stdout.write(f"  note: {note}")
        if not report.is_whole:
            places = "\n".join(f"  {fault}" for fault in report.faults)
            raise CommandError(f"The books are not whole, {len(report.faults)} faults:\n{places}")
