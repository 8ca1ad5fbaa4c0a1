"""Load a farm from a folder."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.problems import DomainError
from farmops.farms.services.loading import load_farm


class Command(BaseCommand):
    help = (
        "Load a farm from DIR/farm.json and DIR/fields.geojson: all of it or nothing. Loading the same files again "
        "changes nothing. Exit codes: 0 loaded (perhaps with warnings), 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "folder", metavar="DIR", type=Path, help="folder with farm.json and fields.geojson"
        )
        parser.add_argument("--json", action="store_true", help="print the report as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            report = load_farm(folder=options["folder"])
        except DomainError as error:
            raise CommandError(error.says) from error
        if options["json"]:
            self.stdout.write(json.dumps(report.to_json(), indent=2))
            return
        for warning in report.warnings:
            self.stderr.write(f"warning: {warning}")
        counts = ", ".join(f"{count} {name}" for name, count in report.counts.items())
        self.stdout.write(
            f"{report.farm.name} ({report.farm.code}): {counts}. "
            f"{report.added} rows added, {report.changed} changed."
        )
