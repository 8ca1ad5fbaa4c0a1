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
from ledger.services.bill_rules import AT_ONCE, CURRENCY
from ledger.services.bills import enter_bill

USUAL = {"sales_tax_usd": "0", "shared_by": "", "currency": CURRENCY}
NAMES = uuid.UUID("b6a9f1de-3c0f-5a0e-9d52-6f1f3d3a7c11")


class Command(BaseCommand):
    help = (
        "Enter a bill of a farm; the same command again enters nothing more. With --incident the cost goes where the farm "
        "wants its punctures, with --field and --crop-year to that season, with --machine, --implement or --pump to its "
        "pool, with --shared-by to all fields of its crop year, "
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
        parser.add_argument("--pump", metavar="CODE")
        parser.add_argument("--entity", metavar="CODE", help="in whose name it is")
        parser.add_argument("--sales-tax-usd", metavar="AMOUNT", default="0", help="of the amount")
        parser.add_argument("--shared-by", choices=[one.value for one in AT_ONCE], default="")
        parser.add_argument("--currency", default=CURRENCY)
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
                crop_year=options["crop_year"] if options["field"] else None,
                machine_code=options["machine"],
                implement_code=options["implement"],
                pump_code=options["pump"],
                entity_code=options["entity"],
            )
            key = "|".join(
                str(part) for part in (farm.code, options["on"], options["usd"], *told.values(), target)
            )
            more = [options[name] for name, usual in USUAL.items() if options[name] != usual]
            key += "".join(f"|{one}" for one in more)
            bill, is_new = enter_bill(
                farm=farm,
                client_id=uuid.uuid5(NAMES, key),
                payee=options["payee"],
                number=options["number"],
                bill_on=options["on"],
                amount_usd=options["usd"],
                category=options["category"],
                note=options["note"],
                sales_tax_usd=options["sales_tax_usd"],
                shared_by=options["shared_by"],
                crop_year=None if options["field"] else options["crop_year"],
                currency=options["currency"],
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
