"""Send the morning sheets that are due, or write those of a day as files."""

import datetime as dt
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from farmops.core import clock, stopping
from farmops.core.problems import DomainError
from farmops.digests.selectors.preview import preview
from farmops.digests.services.heartbeat import clocks_beside
from farmops.digests.services.outbox import SendReport, make_for, send_due
from farmops.digests.services.ticking import tick
from farmops.digests.services.writing import write_sheets
from farmops.farms.models import Farm
from farmops.farms.selectors import farm_by_code


class Command(BaseCommand):
    requires_system_checks: list[
        str
    ] = []  # runs often, and needs none of the pages that the checks would load
    help = (
        "Without options: send what is due on the clocks of the farms, as the worker does. With --farm: that farm's "
        "sheets of a day now, whatever the hour. Nobody gets the same sheet twice, however often this is run."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--farm", metavar="CODE", help="only this farm, at once")
        parser.add_argument(
            "--day", metavar="YYYY-MM-DD", help="the farm's day (today without it); needs --farm"
        )
        parser.add_argument("--out", metavar="DIR", help="write files instead of sending; needs --farm")
        parser.add_argument("--dry-run", action="store_true", help="say who would get one; change nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["farm"] is None and (options["day"] or options["out"]):
            raise CommandError("--day and --out belong to one farm: give --farm CODE too.")
        try:
            with stopping.ends_softly():
                self._run(options)
        except DomainError as error:
            raise CommandError(error.says) from error

    def _run(self, options: dict[str, Any]) -> None:
        now = clock.now()
        farm = farm_by_code(options["farm"]) if options["farm"] else None
        if options["dry_run"]:
            farms = [farm] if farm else list(Farm.objects.order_by("code"))
            for each in farms:
                for line in preview(farm=each, day=self._day(each, options["day"], now)):
                    self.stdout.write(line)
            return
        if farm is None:
            beside = clocks_beside(now=now, machine=clock.machine())
            report = tick(now=now, clocks=beside, by_hand=True)
            self._tell(str(report), report.sent)
            if report.distrusted:
                raise CommandError(report.distrusted)
            return
        day = self._day(farm, options["day"], now)
        if options["out"]:
            for path in write_sheets(farm=farm, day=day, folder=Path(options["out"])):
                self.stdout.write(str(path))
            return
        made = make_for(farm=farm, day=day, now=now)
        self._tell(f"made {made}", send_due(now=now, farm_id=farm.pk, by_hand=True))

    def _day(self, farm: Farm, given: str | None, now: dt.datetime) -> dt.date:
        if given is None:
            return clock.local_date(now, farm.zone)
        try:
            return dt.date.fromisoformat(given)
        except ValueError as error:
            raise CommandError(f"--day must be a date such as 2026-04-20, not {given!r}.") from error

    def _tell(self, made: str, report: SendReport) -> None:
        self.stdout.write(f"{made}, {report}")
        for refusal in report.refusals:
            self.stderr.write(refusal)
        if report.halted:
            raise CommandError(f"The mail server refuses this service: {report.halted}")
