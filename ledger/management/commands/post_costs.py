"""Post what has no posting yet."""

import dataclasses
import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.services.posting import post_pending


class Command(BaseCommand):
    help = (
        "Post work records, bills and payments that have no posting. What cannot be priced is kept and waits, with "
        "a sentence. Exit codes: 0 done (perhaps with something waiting), 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", help="one farm; all farms where it is left out")
        parser.add_argument("--json", action="store_true", help="print the report as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            farm = farm_by_code(options["farm"]) if options["farm"] else None
            report = post_pending(farm=farm, now=clock.now())
        except DomainError as error:
            raise CommandError(error.says) from error
        if options["json"]:
            self.stdout.write(json.dumps(dataclasses.asdict(report), default=str, indent=2))
            return
        self.stdout.write(f"{report}.")
        for waiting in report.waiting:
            self.stdout.write(
                f"  waits: {waiting.farm}, {waiting.source_kind} of {waiting.happened_on}: {waiting.says}"
            )
