"""Write what a farm paid in a year by the lines of Schedule F, or of another form, for the preparer."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.costing.money import usd_text
from ledger.exports.csv_forms import csv_form
from ledger.exports.schedule_f import export_form
from ledger.selectors.form_lines import NOT_ADVICE, form_rows, form_totals
from ledger.selectors.form_maps import SCHEDULE_F


class Command(BaseCommand):
    help = (
        "Write what was paid in a calendar year, bill by bill, by the lines of Schedule F (Form 1040) as .csv, with a "
        "manifest beside it: not tax advice. Only payments of bills reach it. What is on no line stands at the end. Exit "
        "codes: 0 written, 1 refused and nothing written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--year", metavar="YEAR", type=int, required=True, help="in which it was paid")
        parser.add_argument("--form-year", metavar="YEAR", type=int, help="of the form; default: that year")
        parser.add_argument("--map", metavar="CODE", default=SCHEDULE_F, help="another form, see load_map")
        parser.add_argument("--out", metavar="FILE", type=Path, required=True)
        parser.add_argument("--spreadsheet", action="store_true", help="for a spreadsheet: byte order mark")
        parser.add_argument("--semicolon", action="store_true", help="and semicolons with decimal commas")

    def handle(self, *args: Any, **options: Any) -> None:
        asked = {"tax_year": options["year"], "map_code": options["map"], "form_year": options["form_year"]}
        form = csv_form(for_spreadsheet=options["spreadsheet"], semicolon=options["semicolon"])
        try:
            farm = farm_by_code(options["farm"])
            facts = export_form(farm=farm, path=options["out"], form=form, **asked)
            totals = form_totals(form_rows(farm=farm, **asked))
        except DomainError as error:
            raise CommandError(error.says) from error
        for one in totals:
            at = f"line {one.line}" if one.line else "no line"
            of = f" ({one.entity})" if one.entity else ""
            self.stdout.write(f"{at}, {one.label}{of}: {usd_text(one.cents)} dollars, {one.row_count} rows.")
        self.stdout.write(
            f"{options['out']}: {facts.row_count} rows, {facts.sum_usd} dollars paid in {options['year']}; {NOT_ADVICE}."
        )
