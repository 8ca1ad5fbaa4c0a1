"""Lay out a farm's orders of work from a file."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from scheduling.services.orders import load_orders


class Command(BaseCommand):
    help = (
        "Lay out orders of work from an orders.json as passes, all or none; the same file again changes nothing. "
        "Exit codes: 0 laid out, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--farm", required=True, help="code of the farm")
        parser.add_argument("--json", action="store_true", help="print the report as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            farm = farm_by_code(options["farm"])
            report = load_orders(farm=farm, path=options["file"], now=clock.now())
        except DomainError as error:
            raise CommandError(error.says) from error
        if options["json"]:
            self.stdout.write(json.dumps(asdict(report)))
            return
        self.stdout.write(
            f"{report.seasons} seasons, {report.passes} passes, {report.waiting} of them waiting; "
            f"{report.records_added} records of earlier work added."
        )
