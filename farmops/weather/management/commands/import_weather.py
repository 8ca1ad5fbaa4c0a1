"""Read a weather file into a farm."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from farmops.weather.services.imports import Format, ImportReport, import_weather

PARTLY_DONE = 3


class Command(BaseCommand):
    help = (
        "Read a weather file into a farm. Exit code 0: done (also when all was known already); 1: refused, nothing "
        "written; 2: wrong usage; 3: with --partial, some rows were left out."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--farm", required=True, metavar="CODE")
        parser.add_argument(
            "--format",
            required=True,
            choices=[str(format) for format in Format],
            help="daily-csv has the columns date,temp_min_c,temp_max_c,rain_mm and, where known, solar_mj_m2,wind_m_s,"
            "humidity_min_pct,humidity_max_pct; the others are the public ones",
        )
        parser.add_argument(
            "--station", metavar="CODE", help="the station to take, or to call a daily-csv by"
        )
        parser.add_argument("--partial", action="store_true", help="keep the rest when rows cannot stand")
        parser.add_argument("--dry-run", action="store_true", help="say what would happen; write nothing")
        parser.add_argument(
            "--units-are-right",
            action="store_true",
            help="take a column that looks like another unit as it is",
        )
        parser.add_argument(
            "--latitude",
            type=float,
            metavar="DEG",
            help="where the station stands, when the file does not say",
        )
        parser.add_argument("--longitude", type=float, metavar="DEG", help="west is negative")
        parser.add_argument(
            "--far-station", action="store_true", help="a station more than 400 km from the farm is meant"
        )
        parser.add_argument("--json", action="store_true", help="report as JSON on standard output")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            farm = farm_by_code(options["farm"])
            report = import_weather(
                farm=farm,
                format=options["format"],
                path=options["file"],
                station=options["station"],
                partial=options["partial"],
                dry_run=options["dry_run"],
                units_are_right=options["units_are_right"],
                latitude_deg=options["latitude"],
                longitude_deg=options["longitude"],
                far_station=options["far_station"],
                today=clock.local_date(clock.now(), farm.zone),
            )
        except DomainError as error:
            raise CommandError(error.says) from error
        if options["json"]:
            self.stdout.write(json.dumps(report.to_json(), indent=2, sort_keys=True, ensure_ascii=False))
        else:
            self.stdout.write(in_words(report))
        if report.refused:
            named = "\n".join(f"  {row}" for row in report.refused)
            count = "1 row" if len(report.refused) == 1 else f"{len(report.refused)} rows"
            raise CommandError(f"Left out of {report.file}, {count}:\n{named}", returncode=PARTLY_DONE)


def in_words(report: ImportReport) -> str:
    """Return the report as lines for a person."""
    thing = "hours" if report.issued_at is not None else "days"
    lines = [
        f"{report.file}: {report.source}, {report.first} to {report.last}"
        + (f", issued {report.issued_at:%Y-%m-%d %H:%M} UTC" if report.issued_at is not None else ""),
        f"  {report.new} {thing} new, {report.completed} completed, {report.replaced} made ones now read, "
        f"{report.same} known already; {report.filled} made from neighbors; {report.new_rain_mm:.1f} mm new rain",
        *(f"  {note}" for note in report.notes),
    ]
    if report.is_dry_run:
        lines.append("  Dry run: nothing was written.")
    return "\n".join(lines)
