"""Measure what is promised about speed and memory."""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.bench.benches import BENCHES
from farmops.bench.children import MeasurementFailed
from farmops.bench.rows import table


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

    def handle(self, *args: Any, **options: Any) -> None:
        bench = BENCHES[options["name"]]
        lacking = bench.lacking()
        if lacking:
            raise CommandError(
                f"bench {bench.name} compares with {' and '.join(lacking)}, not installed here; "
                "they come with the project's extra named test."
            )
        try:
            report = bench.run(options["small"])
        except MeasurementFailed as error:
            raise CommandError(str(error)) from error
        if options["json"]:
            self.stdout.write(json.dumps(report.to_json(), indent=2, ensure_ascii=False))
        else:
            self.stdout.write(table(report))
        if report.missed:
            named = "; ".join(f"{row.what}, {row.size}: {row.limit}" for row in report.missed)
            raise CommandError(f"Missed: {named}.")
