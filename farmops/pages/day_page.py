"""A hand's day, as plain data: what comes first, the slips with their forms, and what else can be reported."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from farmops.core.api.fields import day_from
from farmops.farms.models import CarePlace, CareRule, Farm, Hand
from farmops.farms.operations import ALONE, Operation
from farmops.pages import day_forms, words
from farmops.pages.day_forms import Typed
from farmops.pages.report_boxes import BOXES
from scheduling.models import (
    FieldPass,
    FieldReport,
    ParkedReport,
    ParkedState,
    PassState,
    PlannedCare,
    PlannedTask,
    ReportKind,
    WorkRecord,
)
from scheduling.selectors.care import care_due, standing_care, thing_name, what_is_done
from scheduling.selectors.care_places import is_brought
from scheduling.selectors.hours import standing_days
from scheduling.selectors.plans import (
    care_of_hand,
    current_plan_in_short,
    field_of_stop,
    tasks_of_hand,
)
from scheduling.selectors.reports import answered_reports, became_of, parked_of, reports_of
from scheduling.selectors.slips import slips_of_day
from scheduling.selectors.sprays import products_offered, valid_license
from scheduling.services.report_words import done_before
from scheduling.slips.cautions import cautions_of_service, right_to_stop
from scheduling.slips.phrases import say
from scheduling.slips.slip import JobSlip
from scheduling.slips.words import work_words

KINDS: dict[str, str | Promise] = {
    ReportKind.WORK: gettext_lazy("Work"),
    ReportKind.DAY: gettext_lazy("My hours"),
    ReportKind.CARE: gettext_lazy("Service"),
    ReportKind.CHECK: gettext_lazy("A check"),
    ReportKind.FUEL: gettext_lazy("Fuel"),
    ReportKind.INCIDENT: gettext_lazy("Flat tire, stuck, broken"),
    ReportKind.SPRAY: gettext_lazy("Spray record"),
    ReportKind.METER: gettext_lazy("Hour meter"),
}


ANSWERS_STAY = dt.timedelta(days=7)  # farm judgement: who is off for a week still reads it
MOST_ANSWERS = 6


def day_of(*, days: Sequence[dt.date], today: dt.date) -> dt.date:
    """Return today if it is one of the days with work, else the next of them, else the last one, else today."""
    later = [day for day in days if day >= today]
    return later[0] if later else days[-1] if days else today


def days_with_work(*, farm: Farm, hand: Hand) -> list[dt.date]:
    """Return the days on which the plan that counts has work for a hand, if it is sent, the first one first."""
    plan = current_plan_in_short(farm=farm)
    if plan is None or plan.sent_at is None:
        return []
    zone = ZoneInfo(farm.zone)
    begins = [
        *PlannedTask.objects.filter(plan=plan, hand=hand).values_list("starts_at", flat=True),
        *PlannedCare.objects.filter(plan=plan, hand=hand).values_list("starts_at", flat=True),
    ]
    return sorted({at.astimezone(zone).date() for at in begins})


def day_facts(
    *,
    farm: Farm,
    hand: Hand,
    day: dt.date,
    now: dt.datetime,
    typed: Typed | None = None,
    days: Sequence[dt.date] | None = None,
) -> dict[str, Any]:
    """Return all that the hand's page shows for a day, in the language that is active; `typed` is a form that came back,
    `days` are those of `days_with_work` where they are read already.
    """
    language = hand.language
    slips = slips_of_day(farm=farm, hand=hand, day=day, now=now)
    today = now.astimezone(ZoneInfo(farm.zone)).date()
    reported, waits = _reported(farm, hand, day)
    may_restricted = valid_license(hand=hand, day=day) is not None
    crops = dict(
        FieldPass.objects.filter(pk__in=[slip.pass_id for slip in slips]).values_list("pk", "season__crop")
    )
    tasks = [_task(slip, language, slip.pass_id in reported, slip.pass_id in waits) for slip in slips]
    stops = _stops(farm, hand, day)
    done = _done_before(farm, hand, [slip.pass_id for slip in slips])
    ahead = [row for row in (*tasks, *stops) if not row["is_reported"]]
    first = min(ahead, key=lambda row: row["order"], default=None)
    for row in tasks:
        slip = row["slip"]
        row["forms"] = day_forms.forms_of_task(
            slip,
            typed,
            language=language,
            crop=crops.get(slip.pass_id, ""),
            is_first=row is first,
            may_restricted=may_restricted,
            done_before=done.get(slip.pass_id, ""),
        )
        row["is_open"] = row is first or any(
            form is not None and form.is_open for form in row["forms"].values()
        )
    for row in stops:
        row["form"] = day_forms.form_of_stop(row, typed, is_first=row is first)
        row["is_open"] = row["form"].is_open
    cautions = [one for row in tasks for one in row["said"].cautions]
    for of_pivot in sorted({row["is_of_pivot"] for row in stops}):
        cautions += cautions_of_service(of_pivot=of_pivot, emergency=farm.emergency_number, language=language)
    if tasks or stops:
        boss = farm.boss_name or say("the_boss", language)
        cautions.append(right_to_stop(boss=boss, language=language))
    return {
        "language": language,
        "hand": hand,
        "day": day,
        "is_past": day < today,
        "day_said": words.long_date(day, language),
        "headline": _headline(first) if first is not None else _nothing_ahead(farm, hand, day, stops),
        "tasks": tasks,
        "jobs": sorted((*stops, *tasks), key=lambda row: row["order"]),
        "cautions": list(dict.fromkeys(cautions)),
        "other_forms": day_forms.forms_of_day(
            farm,
            slips,
            typed,
            language=language,
            others=_other_passes(farm, slips, language),
            services=_services(farm, hand, {row["rule_id"] for row in stops}, now),
            began=_began(farm, hand, day),
        ),
        "offered": products_offered(farm=farm, hand=hand, day=day)
        if any("spray" in row["forms"] for row in tasks)
        else [],
        "other_days": [
            (one, words.long_date(one, language))
            for one in (days_with_work(farm=farm, hand=hand) if days is None else days)
            if one != day
        ],
    }


def told_of_reports(*, farm: Farm, hand: Hand, day: dt.date, now: dt.datetime) -> dict[str, Any]:
    """Return what became of the reports that a hand sent on a day and today, and of those that waited."""
    today = now.astimezone(ZoneInfo(farm.zone)).date()
    return {"answers": _answers(farm, hand, now), "sent": _sent(farm, hand, day, today)}


def _nothing_ahead(farm: Farm, hand: Hand, day: dt.date, stops: Sequence[Any]) -> str:
    """Return a sentence where nothing is left to report: whether there was anything."""
    had_work = stops or tasks_of_hand(farm=farm, hand=hand, day=day)
    return _("All is reported. Thank you.") if had_work else _("No work is planned for you that day.")


def _headline(first: dict[str, Any]) -> str:
    """Return what comes first of all that is not reported."""
    says = (
        _("First: {what}, {tool}, {begins} to {ends}.")
        if "what" in first
        else _("First: {work} on {field}, {begins} to {ends}.")
    )
    return says.format(**first).rstrip(".") + "."


def _other_passes(farm: Farm, slips: list[JobSlip], language: str) -> list[tuple[str, str]]:
    """Return the passes that are sent out or under way and not on the hand's own day, by their field and work."""
    under_way = FieldPass.objects.filter(farm=farm, state__in=(PassState.SENT, PassState.UNDER_WAY))
    rows = under_way.exclude(pk__in=[slip.pass_id for slip in slips]).exclude(operation__in=ALONE)
    named = [
        (row_id, area_ac, f"{field}: {work_words(Operation(operation), language)}")
        for row_id, operation, area_ac, field in rows.values_list(
            "pk", "operation", "area_ac", "season__field__name"
        )
    ]
    twice = {name for name, times in Counter(name for _id, _ac, name in named).items() if times > 1}
    told = [
        (str(row_id), f"{name} ({area_ac:.1f} ac)" if name in twice and area_ac else name)
        for row_id, area_ac, name in named
    ]
    return sorted(told, key=lambda one: one[1])


