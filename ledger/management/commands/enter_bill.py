"""Enter one bill, a credit, or a tire shop's bill that finds its puncture."""

import datetime as dt
import uuid
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from ledger.costing.money import usd_text
from ledger.selectors.categories import category_book
from ledger.selectors.targets import bill_target
from ledger.services.bills import enter_bill

NAMES = uuid.UUID("b6a9f1de-3c0f-5a0e-9d52-6f1f3d3a7c11")


class Command(BaseCommand):
    help = (
        "Enter a bill of a farm; the same command again enters nothing more. With --incident the cost goes where the farm "
        "wants its punctures, with --field and --crop-year to that season, with --machine or --implement to its pool, "
        "else to the farm. Exit codes: 0 entered or known, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", metavar="CODE", required=True)
        parser.add_argument("--payee", required=True)
        parser.add_argument("--number", default="", help="of the invoice")
        parser.add_argument("--on", metavar="DATE", type=dt.date.fromisoformat, required=True)
        parser.add_argument(
            "--usd", metavar="AMOUNT", required=True, help="dollars and cents; below 0: a credit"
        )
        parser.add_argument(
            "--category", required=True, help="as the farm keeps them: seed, repairs, land_rent ..."
        )
        parser.add_argument(
            "--incident", metavar="ID", type=int, help="of the puncture or breakage it is for"
        )
        parser.add_argument("--field", metavar="CODE")
        parser.add_argument("--crop-year", metavar="YEAR", type=int)
        parser.add_argument("--machine", metavar="CODE")
        parser.add_argument("--implement", metavar="CODE")
        parser.add_argument("--paid-on", metavar="DATE", type=dt.date.fromisoformat)
        parser.add_argument("--check-no", default="")
        parser.add_argument("--note", default="")

    def handle(self, *args: Any, **options: Any) -> None:
        told = {key: options[key] for key in ("payee", "number", "category", "incident", "note")}
        try:
            farm = farm_by_code(options["farm"])
            target = bill_target(
                farm=farm,
                incident_id=options["incident"],
                field_code=options["field"],
                crop_year=options["crop_year"],
                machine_code=options["machine"],
                implement_code=options["implement"],
            )
            key = "|".join(
                str(part) for part in (farm.code, options["on"], options["usd"], *told.values(), target)
            )
            bill, is_new = enter_bill(
                farm=farm,
                client_id=uuid.uuid5(NAMES, key),
                payee=options["payee"],
                number=options["number"],
                bill_on=options["on"],
                amount_usd=options["usd"],
                category=options["category"],
                note=options["note"],
                paid_on=options["paid_on"],
                check_no=options["check_no"],
                now=clock.now(),
                **target,
            )
        except DomainError as error:
            raise CommandError(error.says) from error
        kept = "entered" if is_new else "known already, nothing entered"
        says = category_book(farm=farm).label(bill.category)
        self.stdout.write(
            f"{bill.payee.name}, {bill.bill_on}: {usd_text(bill.cents)} dollars, {says}: {kept}."
        )
