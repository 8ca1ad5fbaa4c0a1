"""What the tryout prints: the week, what was left and why, how it went, and what every field cost."""

import shutil
import sys
from collections.abc import Collection, Sequence
from decimal import Decimal
from pathlib import Path

from farmops.core.models import User
from farmops.desk.week_table import dollars, week_lines
from farmops.farms.models import Membership
from farmops.tryout.folder import OutFolder
from farmops.tryout.run import DATABASE_NAME, DEFAULT_OUT, Outcome
from scheduling.models import WeekPlan
from scheduling.selectors.passes import field_names, keys_in_words

Row = Sequence[str]


def result_lines(*, outcome: Outcome, out: OutFolder) -> list[str]:
    """Return the lines of the whole result."""
    return [
        *_farm_lines(outcome),
        "",
        *_plan_lines(outcome.plan),
        "",
        *_went_lines(outcome),
        "",
        *_plan_lines(outcome.plan_again),
        "",
        *_cost_lines(outcome),
        "",
        *_file_lines(out),
        "",
        *log_in_lines(password=outcome.scenario.password),
    ]


def log_in_lines(*, password: str) -> list[str]:
    """Return who may sign in, each with the roles on the farm."""
    roles: dict[User, list[str]] = {}
    for one in Membership.objects.select_related("user").order_by("user__username", "role"):
        roles.setdefault(one.user, []).append(one.role)
    rows = [
        (user.username, " and ".join(sorted(names)))
        for user, names in roles.items()
        if user.has_usable_password()
    ]
    return [f"Log-ins of the demo, all with the password {password}:", *_aligned(rows)]


def _farm_lines(outcome: Outcome) -> list[str]:
    counts = outcome.counts
    said = f"{outcome.farm.name}: {counts['fields']} fields, {counts['pivots']} center pivots"
    said += f" on {counts['pumps']} pumps, {counts['machines']} tractors, {counts['implements']} implements"
    said += f", {counts['hands']} hands; {outcome.orders.waiting} of {outcome.orders.passes} passes wait."
    return [said, *(f"Look at: {one}" for one in outcome.warnings)]


def _plan_lines(plan: WeekPlan | None) -> list[str]:
    return week_lines(plan=plan) if plan is not None else []


def _went_lines(outcome: Outcome) -> list[str]:
    """Return how the week went, a row a day."""
    rows: list[Row] = [("day", "records", "hand hours", "engine hours", "acres", "what came in between")]
    names = field_names(farm=outcome.farm)
    for day in outcome.days:
        between = list(dict.fromkeys(one.partition(": ")[2] for one in day.stopped))
        if day.puncture is not None:
            between.append(f"flat tire: {day.puncture.wheel}, {day.puncture.met}")
        if day.on == outcome.scenario.called_off.on and outcome.called_off:
            called_off = keys_in_words(outcome.called_off, names=names)
            between.append(f"{called_off} called off: {outcome.scenario.called_off.why}")
        if day.on == outcome.scenario.plan_again_on and outcome.plan_again is not None:
            between.append(f"planned again (plan {outcome.plan_again.number})")
        between += [f"{one} done" for one in day.care]
        rows.append(
            (
                f"{day.on:%a} {day.on.month}/{day.on.day}",
                str(day.records),
                f"{day.hand_min / 60:.1f}",
                f"{day.machine_min / 60:.1f}",
                f"{day.done_ac:.1f}",
                "; ".join(between),
            )
        )
    noticed = [
        f"  {day.on:%a} {day.on.month}/{day.on.day}  {one}" for day in outcome.days for one in day.noticed
    ]
    if noticed:
        noticed.insert(0, "What was read and said in the week, and what it changed:")
    return [
        "How the week went:",
        *_aligned(rows),
        *noticed,
        f"{len(outcome.still_open)} passes are still open.",
    ]


def _cost_lines(outcome: Outcome) -> list[str]:
    rows: list[Row] = [("field", "crop", "acres", "dollars", "per acre")]
    for one in outcome.costs:
        rows.append(
            (
                one.field_name,
                one.crop,
                f"{one.area_ac:.1f}",
                dollars(one.total_cents),
                f"${one.usd_per_ac:,.2f}",
            )
        )
    acres = sum((one.area_ac for one in outcome.costs), Decimal(0))
    cents = sum(one.total_cents for one in outcome.costs)
    per_ac = f"${Decimal(cents) / 100 / acres:,.2f}" if acres else ""
    rows.append(("all fields", "", f"{acres:.1f}", dollars(cents), per_ac))
    lines = [f"What each field cost so far in crop year {outcome.scenario.first_on.year}:"]
    lines += _aligned(rows, right=(2, 3, 4))
    books = outcome.books
    lines.append(
        f"Before the week {books.bills} bills, {books.counted} counted stocks and {books.budget_lines} lines of a budget "
        f"were entered, and {books.closed_month:%B} was closed at {books.head[:12]}."
    )
    lines.append(f"{outcome.posted.posted} entries posted, {len(outcome.posted.waiting)} wait for a rate.")
    lines += [f"  waits: {one.says}" for one in outcome.posted.waiting]
    if outcome.faults:
        lines += ["The books do not hold:", *(f"  {one}" for one in outcome.faults)]
    else:
        lines.append("The books were walked from end to end and hold.")
    return lines


def _file_lines(out: OutFolder) -> list[str]:
    written = [name for name in out.written() if not name.startswith(DATABASE_NAME + "-")]
    names = [name for name in written if not name.startswith("sheets/")]
    sheets = len(written) - len(names)
    database = "" if out.root == DEFAULT_OUT else f" --database {out.root / DATABASE_NAME}"
    return [
        f"Files in {_short(out.root)}: {', '.join(names)}, and {sheets} morning sheets in sheets/.",
        f"See the pages: {_python()} manage.py serve{database}",
    ]


def _short(path: Path) -> str:
    """Return a path as seen from here where it lies below, else whole."""
    here = Path.cwd()
    return str(path.relative_to(here)) if path.is_relative_to(here) else str(path)


def _python() -> str:
    """Return the interpreter that runs this, as one types it here."""
    running = Path(sys.executable)
    found = shutil.which("python")
    return "python" if found and Path(found) == running else _short(running)


def _aligned(rows: Sequence[Row], right: Collection[int] = ()) -> list[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            text.rjust(width) if column in right else text.ljust(width)
            for column, (text, width) in enumerate(zip(row, widths))
        ]
        lines.append("  " + "  ".join(cells).rstrip())
    return lines
