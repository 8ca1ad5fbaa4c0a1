"""What waits for the manager this morning: each kind that is there as a short line with the page where it is settled.

What it is for: to let nothing lie that only the manager can settle. Its user decides there what to look into before the
outfits leave. What is in order is not said.
"""

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.db.models import F, OuterRef, Subquery
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.desk.days import first_instant
from farmops.digests.selectors.outbox import dead_count
from farmops.farms.models import WORKING_KINDS, Farm, HandAway, Implement, Machine, Pivot
from farmops.farms.operations import PIVOT_MOVES
from farmops.pages import words
from farmops.pages.care_words import rule_said
from farmops.pages.field_page import said
from farmops.pages.trade_words import tool
from ledger.selectors.pending import waiting_postings
from scheduling.models import FieldPass, PivotPlace, PlannedTask, WorkRecord
from scheduling.selectors.care import care_due
from scheduling.selectors.passes import OPEN_STATES, open_passes
from scheduling.selectors.plans import plans_of_days
from scheduling.selectors.reports import waiting_reports
from scheduling.selectors.waiting import NEARLY_ALL

MOST_NAMED = 3
"""Farm judgement: a line names so many things; the page behind it has them all."""
DAYS_BACK = 7
"""Farm judgement: what nobody reported within a week is asked for on the week's page, not each morning."""


Made = TypeVar("Made")


@dataclass(frozen=True)
class Wait:
    """One line: what waits, and the page where it is settled."""

    says: str
    address: str


Keep = Callable[[str, object, Callable[[], Made]], Made]
"""Gives what a function makes, or made of the same rows before: by a name and by what else it was made of."""


def waits_of(*, farm: Farm, now: dt.datetime, keep: Keep[Any] | None = None) -> list[Wait]:
    """Return the lines of a morning, those that only the manager can settle first; a fixed number of queries.

    "Out", "down" and "running" are read at the instant that the pages are about: now, or the end of an old record.
    `keep` is asked for the lines that are read from plans, work and sightings alone.
    """
    keep = keep or (lambda _name, _of, make: make())
    first = first_instant(farm=farm, now=now)
    minute_begins = first.replace(second=0, microsecond=0)  # tasks end on the minute
    minute_ends = now.replace(second=59, microsecond=999_999)
    found = [
        _reports(farm),
        _covered(farm),
        keep("unreported", minute_begins, partial(_unreported, farm, minute_begins)),
        _mail(farm),
        _care(farm, now),
        _unpriced(farm),
        _out(farm, first),
        *_down(farm, first),
        *keep("pivots", minute_ends, partial(_pivots, farm, minute_ends)),
    ]
    return [one for one in found if one is not None]


def _reports(farm: Farm) -> Wait | None:
    count = waiting_reports(farm=farm).count()
    if not count:
        return None
    says = ngettext(
        "{count} report from the field waits for you.", "{count} reports from the field wait for you.", count
    ).format(count=count)
    return Wait(says, reverse("pages:waiting", args=[farm.code]))


def _covered(farm: Farm) -> Wait | None:
    """Return the passes whose acres are all reported and that nobody called finished."""
    rows = [
        _field_work(one)
        for one in open_passes(farm=farm).filter(area_ac__gt=0, done_ac__gte=F("area_ac") * NEARLY_ALL)
    ]
    if not rows:
        return None
    says = _("All acres are reported, but nobody said finished: {what}.").format(what=_some(rows))
    return Wait(says, reverse("pages:fields", args=[farm.code]) + "?show=begun")


def _unreported(farm: Farm, first: dt.datetime) -> Wait | None:
    """Return the passes that the plan had worked in the last days, of which no report came since."""
    today = local_date(first, farm.zone)
    days = [today - dt.timedelta(days=back) for back in range(DAYS_BACK + 1)]
    ruling = {day: plan.pk for day, plan in plans_of_days(farm=farm, days=days).items() if plan is not None}
    reported = WorkRecord.objects.filter(field_pass=OuterRef("field_pass")).order_by("-work_on")
    tasks = (
        PlannedTask.objects.filter(
            plan__in=set(ruling.values()),
            hand__isnull=False,
            ends_at__lte=first,
            field_pass__state__in=OPEN_STATES,
        )
        .exclude(field_pass__operation__in=PIVOT_MOVES)
        .annotate(told_on=Subquery(reported.values("work_on")[:1]))
        .order_by("ends_at", "id")
        .values_list("pk", "field_pass_id", "plan_id", "starts_at", "ends_at", "told_on")
    )
    untold: dict[int, int] = {}
    for pk, pass_id, plan_id, starts_at, ends_at, told_on in tasks:
        is_told = told_on is not None and told_on >= local_date(starts_at, farm.zone)
        if ruling.get(local_date(ends_at, farm.zone)) == plan_id and not is_told:
            untold[pass_id] = pk
    named = PlannedTask.objects.select_related("field_pass__season__field", "hand").in_bulk(
        list(untold.values())[:MOST_NAMED]
    )
    rows = [
        _("{work}, {hand}, {day}").format(
            work=_field_work(task.field_pass),
            hand=task.hand,
            day=words.short_date(local_date(task.ends_at, farm.zone)),
        )
        for task in (named[pk] for pk in list(untold.values())[:MOST_NAMED])
    ]
    if not rows:
        return None
    says = _("Planned to be done, but no report came: {what}.").format(what=_some(rows, count=len(untold)))
    return Wait(says, reverse("pages:week", args=[farm.code]))


