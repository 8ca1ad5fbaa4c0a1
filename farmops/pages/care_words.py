"""How services and meters are said on a page."""

import datetime as dt
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

from farmops.farms.models import CareRule
from farmops.pages import words
from scheduling.care import Apart, Backwards, Disagreement, Left, Meter, Run, Unread
from scheduling.selectors.care_ahead import CareAhead

TENTH = Decimal("0.1")
FAR_DAYS = 7


def tenths(hours: Decimal) -> str:
    """Return hours or acres with a tenth."""
    return f"{hours.quantize(TENTH, rounding=ROUND_HALF_UP):,f}"


def counted(count: int, one: str) -> str:
    """Return a count with its noun."""
    return f"{count:,} {one}" if abs(count) == 1 else f"{count:,} {one}s"


def how_often(rule: CareRule) -> str:
    """Return a rule's counts, whichever is first: `every 250 h or 365 days`."""
    counts = [
        f"{rule.every_h.normalize():,f} h" if rule.every_h is not None else "",
        counted(rule.every_days, "day") if rule.every_days is not None else "",
        f"{rule.every_ac.normalize():,f} ac" if rule.every_ac is not None else "",
        counted(rule.every_starts, "start") if rule.every_starts is not None else "",
    ]
    return "every " + " or ".join(one for one in counts if one)


def left_said(left: Left) -> str:
    """Return what is left of each count; where one is over, by how much, and that the others are left."""
    counts: list[tuple[Decimal | int | None, str]] = [
        (None if left.hours is None else left.hours.quantize(TENTH, rounding=ROUND_HALF_UP), "h"),
        (left.days, "days"),
        (None if left.acres is None else left.acres.quantize(TENTH, rounding=ROUND_HALF_UP), "ac"),
        (left.starts, "starts"),
    ]
    over: list[str] = []
    rest: list[str] = []
    for count, unit in counts:
        if count is None:
            continue
        unit = unit.removesuffix("s") if unit in ("days", "starts") and abs(count) == 1 else unit
        (over if count < 0 else rest).append(f"{abs(count):,} {unit}")
    if not over:
        return ", ".join(rest)
    return ", ".join([f"{one} over" for one in over] + [f"{one} left" for one in rest])


def run_said(rule: CareRule, run: Run) -> str:
    """Return what was run since the last service, of what the rule counts."""
    told = []
    if rule.every_h is not None:
        told.append(f"{tenths(run.hours)} h")
    if rule.every_days is not None:
        told.append("nobody knows how many days" if run.days is None else counted(run.days, "day"))
    if rule.every_ac is not None:
        told.append(f"{tenths(run.acres)} ac")
    if rule.every_starts is not None:
        told.append(counted(run.starts, "start"))
    return ", ".join(told)


def expected_said(one: CareAhead, today: dt.date) -> str:
    """Return when a service is likely to fall due."""
    if one.due.left.is_over:
        return "due now"
    if one.expected_on is None:
        return "not within a year at this pace"
    days = (one.expected_on - today).days
    if days == 0:
        return "due today"
    if days == 1:
        return "due about tomorrow"
    if days < FAR_DAYS:
        return f"due about {one.expected_on:%A}"
    year = f", {one.expected_on.year}" if one.expected_on.year != today.year else ""
    return f"due about {one.expected_on:%B} {one.expected_on.day}{year}"


def disagreement_said(one: Disagreement, meter: Meter, zone: ZoneInfo) -> str:
    """Return in a sentence what does not agree, in hours as the meter showed them."""
    before, after = (
        _read(one.before.hours, one.before.at, meter, zone),
        _read(one.after.hours, one.after.at, meter, zone),
    )
    if isinstance(one, Backwards):
        return f"{before} and {after} cannot both be right: a meter does not go back."
    if isinstance(one, Apart):
        return (
            f"Between {before} and {after} the meter gained {tenths(one.gained_h)} h, "
            f"and {tenths(one.reported_h)} h of work were reported."
        )
    return (
        f"{before} and {after} cannot both be right: it gained {tenths(one.gained_h)} h "
        f"in {tenths(one.passed_h)} h of the clock."
    )


def unread_said(one: Unread, zone: ZoneInfo) -> str:
    """Return in a sentence for how long nobody read a meter."""
    if one.since is None:
        return f"Nobody has read this meter yet; {tenths(one.worked_h)} h of work were reported."
    day = one.since.astimezone(zone).date()
    return (
        f"Nobody has read this meter since {words.long_date(day)}, {counted(one.days or 0, 'day')} ago; "
        f"{tenths(one.worked_h)} h of work were reported since. What it shows is worked out from them."
    )


def _read(run_on_h: Decimal, at: dt.datetime, meter: Meter, zone: ZoneInfo) -> str:
    local = at.astimezone(zone)
    return f"{tenths(run_on_h - meter.added_h(at))} h ({local:%B} {local.day}, {words.clock(local)})"
