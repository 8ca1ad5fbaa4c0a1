"""Write what each field cost into a file."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.costing.money import usd_text
from ledger.exports.field_costs import write_field_costs
from ledger.selectors.pending import waiting_postings
from ledger.selectors.pools import ledger_totals, pool_costs


class Command(BaseCommand):
    help = (
        "Write per-field costs of a crop year as .csv or .xlsx. What did not end on a field of that year is printed "
        "beside it, so that nothing is lost. Exit codes: 0 written, 1 refused and nothing written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--crop-year", metavar="YEAR", type=int, required=True)
        parser.add_argument(
            "--out", metavar="FILE", type=Path, required=True, help="the name ends in .csv or .xlsx"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        year = options["crop_year"]
        try:
            farm = farm_by_code(options["farm"])
            rows = write_field_costs(farm=farm, crop_year=year, path=options["out"])
        except DomainError as error:
            raise CommandError(error.says) from error
        totals = ledger_totals(farm=farm, crop_year=year)
        self.stdout.write(
            f"{options['out']}: {len(rows)} rows, {usd_text(sum(row.cents for row in rows))} dollars on fields."
        )
        if totals.other_seasons_cents:
            self.stdout.write(f"Other crop years: {usd_text(totals.other_seasons_cents)} dollars.")
        for account, cents in totals.by_account:
            if cents:
                self.stdout.write(f"{account.label}: {usd_text(cents)} dollars.")
        for pool in pool_costs(farm=farm):
            self.stdout.write(
                f"  pool of {pool.name}: bills {usd_text(pool.bills_cents)}, "
                f"charged to fields {usd_text(pool.charged_cents)}, left {usd_text(pool.left_cents)}."
            )
        waiting = waiting_postings(farm).count()
        if waiting:
            self.stderr.write(
                f"warning: {waiting} postings wait and are not in this file; post_costs names them."
            )
