"""Write the journal of a farm, or its general ledger over some days, into a file."""

import datetime as dt
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.exports.csv_forms import csv_form
from ledger.exports.general_ledger import export_general_ledger
from ledger.exports.journal_csv import export_journal


class Command(BaseCommand):
    help = (
        "Write every entry of a farm as .csv, in the form that import_journal reads, with a manifest beside it that holds "
        "the digest of the last entry. With --general-ledger instead every account over some days. Exit codes: 0 "
        "written, 1 refused and nothing written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--out", metavar="FILE", type=Path, required=True)
        parser.add_argument(
            "--general-ledger", action="store_true", help="accounts with balances; --from, --to"
        )
        parser.add_argument("--from", metavar="DATE", type=dt.date.fromisoformat, dest="first")
        parser.add_argument("--to", metavar="DATE", type=dt.date.fromisoformat, dest="last")
        parser.add_argument(
            "--spreadsheet", action="store_true", help="of the general ledger: byte order mark"
        )
        parser.add_argument("--semicolon", action="store_true", help="and semicolons with decimal commas")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            farm = farm_by_code(options["farm"])
            if options["general_ledger"]:
                if options["first"] is None or options["last"] is None:
                    raise CommandError("The general ledger needs its days: give --from and --to.")
                facts = export_general_ledger(
                    farm=farm,
                    first=options["first"],
                    last=options["last"],
                    path=options["out"],
                    form=csv_form(for_spreadsheet=options["spreadsheet"], semicolon=options["semicolon"]),
                )
            else:
                facts = export_journal(farm=farm, path=options["out"])
        except DomainError as error:
            raise CommandError(error.says) from error
        head = facts.head
        self.stdout.write(
            f"{options['out']}: {facts.row_count} rows through entry {head.number}, head {head.digest or 'none'}."
        )