def _services(farm: Farm, hand: Hand, shown: set[int], now: dt.datetime) -> list[tuple[str, str]]:
    """Return the services that a hand may do and that are no stops of the day, by code; what is due now comes first."""
    rows = [
        (
            not one.left.is_over,
            f"{thing_name(one.rule, hand.language)}: {what_is_done(one.rule, hand.language)}",
            one,
        )
        for one in care_due(farm=farm, at=now)
        if one.rule.pk not in shown and _may_do(one.rule, hand)
    ]
    rows.sort(key=lambda row: row[:2])
    return [
        (one.rule.code, name if is_ahead else _("due now: {what}").format(what=name))
        for is_ahead, name, one in rows
    ]


def _may_do(rule: CareRule, hand: Hand) -> bool:
    named = [one.hand_id for one in rule.hands.all()]
    return not named or hand.pk in named


def _began(farm: Farm, hand: Hand, day: dt.date) -> str:
    """Return the hour at which a hand said that the day began, while its end is not reported; else nothing."""
    rows = standing_days(farm=farm).filter(
        hand=hand, work_on=day, ends_at=None, starts_at__isnull=False, worked_min=0
    )
    begun = rows.order_by("-id").first()
    if begun is None or begun.starts_at is None:
        return ""
    return f"{begun.starts_at.astimezone(ZoneInfo(farm.zone)):%H:%M}"


