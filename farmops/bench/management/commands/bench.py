"""Measure what is promised about speed and memory."""

import json
import math
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.bench.benches import BENCHES
from farmops.bench.children import MeasurementFailed
from farmops.bench.rows import BadChoice, Choices, table


class Command(BaseCommand):
    help = (
        "Run a bench and print its table: "
        + "; ".join(f"{bench.name} ({bench.says})" for bench in BENCHES.values())
        + ". No database is needed. Exit codes: 0 every limit met, 1 a limit missed or the bench could not run, "
        "2 wrong usage."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", choices=sorted(BENCHES), metavar="NAME", help=", ".join(sorted(BENCHES)))
        parser.add_argument("--json", action="store_true", help="print the report as bench/1")
        parser.add_argument(
            "--small", action="store_true", help="small sizes, in a moment; limits are not judged on them"
        )
        parser.add_argument(
            "--only",
            nargs="+",
            default=[],
            metavar="PART",
            help="run some parts only: "
            + "; ".join(
                f"{bench.name}: {', '.join(bench.parts)}" for bench in BENCHES.values() if bench.parts
            ),
        )
        parser.add_argument(
            "--seconds", nargs="+", default=[], metavar="N", help="measure at these limits of time only"
        )
        parser.add_argument(
            "--keep-best",
            metavar="MINUTES",
            help="look so long for better plans in each part, in place of measuring, and keep their cost in "
            "fixtures/bench",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        bench = BENCHES[options["name"]]
        lacking = bench.lacking()
        if lacking:
            raise CommandError(
                f"bench {bench.name} compares with {' and '.join(lacking)}, not installed here; "
                "they come with the project's extra named test."
            )
        choices = Choices(
            is_small=options["small"],
            only=tuple(options["only"]),
            seconds=tuple(_whole(text) for text in options["seconds"]),
            keep_best_minutes=None if options["keep_best"] is None else _minutes(options["keep_best"]),
            told=self._tell,
        )
        try:
            bench.judge(choices)
            report = bench.run(choices)
        except BadChoice as error:
            raise CommandError(str(error), returncode=2) from error
        except MeasurementFailed as error:
            raise CommandError(str(error)) from error
        if options["json"]:
            self.stdout.write(json.dumps(report.to_json(), indent=2, ensure_ascii=False))
        else:
            self.stdout.write(table(report))
        if report.missed:
            named = "; ".join(f"{row.what}, {row.size}: {row.limit}" for row in report.missed)
            raise CommandError(f"Missed: {named}.")

    def _tell(self, says: str) -> None:
        if self.stderr.isatty():
            self.stderr.write(f"{says} ...")


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 0 < int(text) <= 3600):
        raise CommandError(f"--seconds must be whole numbers from 1 to 3600, not {text}.", returncode=2)
    return int(text)


def _minutes(text: str) -> float:
    try:
        minutes = float(text)
    except ValueError:
        minutes = math.nan
    if not 0 < minutes <= 1440:
        raise CommandError(f"--keep-best must be minutes above 0, at most 1440, not {text}.", returncode=2)
    return minutes