def _field_work(one: FieldPass) -> str:
    return _("{field}: {work}").format(field=one.season.field, work=said(one))


def _mail(farm: Farm) -> Wait | None:
    count = dead_count(farm=farm)
    if not count:
        return None
    says = ngettext(
        "{count} mail could not be delivered.", "{count} mails could not be delivered.", count
    ).format(count=count)
    return Wait(says, reverse("pages:mail_undelivered", args=[farm.code]))


def _care(farm: Farm, now: dt.datetime) -> Wait | None:
    over = [rule_said(one.rule) for one in care_due(farm=farm, at=now) if one.left.is_over]
    if not over:
        return None
    return Wait(_("Service due: {what}.").format(what=_some(over)), reverse("pages:care", args=[farm.code]))


def _unpriced(farm: Farm) -> Wait | None:
    count = waiting_postings(farm).count()
    if not count:
        return None
    says = ngettext(
        "{count} posting waits for a rate or a price.", "{count} postings wait for a rate or a price.", count
    ).format(count=count)
    return Wait(says, reverse("pages:costs", args=[farm.code]))


def _out(farm: Farm, first: dt.datetime) -> Wait | None:
    day = local_date(first, farm.zone)
    rows = HandAway.objects.filter(farm=farm, hand__works=True, first_on__lte=day, last_on__gte=day)
    told = [
        _("{hand}, back after {day}").format(hand=row.hand.name, day=words.long_date(row.last_on))
        for row in rows.select_related("hand").order_by("hand__name", "id")
    ]
    if not told:
        return None
    return Wait(_("Out today: {who}.").format(who=_some(told)), reverse("pages:fleet", args=[farm.code]))


def _down(farm: Farm, first: dt.datetime) -> list[Wait]:
    zone = ZoneInfo(farm.zone)
    things: list[Machine | Implement] = [
        *Machine.objects.filter(farm=farm, kind__in=WORKING_KINDS, down_until__gt=first),
        *Implement.objects.filter(farm=farm, down_until__gt=first),
    ]
    found = []
    for one in sorted(things, key=lambda thing: (thing.down_until or first, str(thing))):
        back = (one.down_until or first).astimezone(zone)
        says = _("{thing} is down, back about {day}, {hour}.").format(
            thing=tool(one), day=words.long_date(back.date()), hour=words.clock(back)
        )
        kind = type(one).__name__.lower()
        found.append(
            Wait(
                words.one_stop(words.capital(says)), reverse("pages:machine", args=[farm.code, kind, one.pk])
            )
        )
    return found


def _pivots(farm: Farm, now: dt.datetime) -> list[Wait]:
    """Return which pivots were last seen running, and which standing; what nobody has seen is not told of.

    A few that run have a line each; of more than a few, and of those that stand, some are named in one line.
    """
    seen_of = PivotPlace.objects.filter(pivot=OuterRef("pk"), seen_at__lte=now).order_by("-seen_at", "-id")
    newest = Pivot.objects.filter(farm=farm).annotate(seen_id=Subquery(seen_of.values("pk")[:1]))
    every = PivotPlace.objects.filter(pk__in=newest.values("seen_id")).order_by(
        "-is_running", "-seen_at", "id"
    )
    kinds = list(every.values_list("pk", "is_running"))
    running = [pk for pk, is_running in kinds if is_running]
    standing = [pk for pk, is_running in kinds if not is_running]
    shown = PivotPlace.objects.select_related("pivot__field").in_bulk(
        [*running[:MOST_NAMED], *standing[:MOST_NAMED]]
    )
    zone = ZoneInfo(farm.zone)
    found = []
    if len(running) <= MOST_NAMED:
        for seen in sorted((shown[pk] for pk in running), key=lambda one: (one.pivot.field.name, one.pk)):
            says = _("{pivot} on {field} runs; seen {when}.").format(
                pivot=seen.pivot.name, field=seen.pivot.field.name, when=_seen(seen, zone)
            )
            address = reverse("pages:machine", args=[farm.code, "pivot", seen.pivot.pk])
            found.append(Wait(words.one_stop(words.capital(says)), address))
    else:
        told = [_pivot_said(shown[pk], zone) for pk in running[:MOST_NAMED]]
        says = _("Pivots run: {what}.").format(what=_some(told, count=len(running)))
        found.append(Wait(words.one_stop(says), reverse("pages:fleet", args=[farm.code])))
    if standing:
        told = [_pivot_said(shown[pk], zone) for pk in standing[:MOST_NAMED]]
        says = _("Pivots stand: {what}.").format(what=_some(told, count=len(standing)))
        found.append(Wait(words.one_stop(says), reverse("pages:fleet", args=[farm.code])))
    return found


def _pivot_said(seen: PivotPlace, zone: ZoneInfo) -> str:
    return _("{pivot} on {field}, seen {when}").format(
        pivot=seen.pivot.name, field=seen.pivot.field.name, when=_seen(seen, zone)
    )


def _seen(seen: PivotPlace, zone: ZoneInfo) -> str:
    at = seen.seen_at.astimezone(zone)
    return _("{day}, {hour}").format(day=words.long_date(at.date()), hour=words.clock(at))


def _some(told: Sequence[str], *, count: int | None = None) -> str:
    """Return a few things one after another, and how many more there are; `count` is that of all where not all are given."""
    more = (len(told) if count is None else count) - min(len(told), MOST_NAMED)
    if more <= 0:
        return "; ".join(told)
    return ngettext("{some}; {count} more", "{some}; {count} more", more).format(
        some="; ".join(told[:MOST_NAMED]), count=more
    )