def _reported(farm: Farm, hand: Hand, day: dt.date) -> tuple[set[int], set[int]]:
    """Return the passes that a hand has reported on a day, and of them those of which only a report that waits tells."""
    kept = set(
        WorkRecord.objects.filter(farm=farm, hand=hand, work_on=day).values_list("field_pass_id", flat=True)
    )
    sent = reports_of(farm=farm, hand=hand).filter(kind=ReportKind.WORK, body__work_on=day.isoformat())
    waiting = [str(report.body.get("pass_id", "")) for report in sent if became_of(report) == "parked"]
    waits = {int(text) for text in waiting if text.isdecimal()} - kept
    return kept | waits, waits


def _done_before(farm: Farm, hand: Hand, passes: list[int]) -> dict[int, str]:
    """Return for each pass that somebody reported done the question whether there is more of it, by its row id."""
    rows = WorkRecord.objects.filter(
        farm=farm, field_pass__in=passes, is_finished=True, superseded_by__isnull=True
    )
    return {
        row.field_pass_id: done_before(
            who=row.hand.name, day=row.work_on, is_own=row.hand_id == hand.pk
        ).said(hand.language)
        for row in rows.select_related("hand").order_by("work_on", "id")
    }


def _sent(farm: Farm, hand: Hand, day: dt.date, today: dt.date) -> list[dict[str, Any]]:
    """Return what the farm has received from a hand on a day and today, the last first, and what became of it."""
    zone = ZoneInfo(farm.zone)
    since = Q()
    for one in {day, today}:
        begins = dt.datetime.combine(one, dt.time(), zone)
        ends = dt.datetime.combine(one + dt.timedelta(days=1), dt.time(), zone)
        since |= Q(received_at__gte=begins, received_at__lt=ends)
    rows = list(reports_of(farm=farm, hand=hand).filter(since).order_by("-received_at", "-id"))
    grounds = _grounds(farm, rows, hand.language)
    return [
        {
            "at": _said_at(report.received_at.astimezone(zone), day, hand.language),
            "what": grounds.get(str(report.body.get("pass_id")), str(KINDS[report.kind])),
            "became": _became(report),
            "waits": became_of(report) == "parked",
        }
        for report in rows
    ]


def _grounds(farm: Farm, reports: Iterable[FieldReport], language: str) -> dict[str, str]:
    """Return the field and the work that reports of work are about, by the pass that they name."""
    named = {str(report.body.get("pass_id")) for report in reports if report.kind == ReportKind.WORK}
    passes = FieldPass.objects.filter(
        farm=farm, pk__in=[int(one) for one in named if one.isdecimal() and len(one) < 16]
    )
    return {
        str(row.pk): f"{row.season.field.name}, {work_words(Operation(row.operation), language)}"
        for row in passes.select_related("season__field")
    }


def _said_at(at: dt.datetime, day: dt.date, language: str) -> str:
    """Return an hour, with its date where that is not the day of the page."""
    hour = words.clock(at, language)
    return hour if at.date() == day else f"{words.long_date(at.date(), language)}, {hour}"


