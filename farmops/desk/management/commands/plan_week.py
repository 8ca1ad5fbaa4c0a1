"""Plan a farm's week and show it."""

import argparse
import datetime as dt
import json
from collections.abc import Callable
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.interrupts import until_ctrl_c
from farmops.core.problems import DomainError
from farmops.desk.help_lines import help_as_json, help_lines
from farmops.desk.services import plan_week
from farmops.desk.supposing import suppose_week
from farmops.desk.week_table import dollars, week_lines
from farmops.farms.selectors import farm_by_code
from ledger.selectors.prices import missing_rates
from scheduling.models import WeekPlan
from scheduling.selectors.changes import changes_of, plan_before
from scheduling.selectors.plans import left_of_plan
from scheduling.selectors.spoken import said_by_names
from scheduling.services.planning import NoPlan, NothingToPlan, send_plan
from scheduling.services.supposing import SuppositionRefused

FIRST_YEAR, LAST_YEAR = 1900, 2100
MOST_WORKERS = 64


def _day(text: str) -> dt.date:
    try:
        day = dt.date.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date like 2027-04-05") from error
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise argparse.ArgumentTypeError(f"{text} is not in the years {FIRST_YEAR} to {LAST_YEAR}")
    return day


def _workers(text: str) -> int:
    number: int = _above_zero(int)(text)
    if number > MOST_WORKERS:
        raise argparse.ArgumentTypeError(f"{text} threads are more than {MOST_WORKERS}")
    return number


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


ASKED = ("first_on", "days", "seconds", "seed", "rounds", "workers", "as_of", "keep_sent")


class Command(BaseCommand):
    help = (
        "Plan the days from a date on, check the plan, store it and print it as a table. With --keep-sent it also says "
        "what changes of the sent plan, and why. With --suppose nothing is stored: the week is planned as it is, then "
        "again as supposed, and the difference is told in dollars. Ctrl-C ends the search with the best so far. "
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
        parser.add_argument("--workers", type=_workers, default=1)
        parser.add_argument(
            "--as-of", type=_day, help="last day whose observed weather counts (default: today)"
        )
        parser.add_argument("--keep-sent", action="store_true", help="changing the sent plan has a price")
        parser.add_argument("--send", action="store_true", help="mark the plan sent")
        parser.add_argument(
            "--suppose",
            action="append",
            nargs="?",
            const="",
            metavar="WHAT",
            help="hand:+1@thursday, teo:-1@friday, disk:+1=$30/h, outfit:disk:+1 (with tractor and driver), "
            "tractor-1:-1, overtime:+1h@monday, rain@tuesday; "
            "may be given again; without WHAT: what is asked first of all. Each takes as long as the plan",
        )
        parser.add_argument("--json", action="store_true", help="print JSON instead of the table")

    def handle(self, *args: Any, **options: Any) -> None:
        now = clock.now()
        self.on_terminal = self.stderr.isatty()
        if options["suppose"] is not None and options["send"]:
            raise CommandError("--suppose stores nothing, so there is nothing to --send.", returncode=2)
        try:
            with until_ctrl_c(self._stopping) as stop:
                asked: dict[str, Any] = {
                    "farm": farm_by_code(options["farm"]),
                    **{name: options[name] for name in ASKED},
                    "now": now,
                    "progress": self._progress if self.on_terminal else None,
                    "stop": stop,
                }
                if options["suppose"] is not None:
                    told = suppose_week(
                        suppose=options["suppose"], told=self._told if self.on_terminal else None, **asked
                    )
                    lines = (
                        [json.dumps(help_as_json(told), indent=1, ensure_ascii=False)]
                        if options["json"]
                        else help_lines(told)
                    )
                else:
                    plan = plan_week(**asked)
                    plan = send_plan(plan=plan, now=now) if options["send"] else plan
                    lines = (
                        [json.dumps(_as_json(plan), indent=1, ensure_ascii=False)]
                        if options["json"]
                        else week_lines(plan=plan)
                    )
        except SuppositionRefused as error:
            raise CommandError(error.says, returncode=2) from error
        except (NoPlan, NothingToPlan) as error:
            raise CommandError(said_by_names(error.says, farm=asked["farm"]), returncode=1) from error
        except DomainError as error:
            raise CommandError(error.says, returncode=1) from error
        except KeyboardInterrupt as error:
            raise CommandError("Broken off; nothing was stored.", returncode=1) from error
        self._clear()
        for says in missing_rates(farm=asked["farm"], on=options["first_on"]):
            self.stderr.write(f"Counted as 0: {says}")
        self.stdout.write("\n".join(lines))

    def _stopping(self) -> None:
        self._clear()
        self.stderr.write("Ending with the best so far.")

    def _clear(self) -> None:
        if self.on_terminal:
            self.stderr.write("\r\033[K", ending="")

    def _told(self, done: int, of: int, following: str) -> None:
        self._clear()
        if following:
            self.stderr.write(f"Supposing {done + 1} of {of}: {following}")

    def _progress(self, incumbent_cents: int | None, bound_cents: int | None) -> None:
        cost = "no plan yet" if incumbent_cents is None else f"cost {dollars(incumbent_cents)}"
        bound = "" if bound_cents is None else f", at least {dollars(bound_cents)}"
        self.stderr.write(f"\r\033[K{cost}{bound}", ending="")
        self.stderr.flush()


def _as_json(plan: WeekPlan) -> dict[str, Any]:
    before = plan_before(plan=plan) if plan.against_id is not None else None
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
        "against": None if before is None else before.number,
        "changes": None if before is None else changes_of(plan=plan, before=before),
    }
