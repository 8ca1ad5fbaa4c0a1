"""What `solve` tells of its plan besides the plan: the reasons, and the changes against an older plan."""

import os
from argparse import ArgumentParser
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any, TypeVar

from django.core.management.base import CommandError

from scheduling.solver import Plan, Problem, ProblemError, read_plan, read_problem
from scheduling.solver.choices import PlanMismatchError
from scheduling.solver.compare import compare
from scheduling.solver.compare import to_json as changes_to_json
from scheduling.solver.plan import write_json
from scheduling.solver.reasons import explain
from scheduling.solver.reasons import to_json as reasons_to_json
from scheduling.solver.reports import changes_text, reasons_text
from scheduling.solver.telling import Teller

T = TypeVar("T")


def place_for(text: str, option: str = "--out", inputs: Iterable[str] = ()) -> Path:
    """Return where a file can be written; CommandError where it cannot, or where it would go over an input."""
    out, real = Path(text), Path(os.path.realpath(text))
    try:
        if out.is_dir():
            raise CommandError(f"{out} is a folder; {option} names a file.", returncode=2)
        if any(real == Path(os.path.realpath(name)) for name in inputs):
            says = f"{out} is read here; {option} must name another file."
            raise CommandError(says, returncode=2)
        if not out.exists() or out.is_file():
            if not real.parent.is_dir():
                says = f"{out} cannot be written: there is no such folder to write in."
                raise CommandError(says, returncode=2)
            # Told now, not after the whole search.
            TemporaryFile(dir=real.parent).close()
    except OSError as error:
        raise CommandError(f"{out} cannot be written: {error.strerror or error}.", returncode=2) from error
    return out


def read_or_refuse(read: Callable[[str], T], path: str, named: str = "") -> T:
    """Return what a file holds; CommandError, beginning with `named`, for one that is wrong or cannot be read."""
    try:
        return read(path)
    except ProblemError as error:
        raise CommandError(f"{named}{error}", returncode=2) from error
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror or error}.", returncode=2) from error


def write_or_refuse(write: Callable[[Path], None], out: Path) -> None:
    """Write a file; CommandError where that fails."""
    try:
        write(out)
    except OSError as error:
        raise CommandError(f"{out} cannot be written: {error.strerror or error}.", returncode=2) from error


class Telling:
    """The options `--explain`, `--was` and `--changes`: judged before the planning, told after it."""

    @staticmethod
    def add_arguments(parser: ArgumentParser) -> None:
        parser.add_argument(
            "--explain",
            nargs="?",
            const="",
            metavar="REASONS.json",
            help="tell why each task starts when it does, its next best choice, and why others are left; "
            "with a name, into that file",
        )
        parser.add_argument(
            "--was",
            nargs=2,
            metavar=("OLD_PROBLEM.json", "OLD_PLAN.json"),
            help="tell what the new plan changes of an old one: what had to change, what the rest saves",
        )
        parser.add_argument("--changes", metavar="CHANGES.json", help="write what --was tells into that file")

    def __init__(self, options: Mapping[str, Any], out: Path) -> None:
        self.explains = options["explain"] is not None
        inputs = [options["problem"], *(options["was"] or ())]
        self.reasons = place_for(options["explain"], "--explain", inputs) if options["explain"] else None
        self.changes = place_for(options["changes"], "--changes", inputs) if options["changes"] else None
        places = [os.path.realpath(place) for place in (out, self.reasons, self.changes) if place is not None]
        if len(set(places)) < len(places):
            raise CommandError("--out, --explain and --changes must name different files.", returncode=2)
        self.old: tuple[Problem, Plan] | None = None
        if options["was"] is None:
            if self.changes is not None:
                raise CommandError("--changes needs --was, which names the older plan.", returncode=2)
            return
        problem, plan = options["was"]
        self.old = (
            read_or_refuse(read_problem, problem, f"{problem}: "),
            read_or_refuse(read_plan, plan, f"{plan}: "),
        )
        strangers = [task.id for task in self.old[1].tasks if task.id not in self.old[0].task_of]
        if strangers:
            says = f"{plan} has the task {strangers[0]}, which {problem} has not."
            raise CommandError(says, returncode=2)

    def tell(self, problem: Problem, plan: Plan, write: Callable[[str], object]) -> None:
        """Write the files that were asked for, and tell the rest."""
        teller = Teller(problem)
        try:
            if self.explains:
                reasons = explain(problem, plan)
                if self.reasons is None:
                    write(reasons_text(problem, plan, reasons, teller))
                else:
                    found = reasons_to_json(reasons)
                    write_or_refuse(lambda place: write_json(found, place), self.reasons)
            if self.old is not None:
                comparison = compare(*self.old, problem, plan)
                if self.changes is None:
                    write(changes_text(comparison, teller))
                else:
                    changed = changes_to_json(comparison)
                    write_or_refuse(lambda place: write_json(changed, place), self.changes)
        except PlanMismatchError as error:
            raise CommandError(str(error), returncode=2) from error
