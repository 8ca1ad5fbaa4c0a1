"""The demo from an empty folder to the costs of every field: one function, the same files every time."""

import csv
import datetime as dt
import json
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.hashers import make_password

from farmops.core.models import User
from farmops.desk.services import plan_week
from farmops.digests.services.writing import write_sheets
from farmops.farms.models import Farm
from farmops.farms.services.loading import load_farm
from farmops.tryout import database
from farmops.tryout.books import BooksBefore, bring_in_books
from farmops.tryout.folder import OutFolder
from farmops.tryout.noticed import evening_notes, morning_words
from farmops.tryout.replay import DayReport, play_day
from farmops.tryout.scenario import Scenario
from farmops.weather.services.imports import import_weather
from ledger.exports.field_costs import write_csv, write_xlsx
from ledger.selectors.costs import FieldCost, costs_by_field
from ledger.selectors.pools import LedgerTotals, ledger_totals
from ledger.services.bills import enter_bill
from ledger.services.posting import PostingReport, post_pending
from ledger.services.rate_files import load_machine_costs, load_rates
from ledger.services.verify import verify_ledger
from scheduling.models import FieldPass, PassState, WeekPlan
from scheduling.selectors.passes import open_passes, pass_key
from scheduling.services.orders import OrdersReport, load_orders
from scheduling.services.planning import send_plan
from scheduling.services.work import call_off

DATABASE_NAME = "farm.sqlite3"
DEFAULT_OUT = Path(settings.VAR_DIR) / "tryout"
SALT = "the-demo-is-no-secret-22"
SEED = 1
ROUNDS_PER_SECOND = 800
"""How many rounds of the search stand for a second, so that no clock decides: measured on a slow core."""


class Listener(Protocol):
    """Hears how far the run is."""

    def step(self, name: str) -> None:
        """A step begins."""

    def search(self, cost_cents: int | None, bound_cents: int | None) -> None:
        """The search for a plan has come so far."""


@dataclass
class Outcome:
    """Everything the run has to say."""

    farm: Farm
    scenario: Scenario
    listener: Listener
    warnings: list[str]
    counts: dict[str, int]
    orders: OrdersReport
    books: BooksBefore
    plan: WeekPlan | None = None
    plan_again: WeekPlan | None = None
    days: list[DayReport] = field(default_factory=list)
    called_off: str = ""
    posted: PostingReport = field(default_factory=PostingReport)
    costs: list[FieldCost] = field(default_factory=list)
    totals: LedgerTotals | None = None
    faults: list[str] = field(default_factory=list)
    still_open: list[str] = field(default_factory=list)


def run(*, scenario: Scenario, out: OutFolder, seconds: float, listener: Listener) -> Outcome:
    """Play the demo into a fresh folder. Each step is told to the listener as it begins.

    The database stays open for whoever prints the outcome; `finish` closes it.
    """
    listener.step("making an empty database")
    out.start_afresh()
    path = out.claim(DATABASE_NAME)
    for suffix in (*database.SIDE_FILES, ".settled"):
        out.claim(DATABASE_NAME + suffix)
    database.use_file(path)
    settings.NUDGES = {}  # the run posts by its own clock, and a nudge would read the real one
    listener.step("bringing in farm, rates, bills, orders of work")
    outcome = _bring_in(scenario, listener)
    listener.step("bringing in 150 days of weather and the forecast")
    _weather(outcome, first=None, last=scenario.eve)
    listener.step("ground, windows and the week plan")
    outcome.plan = _plan(outcome, first_on=scenario.first_on, made_on=scenario.eve, seconds=seconds)
    _write_plan(out, outcome.plan, "")
    for day in scenario.week:
        listener.step(f"{day:%A}: sheets, work, weather, books")
        _one_day(outcome, out, day, seconds)
    listener.step("costs of every field")
    _close(outcome, out)
    return outcome


def finish(*, out: OutFolder) -> None:
    """Leave the database as one file with the same bytes after the same run."""
    database.settle(out.root / DATABASE_NAME)


def _bring_in(scenario: Scenario, listener: Listener) -> Outcome:
    database.migrate(as_if_at=dt.datetime.combine(scenario.eve, dt.time(), dt.UTC))
    loaded = load_farm(folder=scenario.folder)
    now = _at(loaded.farm, scenario.eve, dt.time(12))
    User.objects.update(password=make_password(scenario.password, salt=SALT), date_joined=now)
    load_rates(farm=loaded.farm, path=scenario.folder / "rates.csv", now=now)
    load_machine_costs(farm=loaded.farm, path=scenario.folder / "machine_costs.csv", now=now)
    orders = load_orders(farm=loaded.farm, path=scenario.folder / "orders.json", now=now)
    books = bring_in_books(
        farm=loaded.farm, scenario=scenario, made_by=User.objects.get(username="bertil"), now=now
    )
    return Outcome(
        farm=loaded.farm,
        scenario=scenario,
        listener=listener,
        warnings=[one.replace(f"{scenario.folder}/", "") for one in loaded.warnings],
        counts=loaded.counts,
        orders=orders,
        books=books,
        posted=books.posted,
    )


def _weather(outcome: Outcome, *, first: dt.date | None, last: dt.date) -> None:
    """Import the days up to `last`, and the forecast that was issued on it, if there is one."""
    scenario = outcome.scenario
    with _slice(scenario.folder / "weather.csv", first, last) as path:
        import_weather(farm=outcome.farm, format="daily-csv", path=path, station=scenario.station)
    if last in scenario.forecasts:
        import_weather(farm=outcome.farm, format="nws-grid", path=scenario.forecasts[last])


