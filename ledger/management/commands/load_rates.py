"""Load rates and machine cost facts."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.services.rate_files import load_machine_costs, load_rates


class Command(BaseCommand):
    help = (
        "Load rates (--rates, columns kind,subject,unit,usd_per_unit,valid_from and, where wanted, valid_until) and machine cost facts "
        "(--machine-costs) of a farm: all of both files or nothing. Exit codes: 0 loaded, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--rates", metavar="FILE", type=Path)
        parser.add_argument("--machine-costs", metavar="FILE", type=Path)
        parser.add_argument(
            "--corrects", action="store_true", help="other values for a known date are corrections"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now, corrects = clock.now(), options["corrects"]
        said = []
        try:
            farm = farm_by_code(options["farm"])
            with transaction.atomic():
                if options["rates"]:
                    report = load_rates(farm=farm, path=options["rates"], corrects=corrects, now=now)
                    said.append(f"{options['rates'].name}: {report}.")
                if options["machine_costs"]:
                    report = load_machine_costs(
                        farm=farm, path=options["machine_costs"], corrects=corrects, now=now
                    )
                    said.append(f"{options['machine_costs'].name}: {report}.")
        except DomainError as error:
            raise CommandError(error.says) from error
        if not said:
            raise CommandError("Name a file: --rates FILE, --machine-costs FILE or both.")
        self.stdout.write("\n".join(said))
