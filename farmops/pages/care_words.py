"""How services and meters are said on a page."""

import datetime as dt
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.farms.models import CareRule, Implement, Machine, Pivot
from farmops.pages import words
from farmops.pages.trade_words import tool
from scheduling.care import Apart, Backwards, Disagreement, Left, Meter, Run, Unread
from scheduling.selectors.care import what_is_done
from scheduling.selectors.care_ahead import CareAhead

TENTH = Decimal("0.1")
FAR_DAYS = 7


def tenths(hours: Decimal) -> str:
    """Return hours or acres with a tenth."""
    return f"{hours.quantize(TENTH, rounding=ROUND_HALF_UP):,f}"


def days_said(count: int) -> str:
    """Return a count of days."""
    return ngettext("{count} day", "{count} days", abs(count)).format(count=f"{count:,}")


def starts_said(count: int) -> str:
    """Return a count of starts."""
    return ngettext("{count} start", "{count} starts", abs(count)).format(count=f"{count:,}")


def name_of(thing: Machine | Implement | Pivot) -> str:
    """Return what is served by its name in the reader's language."""
    return str(thing) if isinstance(thing, Pivot) else tool(thing)


def done_said(rule: CareRule) -> str:
    """Return what a service does, in the reader's language where the farm said it in that."""
    return what_is_done(rule, words.speaking())


def rule_said(rule: CareRule) -> str:
    """Return what a service does, and of what it is one."""
    return f"{done_said(rule)}, {name_of(rule.thing)}"


def how_often(rule: CareRule) -> str:
    """Return a rule's counts, whichever is first: `every 250 h or 365 days`."""
    counts = [
        f"{rule.every_h.normalize():,f} h" if rule.every_h is not None else "",
        days_said(rule.every_days) if rule.every_days is not None else "",
        f"{rule.every_ac.normalize():,f} ac" if rule.every_ac is not None else "",
        starts_said(rule.every_starts) if rule.every_starts is not None else "",
    ]
    return _("every {counts}").format(counts=_(" or ").join(one for one in counts if one))


def left_said(left: Left) -> str:
    """Return what is left of each count; where one is over, by how much, and that the others are left."""
    over: list[str] = []
    rest: list[str] = []
    if left.hours is not None:
        hours = left.hours.quantize(TENTH, rounding=ROUND_HALF_UP)
        (over if hours < 0 else rest).append(f"{abs(hours):,} h")
    if left.days is not None:
        (over if left.days < 0 else rest).append(days_said(abs(left.days)))
    if left.acres is not None:
        acres = left.acres.quantize(TENTH, rounding=ROUND_HALF_UP)
        (over if acres < 0 else rest).append(f"{abs(acres):,} ac")
    if left.starts is not None:
        (over if left.starts < 0 else rest).append(starts_said(abs(left.starts)))
    if not over:
        return ", ".join(rest)
    told = [_("{count} over").format(count=one) for one in over]
    return ", ".join([*told, *(_("{count} left").format(count=one) for one in rest)])


def run_said(rule: CareRule, run: Run) -> str:
    """Return what was run since the last service, of what the rule counts."""
    told = []
    if rule.every_h is not None:
        told.append(f"{tenths(run.hours)} h")
    if rule.every_days is not None:
        told.append(_("nobody knows how many days") if run.days is None else days_said(run.days))
    if rule.every_ac is not None:
        told.append(f"{tenths(run.acres)} ac")
    if rule.every_starts is not None:
        told.append(starts_said(run.starts))
    return ", ".join(told)


def expected_said(one: CareAhead, today: dt.date) -> str:
    """Return when a service is likely to fall due."""
    if one.due.left.is_over:
        return _("due now")
    if one.expected_on is None:
        return _("not within a year at this pace")
    days = (one.expected_on - today).days
    if days == 0:
        return _("due today")
    if days == 1:
        return _("due about tomorrow")
    if days < FAR_DAYS:
        return _("due about {day}").format(day=words.weekday(one.expected_on))
    if one.expected_on.year == today.year:
        return _("due about {day}").format(day=words.month_and_day(one.expected_on))
    return _("due about {day}").format(day=words.full_date(one.expected_on))


def disagreement_said(one: Disagreement, meter: Meter, zone: ZoneInfo) -> str:
    """Return in a sentence what does not agree, in hours as the meter showed them."""
    before, after = (
        _read(one.before.hours, one.before.at, meter, zone),
        _read(one.after.hours, one.after.at, meter, zone),
    )
    if isinstance(one, Backwards):
        return _("{before} and {after} cannot both be right: a meter does not go back.").format(
            before=before, after=after
        )
    if isinstance(one, Apart):
        return _(
            "Between {before} and {after} the meter gained {gained} h, and {reported} h of work were reported."
        ).format(before=before, after=after, gained=tenths(one.gained_h), reported=tenths(one.reported_h))
    return _(
        "{before} and {after} cannot both be right: it gained {gained} h in {passed} h of the clock."
    ).format(before=before, after=after, gained=tenths(one.gained_h), passed=tenths(one.passed_h))


def unread_said(one: Unread, zone: ZoneInfo) -> str:
    """Return in a sentence for how long nobody read a meter."""
    if one.since is None:
        return _("Nobody has read this meter yet; {hours} h of work were reported.").format(
            hours=tenths(one.worked_h)
        )
    day = one.since.astimezone(zone).date()
    return _(
        "Nobody has read this meter since {day}, {days} ago; {hours} h of work were reported since. "
        "What it shows is worked out from them."
    ).format(day=words.long_date(day), days=days_said(one.days or 0), hours=tenths(one.worked_h))


def _read(run_on_h: Decimal, at: dt.datetime, meter: Meter, zone: ZoneInfo) -> str:
    local = at.astimezone(zone)
    day = words.month_and_day(local.date())
    return f"{tenths(run_on_h - meter.added_h(at))} h ({day}, {words.clock(local)})"
