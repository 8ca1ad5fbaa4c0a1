"""Tell when a farm's passes may be worked, and what shuts the rest."""

import datetime as dt
import json
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core.problems import DomainError
from farmops.farms.selectors import farm_by_code
from scheduling.selectors.passes import field_names, open_passes, spoken_key
from scheduling.selectors.windows import pass_windows
from scheduling.windows import LimitsError, PassWindows, WindowsReport
from scheduling.windows.limits import Choice
from scheduling.windows.wording import WEEKDAYS_EN, clock_en, odds_en

MOST_DAYS = 16
FIRST_YEAR, LAST_YEAR = 1900, 2100


class Command(BaseCommand):
    help = (
        "Tell for every pass that is still to be done when its ground, warmth and weather let it be worked, how sure "
        "that is, and which limit shuts the other hours. Exit codes: 0 told, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", required=True, help="the farm's code")
        parser.add_argument(
            "--from", required=True, dest="first_on", metavar="DATE", help="first day, YYYY-MM-DD"
        )
        parser.add_argument("--days", type=int, default=7, help=f"how many days, 1 to {MOST_DAYS}; 7")
        parser.add_argument(
            "--as-of", metavar="DATE", help="weather as known at the end of this day; the day before --from"
        )
        parser.add_argument("--json", action="store_true", help="print the report as windows/1")

    def handle(self, *args: Any, **options: Any) -> None:
        first_on = _date(options["first_on"], "--from")
        as_of = _date(options["as_of"], "--as-of") if options["as_of"] else first_on - dt.timedelta(days=1)
        if not 1 <= options["days"] <= MOST_DAYS:
            raise CommandError(f"--days is {options['days']}; it must be from 1 to {MOST_DAYS}.")
        try:
            farm = farm_by_code(options["farm"])
            report = pass_windows(
                farm=farm,
                passes=list(open_passes(farm=farm)),
                starts_at=dt.datetime.combine(first_on, dt.time(), tzinfo=ZoneInfo(farm.zone)),
                days=options["days"],
                as_of=as_of,
            )
        except DomainError as error:
            raise CommandError(error.says) from error
        except LimitsError as error:
            raise CommandError(str(error)) from error
        if options["json"]:
            self.stdout.write(json.dumps(report.to_json(), indent=2, ensure_ascii=False))
            return
        for note in report.notes:
            self.stdout.write(f"Note: {note}")
        for choice in report.choices:
            self.stdout.write(f"Chosen: {_chosen(choice)}")
        names = field_names(farm=farm)
        for windows in report.passes:
            self.stdout.write(": ".join(filter(None, spoken_key(windows.key, names=names))))
            self._print(report, windows)

    def _print(self, report: WindowsReport, windows: PassWindows) -> None:
        lines = [
            (one.from_min, one.to_min, "open" + ("" if one.chance == 1 else f", {odds_en(one.chance)}"))
            for one in windows.open
        ]
        lines += [(one.from_min, one.to_min, f"shut: {one.says_en}") for one in windows.shut]
        lines += [(one.from_min, one.to_min, f"mind: {one.says_en}") for one in windows.advice]
        for begins, ends, says in _joined(sorted(lines)):
            self.stdout.write(f"  {_moment(report, begins)} to {_moment(report, ends)}  {says}")


def _joined(lines: list[tuple[int, int, str]]) -> list[tuple[int, int, str]]:
    """Join neighbors that read alike: a chance is told in tenths."""
    joined: list[tuple[int, int, str]] = []
    for begins, ends, says in lines:
        if joined and joined[-1][1:] == (begins, says):
            joined[-1] = (joined[-1][0], ends, says)
        else:
            joined.append((begins, ends, says))
    return joined


def _chosen(choice: Choice) -> str:
    """Return a farm's own choice about a limit in words: what, where, by whom, when and on whose word."""
    what = [] if choice.number is None else [f"{choice.number:g}"]
    what += [] if choice.is_used is None else ["used" if choice.is_used else "not used"]
    what += [] if choice.effect is None else [choice.effect.value]
    where = choice.field or "all fields"
    who = f", by {choice.set_by}" if choice.set_by else ""
    return f"{choice.key} on {where}: {' '.join(what)}{who} on {choice.set_at[:10]} ({choice.source})"


def _date(text: str, option: str) -> dt.date:
    try:
        day = dt.date.fromisoformat(text)
    except ValueError as error:
        raise CommandError(f"{option} is {text!r}; give a date such as 2026-04-20.") from error
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise CommandError(f"{option} is {text}; the years told of are {FIRST_YEAR} to {LAST_YEAR}.")
    return day


def _moment(report: WindowsReport, minute: int) -> str:
    instant = report.start.astimezone(dt.UTC) + dt.timedelta(minutes=minute)
    local = instant.astimezone(ZoneInfo(report.zone))
    return f"{WEEKDAYS_EN[local.weekday()][:3]} {local:%b} {local.day} {clock_en(local.time()):>8}"
