"""Play the demo: an invented farm's week from the weather to the costs of every field."""

import argparse
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from tqdm import tqdm

from farmops.core.problems import DomainError
from farmops.desk.week_table import dollars
from farmops.tryout.folder import OutFolder
from farmops.tryout.printing import result_lines
from farmops.tryout.run import DEFAULT_OUT, finish, run
from farmops.tryout.scenario import read_scenario

DEFAULT_SECONDS = 8.0


def _seconds(text: str) -> float:
    try:
        number = float(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number") from error
    if not 0 < number <= 600:
        raise argparse.ArgumentTypeError(f"{text} is not above 0 and at most 600")
    return number


class _Bar:
    """Shows the steps, and within a search the best plan so far, where a person looks on."""

    def __init__(self, bar: tqdm) -> None:
        self.bar = bar
        self.name = ""

    def step(self, name: str) -> None:
        self.name = name
        self.bar.set_description_str(name)
        self.bar.update()

    def search(self, cost_cents: int | None, bound_cents: int | None) -> None:
        if cost_cents is not None:
            self.bar.set_description_str(f"{self.name}, best so far {dollars(cost_cents)}")


class Command(BaseCommand):
    help = (
        "Play one week of an invented farm into a folder with a database of its own: ground, windows, week plan, "
        "morning sheets, work, books, costs of every field. The same files come out each time. Exit codes: 0 done, "
        "1 refused, with a sentence."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--out", type=Path, default=DEFAULT_OUT, metavar="DIR", help="folder to write to")
        parser.add_argument(
            "--seconds",
            type=_seconds,
            default=DEFAULT_SECONDS,
            help="about how long each of the two searches takes; counted in rounds, so that the clock decides nothing",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        out = OutFolder(options["out"])
        try:
            scenario = read_scenario()
            steps = 5 + scenario.days
            with tqdm(
                total=steps,
                disable=not sys.stderr.isatty(),
                leave=False,
                bar_format="{n}/{total} {bar:20} {desc}",
            ) as bar:
                outcome = run(scenario=scenario, out=out, seconds=options["seconds"], listener=_Bar(bar))
                lines = result_lines(outcome=outcome, out=out)
                finish(out=out)
        except DomainError as error:
            raise CommandError(error.says) from error
        self.stdout.write("\n".join(lines))
