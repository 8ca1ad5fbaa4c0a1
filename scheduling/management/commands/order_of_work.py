"""Read an order of work from a file, or write one out."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from scheduling.models import OrderOfWork
from scheduling.selectors.orders import kept, kept_orders
from scheduling.services.order_files import order_text, read_order, starting_orders
from scheduling.services.order_keeping import add_order, change_order


class Command(BaseCommand):
    help = (
        "Keep the order of work of a file (order-of-work/1) under a code, as a new one or as the next version; else "
        "write it out; without a code list them. Exit codes: 0 done, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "code", nargs="?", help="code of the order of work on the farm, or of one that ships"
        )
        parser.add_argument("--farm", required=True, help="code of the farm")
        parser.add_argument("--file", type=Path, help="read this file")
        parser.add_argument("--out", type=Path, help="write to this file; - writes to the screen")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            farm = farm_by_code(options["farm"])
            code = options["code"]
            if code is None and options["file"] is not None:
                raise CommandError("Name the code under which the order of work of the file is kept.")
            if code is None:
                for one in kept_orders(farm=farm):
                    self.stdout.write(f"{one.code}  {one.order.name}, version {one.version.number}")
                return
            row = OrderOfWork.objects.filter(farm=farm, code=code).first()
            if options["file"] is not None:
                order = read_order(options["file"])
                if row is None:
                    made = add_order(farm=farm, code=code, order=order, made_by=None, now=clock.now())
                else:
                    made = change_order(
                        row=row, order=order, seen=row.newest_no, made_by=None, now=clock.now()
                    )
                self.stdout.write(f"{code}: version {made.version.number}, {len(order.steps)} steps.")
                return
            shipped = starting_orders().get(code)
            if row is None and shipped is None:
                raise CommandError(f"{farm.code} has no order of work {code!r}, and none ships by that name.")
            text = order_text(kept(row).order if row is not None else shipped)  # type: ignore[arg-type]
        except DomainError as error:
            raise CommandError(error.says) from error
        self._write(text, options["out"])

    def _write(self, text: str, out: Path | None) -> None:
        if out is None or str(out) == "-":
            self.stdout.write(text, ending="")
            return
        try:
            out.write_text(text, encoding="utf-8")
        except OSError as error:
            raise CommandError(f"{out}: cannot be written: {error.strerror}.") from error