def _became(report: FieldReport) -> str:
    became, parked = became_of(report), parked_of(report)
    if parked is None or (became == "kept" and parked.state == ParkedState.WAITING):
        return _("kept")
    if became == "parked":
        return str(parked.why_for_hand)
    told = (
        [_("does not count")]
        if became == "set_aside"
        else [_("kept"), *_changed(report.kind, report.body, parked)]
    )
    if parked.settled_note:
        told.append(_("the boss says: {words}").format(words=parked.settled_note))
    return "; ".join(told)


def _changed(kind: str, body: dict[str, Any], parked: ParkedReport) -> list[str]:
    """Return what the manager put in the place of what was sent, each by the label of its box."""
    labels = {box.goes_to[0]: str(box.label) for box in reversed(BOXES[kind]) if len(box.goes_to) == 1}
    return [
        _("{label}: {now}, not {sent}").format(
            label=labels.get(name) or name, now=value, sent=body.get(name) or "–"
        )
        for name, value in parked.changes.items()
        if not isinstance(value, (dict, list))
    ]


def _answers(farm: Farm, hand: Hand, now: dt.datetime) -> list[dict[str, str]]:
    """Return what the manager did of late with the hand's reports that waited, and said to it."""
    rows = list(answered_reports(farm=farm, hand=hand, since=now - ANSWERS_STAY)[:MOST_ANSWERS])
    grounds = _grounds(farm, rows, hand.language)
    return [
        {
            "day": words.long_date(_day_of_report(farm, report), hand.language),
            "what": grounds.get(str(report.body.get("pass_id")), str(KINDS[report.kind])),
            "became": _became(report),
        }
        for report in rows
    ]


def _day_of_report(farm: Farm, report: FieldReport) -> dt.date:
    """Return the day that a report is about, by what it says, else when it was written."""
    try:
        return day_from(str(report.body.get("work_on", "")))
    except ValueError:
        return report.stands_at.astimezone(ZoneInfo(farm.zone)).date()


def _task(slip: JobSlip, language: str, is_reported: bool, waits: bool) -> dict[str, Any]:
    return {
        "order": slip.hours.starts_at,
        "slip": slip,
        "said": slip.said(language),
        "field": slip.field.name,
        "work": work_words(slip.operation, language),
        "begins": words.clock(slip.hours.starts_at, language),
        "ends": words.clock(slip.hours.ends_at, language),
        "is_reported": is_reported,
        "waits": waits,
        "is_open": False,
    }


def _stops(farm: Farm, hand: Hand, day: dt.date) -> list[dict[str, Any]]:
    """Return the service stops of a hand's day; one is done where the service was kept since the plan began."""
    zone = ZoneInfo(farm.zone)
    stops = care_of_hand(farm=farm, hand=hand, day=day)
    done = standing_care(farm=farm).filter(rule__in={stop.rule_id for stop in stops})
    done_at = {row.rule_id: row.done_at for row in done.order_by("done_at")}
    return [_stop(stop, hand.language, zone, done_at.get(stop.rule_id)) for stop in stops]


def _stop(stop: PlannedCare, language: str, zone: ZoneInfo, done_at: dt.datetime | None) -> dict[str, Any]:
    begins, ends = stop.starts_at.astimezone(zone), stop.ends_at.astimezone(zone)
    return {
        "order": begins,
        "stop_id": stop.pk,
        "rule_id": stop.rule_id,
        "what": what_is_done(stop.rule, language),
        "tool": thing_name(stop.rule, language),
        "begins": words.clock(begins, language),
        "ends": words.clock(ends, language),
        "place": _place(stop),
        "is_of_pivot": stop.rule.pivot_id is not None,
        "minutes": stop.work_min,
        "has_meter": stop.rule.machine_id is not None,
        "is_open": False,
        "is_reported": done_at is not None and done_at >= stop.plan.starts_at,
    }


def _place(stop: PlannedCare) -> str:
    if stop.rule.place == CarePlace.YARD:
        return _("At the yard.")
    field = field_of_stop(stop)
    if is_brought(stop):
        return _("Bring it to {field}.").format(field=field)
    return _("It stands at {field}.").format(field=field) if field else _("Where it stands.")
