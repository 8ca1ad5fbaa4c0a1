"""Plan a farm's week and show it."""

import argparse
import datetime as dt
import json
import sys
from collections.abc import Callable
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.desk.services import plan_week
from farmops.desk.week_table import dollars, week_lines
from farmops.farms.selectors import farm_by_code
from ledger.selectors.prices import missing_rates
from scheduling.models import WeekPlan
from scheduling.selectors.plans import left_of_plan
from scheduling.services.planning import send_plan


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date like 2027-04-05") from error


def _above_zero(kind: Callable[[str], Any]) -> Callable[[str], Any]:
    def read(text: str) -> Any:
        try:
            number = kind(text)
        except ValueError as error:
            raise argparse.ArgumentTypeError(f"{text!r} is not a number") from error
        if not 0 < number < 1_000_000:
            raise argparse.ArgumentTypeError(f"{text} is not between 0 and a million")
        return number

    return read


class Command(BaseCommand):
    help = (
        "Plan the days from a date on, check the plan, store it and print it as a table. "
        "Exit code 0: a plan; 1: no plan, with the reason; 2: not understood."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", required=True, help="code of the farm")
        parser.add_argument(
            "--from", dest="first_on", type=_day, required=True, help="first day, like 2027-04-05"
        )
        parser.add_argument("--days", type=_above_zero(int), default=7)
        parser.add_argument("--seconds", type=_above_zero(float), default=10, help="time for the search")
        parser.add_argument("--seed", type=_above_zero(int), default=1)
        parser.add_argument(
            "--rounds", type=_above_zero(int), help="let rounds decide, not time: reproducible"
        )
        parser.add_argument("--workers", type=_above_zero(int), default=1)
        parser.add_argument(
            "--as-of", type=_day, help="last day whose observed weather counts (default: today)"
        )
        parser.add_argument("--keep-sent", action="store_true", help="changing the sent plan has a price")
        parser.add_argument("--send", action="store_true", help="mark the plan sent")
        parser.add_argument("--json", action="store_true", help="print JSON instead of the table")

    def handle(self, *args: Any, **options: Any) -> None:
        now = clock.now()
        try:
            plan = plan_week(
                farm=farm_by_code(options["farm"]),
                first_on=options["first_on"],
                days=options["days"],
                seconds=options["seconds"],
                seed=options["seed"],
                rounds=options["rounds"],
                workers=options["workers"],
                now=now,
                as_of=options["as_of"],
                keep_sent=options["keep_sent"],
                progress=self._progress if sys.stderr.isatty() else None,
            )
            if sys.stderr.isatty():
                self.stderr.write("")
            if options["send"]:
                plan = send_plan(plan=plan, now=now)
        except DomainError as error:
            raise CommandError(error.says, returncode=1) from error
        for says in missing_rates(farm=plan.farm, on=options["first_on"]):
            self.stderr.write(f"Counted as 0: {says}")
        if options["json"]:
            self.stdout.write(json.dumps(_as_json(plan), indent=1, ensure_ascii=False))
        else:
            self.stdout.write("\n".join(week_lines(plan=plan)))

    def _progress(self, incumbent_cents: int | None, bound_cents: int | None) -> None:
        cost = "no plan yet" if incumbent_cents is None else f"cost {dollars(incumbent_cents)}"
        bound = "" if bound_cents is None else f", at least {dollars(bound_cents)}"
        self.stderr.write(f"\r\033[K{cost}{bound}", ending="")
        self.stderr.flush()


def _as_json(plan: WeekPlan) -> dict[str, Any]:
    return {
        "farm": plan.farm.code,
        "number": plan.number,
        "state": plan.state,
        "problem_hash": plan.problem_hash,
        "seed": plan.seed,
        "limits": plan.limits,
        "start": plan.problem["start"],
        "plan": plan.plan,
        "left": [{"pass": key, "why": why} for key, why in left_of_plan(plan=plan)],
    }
