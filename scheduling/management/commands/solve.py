"""Plan a problem from a file into a file, without a database."""

import math
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.interrupts import until_ctrl_c
from scheduling.management.telling import Telling, place_for, read_or_refuse, write_or_refuse
from scheduling.solver import Plan, SolverFault, read_problem, solve, write_plan
from scheduling.solver.values import printable


class Command(BaseCommand):
    help = (
        "Plan a planning-problem/1 file and write the week-plan/1 file. "
        "Ctrl-C ends the search with the best so far. Exit codes: 0 a plan, 1 no plan keeps every rule (the file says which clash), 2 wrong usage or problem, "
        "3 a fault of this program."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("problem", metavar="PROBLEM.json", help="the problem's file")
        parser.add_argument("--seconds", required=True, metavar="N", help="time limit, above 0")
        parser.add_argument("--out", required=True, metavar="PLAN.json", help="the plan's file")
        parser.add_argument("--seed", default="1", metavar="S", help="seed of the search; 1")
        parser.add_argument("--workers", default="1", metavar="W", help="threads that search and prove; 1")
        parser.add_argument(
            "--rounds",
            metavar="R",
            help="do so many rounds whatever the clock says: the same plan on each run",
        )
        Telling.add_arguments(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        seconds = _seconds(options["seconds"])
        seed = _whole(options["seed"], "--seed", 0, 2**31 - 1)
        workers = _whole(options["workers"], "--workers", 1, 64)
        rounds = None if options["rounds"] is None else _whole(options["rounds"], "--rounds", 1, 10**9)
        out = place_for(options["out"], inputs=[options["problem"], *(options["was"] or ())])
        telling = Telling(options, out)
        problem = read_or_refuse(read_problem, options["problem"])
        on_terminal = self.stderr.isatty()
        try:
            with until_ctrl_c(self._ending) as stop:
                plan = solve(
                    problem,
                    seconds=seconds,
                    seed=seed,
                    workers=workers,
                    rounds=rounds,
                    progress=self._tell if on_terminal else None,
                    stop=stop,
                )
        except SolverFault as error:
            says = f"A fault of this program, no plan is written: {printable(str(error))}"
            raise CommandError(says, returncode=3) from error
        except KeyboardInterrupt as error:
            raise CommandError("Broken off; no plan is written.", returncode=1) from error
        if on_terminal:
            self.stderr.write("\r\033[K", ending="")
        write_or_refuse(lambda place: write_plan(plan, place), out)
        if plan.status == "none":
            told = [printable(clash.says) for clash in plan.why]
            if plan.is_proved_impossible:
                told = ["No plan keeps every rule. These clash:", *(f"- {says}" for says in told)]
            raise CommandError("\n".join(told), returncode=1)
        self.stdout.write(_summary(plan, out))
        telling.tell(problem, plan, self.stdout.write)

    def _ending(self) -> None:
        self.stderr.write("Ending with the best so far.")

    def _tell(self, incumbent_cents: int | None, bound_cents: int | None) -> None:
        cost = "no plan yet" if incumbent_cents is None else f"cost {_dollars(incumbent_cents)}"
        bound = "" if bound_cents is None else f", at least {_dollars(bound_cents)}"
        self.stderr.write(f"\r\033[K{cost}{bound}", ending="")
        self.stderr.flush()


def _summary(plan: Plan, out: Path) -> str:
    assert plan.cost is not None
    assert plan.bound is not None
    sure = (
        "proved cheapest" if plan.status == "best" else f"no plan can cost less than {_dollars(plan.bound)}"
    )
    return f"{len(plan.tasks)} tasks planned, {len(plan.left)} left; cost {_dollars(plan.cost)}, {sure}. Written to {printable(str(out))}."


def _dollars(cents: int) -> str:
    return f"{'-' if cents < 0 else ''}${abs(cents) // 100:,}.{abs(cents) % 100:02d}"


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not 0 < seconds <= 1_000_000:
        raise CommandError(f"--seconds must be a number above 0, not {text}.", returncode=2)
    return seconds


def _whole(text: str, name: str, least: int, most: int) -> int:
    try:
        number = int(text)
    except ValueError:
        number = least - 1
    if not least <= number <= most:
        raise CommandError(f"{name} must be a whole number from {least} to {most}, not {text}.", returncode=2)
    return number