@contextmanager
def _slice(source: Path, first: dt.date | None, last: dt.date) -> Iterator[Path]:
    """Yield a file with the days from `first` to `last` of a longer one."""
    with source.open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    wanted = [
        row for row in rows if row[0] <= last.isoformat() and (not first or row[0] >= first.isoformat())
    ]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / source.name
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([header, *wanted])
        yield path


def _plan(
    outcome: Outcome, *, first_on: dt.date, made_on: dt.date, seconds: float, keep_sent: bool = False
) -> WeekPlan:
    """Plan from a day to the end of the week as a manager would the evening before, and send it."""
    scenario, farm = outcome.scenario, outcome.farm
    now = _at(farm, made_on, scenario.evening_at if keep_sent else scenario.plan_at)
    plan = plan_week(
        farm=farm,
        first_on=first_on,
        days=(scenario.week[-1] - first_on).days + 1,
        seconds=seconds,
        seed=SEED,
        rounds=max(1, round(seconds * ROUNDS_PER_SECOND)),
        workers=1,
        made_by=_manager(farm),
        now=now,
        as_of=made_on,
        keep_sent=keep_sent,
        progress=outcome.listener.search,
    )
    return send_plan(plan=plan, now=now)


def _write_plan(out: OutFolder, plan: WeekPlan, suffix: str) -> None:
    for name, document in (("problem", plan.problem), ("week_plan", plan.plan), ("windows", plan.windows)):
        out.write_text(f"{name}{suffix}.json", json.dumps(document, indent=1, ensure_ascii=False) + "\n")


def _one_day(outcome: Outcome, out: OutFolder, day: dt.date, seconds: float) -> None:
    scenario, farm = outcome.scenario, outcome.farm
    manager = _manager(farm)
    said = morning_words(
        farm=farm, scenario=scenario, day=day, said_by=manager, now=_at(farm, day, dt.time(6))
    )
    _sheets(farm, out, day)
    evening = _at(farm, day, scenario.evening_at)
    report = play_day(farm=farm, scenario=scenario, day=day, now=evening)
    outcome.days.append(report)
    _weather(outcome, first=day, last=day)
    report.noticed = said + evening_notes(farm=farm, scenario=scenario, day=day, said_by=manager, now=evening)
    _bill(outcome, day, evening)
    if day == scenario.called_off.on:
        outcome.called_off = _call_off(outcome, evening)
    outcome.posted = _sum(outcome.posted, post_pending(farm=farm, now=evening))
    if day == scenario.plan_again_on:
        tomorrow = day + dt.timedelta(days=1)
        outcome.plan_again = _plan(outcome, first_on=tomorrow, made_on=day, seconds=seconds, keep_sent=True)
        _write_plan(out, outcome.plan_again, "_again")


def _sheets(farm: Farm, out: OutFolder, day: dt.date) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for path in write_sheets(farm=farm, day=day, folder=Path(folder)):
            out.claim(f"sheets/{path.name}").write_bytes(path.read_bytes())


def _bill(outcome: Outcome, day: dt.date, now: dt.datetime) -> None:
    """Enter the tire man's bill on the day it comes, against the puncture that happened."""
    puncture = outcome.scenario.puncture
    incident = next((one.puncture for one in outcome.days if one.puncture is not None), None)
    if day != puncture.bill_on or incident is None:
        return
    enter_bill(
        farm=outcome.farm,
        client_id=uuid.uuid5(uuid.NAMESPACE_URL, f"{outcome.farm.code}/bill/{puncture.number}"),
        payee=puncture.payee,
        number=puncture.number,
        bill_on=puncture.bill_on,
        amount_usd=puncture.amount_usd,
        category="tires",
        incident=incident,
        season=incident.season,
        machine=incident.machine,
        note=f"{puncture.wheel}; met {puncture.met}",
        entered_by=User.objects.get(username="bertil"),
        now=now,
    )


def _call_off(outcome: Outcome, now: dt.datetime) -> str:
    wanted = outcome.scenario.called_off
    field_pass = FieldPass.objects.select_related("season__field").get(
        farm=outcome.farm, season__field__code=wanted.field, operation=wanted.operation, turn=1, part=""
    )
    call_off(field_pass=field_pass, why=wanted.why, now=now)
    return pass_key(field_pass)


def _close(outcome: Outcome, out: OutFolder) -> None:
    farm, crop_year = outcome.farm, outcome.scenario.first_on.year
    write_csv(farm=farm, crop_year=crop_year, path=out.claim("field_costs.csv"))
    write_xlsx(farm=farm, crop_year=crop_year, path=out.claim("field_costs.xlsx"))
    outcome.costs = costs_by_field(farm=farm, crop_year=crop_year)
    outcome.totals = ledger_totals(farm=farm, crop_year=crop_year)
    outcome.faults = [str(one) for one in verify_ledger(farm=farm).faults]
    outcome.still_open = [pass_key(one) for one in open_passes(farm=farm) if one.state != PassState.FINISHED]


def _sum(one: PostingReport, other: PostingReport) -> PostingReport:
    return PostingReport(one.posted + other.posted, one.reversed + other.reversed, other.waiting)


def _manager(farm: Farm) -> User:
    return User.objects.filter(memberships__farm=farm, memberships__role="manager").order_by("username")[0]


def _at(farm: Farm, day: dt.date, hour: dt.time) -> dt.datetime:
    return dt.datetime.combine(day, hour, ZoneInfo(farm.zone)).astimezone(dt.UTC)
