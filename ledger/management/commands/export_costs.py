"""Write what each field cost, or every line of a year, into a file with its manifest."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from farmops.farms.selectors import farm_by_code
from ledger.costing.money import usd_text
from ledger.exports.about import write_manifest
from ledger.exports.budget_tables import write_break_even, write_budgets
from ledger.exports.csv_forms import csv_form
from ledger.exports.cut_costs import write_cut_costs
from ledger.exports.field_costs import about_rows, write_field_costs
from ledger.exports.ledger_files import write_lines
from ledger.exports.statement import field_named, write_statement
from ledger.selectors.cost_cells import Dimension, dimensions
from ledger.selectors.pending import waiting_postings
from ledger.selectors.pools import ledger_totals, pool_costs

BUDGETS = {"budgets": write_budgets, "break-even": write_break_even}


class Command(BaseCommand):
    help = (
        "Write per-field costs of a crop year, costs cut by field, crop, operation, category, machine or month, or every "
        "line of a calendar year, budgets beside actual, break-even prices and yields, as .csv or .xlsx, or the statement of a field as .pdf, with a manifest beside it: rows, sum, SHA-256 and the head of the "
        "chain. What did not end on a field of that year is printed, so that nothing is lost. "
        "Exit codes: 0 written, 1 refused and nothing written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument(
            "--what", choices=("costs", "budgets", "break-even", "lines", "statement"), default="costs"
        )
        parser.add_argument("--crop-year", metavar="YEAR", type=int, help="of all but lines")
        parser.add_argument("--field", metavar="CODE", help="whose statement, as .pdf")
        parser.add_argument("--year", metavar="YEAR", type=int, help="of lines: the year they are booked in")
        parser.add_argument(
            "--by",
            metavar="WHAT[,WHAT]",
            default="",
            help=f"cut costs by {', '.join(Dimension)}; without it by season and category, with quantities",
        )
        parser.add_argument("--spreadsheet", action="store_true", help="CSV that opens by a double click")
        parser.add_argument(
            "--semicolon", action="store_true", help="with it: semicolons and a comma before decimals"
        )
        parser.add_argument(
            "--out",
            metavar="FILE",
            type=Path,
            required=True,
            help="the name ends in .csv or .xlsx, of a statement in .pdf",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        lines = options["what"] == "lines"
        year = options["year"] if lines else options["crop_year"]
        if year is None:
            raise CommandError(f"Give --{'year' if lines else 'crop-year'}: which year's {options['what']}.")
        if options["what"] == "statement" and not options["field"]:
            raise CommandError("Give --field: whose statement.")
        if options["semicolon"] and not options["spreadsheet"]:
            raise CommandError("--semicolon goes with --spreadsheet; the plain file has commas and points.")
        try:
            farm = farm_by_code(options["farm"])
            says = self._written(farm, year, options)
        except DomainError as error:
            raise CommandError(error.says) from error
        self.stdout.write(f"{options['out']}: {says}")
        if options["what"] == "costs":
            self._rest(farm, year)
        waiting = waiting_postings(farm).count()
        if waiting:
            self.stderr.write(
                f"warning: {waiting} postings wait and are not in this file; post_costs names them."
            )

    def _written(self, farm: Farm, year: int, options: dict[str, Any]) -> str:
        path: Path = options["out"]
        form = csv_form(for_spreadsheet=options["spreadsheet"], semicolon=options["semicolon"])
        if options["what"] == "lines":
            facts = write_lines(farm=farm, year=year, path=path, form=form)
            says = f"{facts.row_count} lines booked in {year}, together {facts.sum_usd} dollars."
        elif options["what"] == "statement":
            field = field_named(farm=farm, code=options["field"])
            facts = write_statement(farm=farm, field=field, crop_year=year, path=path)
            says = f"{facts.row_count} lines, {facts.sum_usd} dollars on {field.name}."
        elif options["what"] in BUDGETS:
            facts = BUDGETS[options["what"]](farm=farm, crop_year=year, path=path, form=form)
            says = f"{facts.row_count} rows, {facts.sum_usd} dollars on fields."
        elif options["by"]:
            by = dimensions(options["by"].split(","))
            table, facts = write_cut_costs(farm=farm, crop_year=year, by=by, path=path, form=form)
            says = f"{len(table.rows)} rows, {usd_text(table.total.cents)} dollars on fields."
        else:
            rows = write_field_costs(farm=farm, crop_year=year, path=path, form=form)
            facts = about_rows(farm=farm, crop_year=year, rows=rows)
            says = f"{len(rows)} rows, {usd_text(sum(row.cents for row in rows))} dollars on fields."
        write_manifest(path=path, facts=facts)
        return says

    def _rest(self, farm: Farm, crop_year: int) -> None:
        totals = ledger_totals(farm=farm, crop_year=crop_year)
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
