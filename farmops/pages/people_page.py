"""What each hand has in a week plan, a page a person.

For: seeing what goes to whom before a plan is sent, and paper for who wants it. The manager decides here whether it is
sent.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection
from django.db.models import Model
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.core.models import Language
from farmops.farms.models import CareRule, Field, Hand, Implement, Machine, Pivot, Season
from farmops.farms.operations import Operation
from farmops.pages import words
from farmops.pages.board import acres_said
from farmops.pages.board_facts import leaving_said
from scheduling.models import FieldPass, PlannedCare, PlannedTask, WeekPlan
from scheduling.selectors.care import thing_name, what_is_done
from scheduling.selectors.passes import part_said
from scheduling.selectors.plan_documents import DOCUMENTS
from scheduling.selectors.plans import care_of_plan, field_of_stop, listed_tasks, worked_by_day
from scheduling.selectors.row_marks import Marked, as_statement
from scheduling.selectors.slip_ways import Ways
from scheduling.selectors.speaking import named_in
from scheduling.slips.words import work_words


@dataclass(frozen=True)
class Job:
    """One stretch of work of a hand on one day; `change` is a word where the plan that is sent has it otherwise.

    `road` says where the hand's hours are too few for the way there.
    """

    day: str
    hours: str
    place: str
    work: str
    outfit: str
    acres: str
    change: str
    order: str
    road: str = ""


@dataclass
class Person:
    """A hand with the work of the week, and how it reaches him or her."""

    name: str
    reached: str
    jobs: list[Job] = field(default_factory=list)
    changed: int = 0

    @property
    def drawn(self) -> SafeString:
        """Return the jobs as rows of a table: a plan has hundreds, and a template takes ten times as long."""
        return format_html_join(
            "",
            '<tr><td class="day">{}</td><td class="fig">{}</td><th scope="row">{} · {}{}{}</th><td>{}</td>'  # not said
            '<td class="n fig">{}</td></tr>',
            (
                (
                    job.day,
                    job.hours,
                    job.place,
                    job.work,
                    format_html(" <b>({})</b>", job.change) if job.change else "",
                    format_html(" · <b>{}</b>", job.road) if job.road else "",
                    job.outfit,
                    job.acres,
                )
                for job in self.jobs
            ),
        )


def people_mark(*, plan: WeekPlan, before: WeekPlan | None) -> str:
    """Return the mark of all that `people_facts` says of two plans, but for their documents, which never change."""
    with connection.cursor() as cursor:
        plans = (plan.pk,) if before is None else (plan.pk, before.pk)
        cursor.execute(*_statement(plan.farm_id, plans, connection.vendor))
        marks = sorted(cursor.fetchall())
    return repr((plan.farm.code, plan.farm.zone, plans, marks))


@lru_cache(maxsize=256)
def _statement(farm_id: int, plans: tuple[int, ...], vendor: str) -> tuple[str, tuple[Any, ...]]:
    """Return the query of the marks."""
    of_farm: tuple[type[Model], ...] = (Field, Season, Pivot, Machine, Implement, Hand, CareRule)
    kinds = [
        *(model._default_manager.filter(farm=farm_id) for model in of_farm),
        WeekPlan.objects.filter(pk__in=plans).defer(*DOCUMENTS),
        PlannedTask.objects.filter(plan__in=plans),
        PlannedCare.objects.filter(plan__in=plans),
        FieldPass.objects.filter(planned_tasks__plan=plans[0]),
    ]
    return as_statement([Marked(one.model.__name__, one, columns=("pk",)).as_written() for one in kinds])


def people_facts(*, plan: WeekPlan, before: WeekPlan | None) -> dict[str, Any]:
    """Return each hand of a plan with the work of the week, and who had some in the plan before it and has none now.

    `before` is what `plan_before` finds: of a plan that is not sent, the one that is.
    """
    sent = _places(before) if before is not None else None
    people: dict[int, Person] = {}
    hands: dict[int, Hand] = {}
    ways = Ways(farm=plan.farm, plan=plan)
    said = _Said(words.speaking(), _("{begins} to {ends}"), ways, {}, {})
    for task in listed_tasks(plan=plan):
        if task.hand is not None:
            if task.hand.pk not in people:
                people[task.hand.pk] = _person(task.hand)
                hands[task.hand.pk] = task.hand
            people[task.hand.pk].jobs += _jobs(plan, task, sent, said)
    for stop in care_of_plan(plan=plan):
        if stop.hand is not None:
            person = people.setdefault(stop.hand.pk, _person(stop.hand))
            hands[stop.hand.pk] = stop.hand
            person.jobs.append(_stop(plan, stop, sent, said))
    for person in people.values():
        person.jobs.sort(key=lambda job: job.order)
        person.changed = sum(bool(job.change) for job in person.jobs)
    return {
        "before": before,
        "people": sorted(people.values(), key=lambda person: person.name),
        "none_now": _none_now(before, hands) if before is not None else [],
    }


def _none_now(before: WeekPlan, hands: Mapping[int, Hand]) -> list[str]:
    """Return the names of those who had work in a plan and are not among some hands."""
    had = PlannedTask.objects.filter(plan=before, hand__isnull=False).exclude(hand__in=list(hands))
    return sorted(dict(had.values_list("hand_id", "hand__name")).values())


def _person(hand: Hand) -> Person:
    spoken = pgettext("a language", "English")
    if hand.language == Language.SPANISH:
        spoken = pgettext("a language", "Spanish")
    if hand.email:
        says = _("Gets the morning sheet by mail to {address}, in {language}.")
    else:
        says = _("Has no mail address: print the sheet, or have it read on the phone page, in {language}.")
    return Person(hand.name, says.format(address=hand.email, language=spoken))


def _places(plan: WeekPlan) -> dict[str, tuple[str, Any]]:
    return {
        key: (mode, starts_at)
        for table in (PlannedTask, PlannedCare)
        for key, mode, starts_at in table._default_manager.filter(plan=plan).values_list(
            "task_key", "mode", "starts_at"
        )
    }


def _change(row: PlannedTask | PlannedCare, sent: dict[str, tuple[str, Any]] | None) -> str:
    if sent is None or sent.get(row.task_key) == (row.mode, row.starts_at):
        return ""
    return pgettext("a job", "new") if row.task_key not in sent else pgettext("a job", "changed")


@dataclass(frozen=True)
class _Said:
    """What is said of hundreds of jobs in the same words: the language, from when to when, days, machines and implements.

    `ways` are those of the plan.
    """

    language: str
    span: str
    ways: Ways
    days: dict[dt.date, str]
    tools: dict[Machine | Implement, str]

    def day(self, day: dt.date) -> str:
        if day not in self.days:
            self.days[day] = words.short_date(day, self.language)
        return self.days[day]

    def hours(self, begins: dt.datetime, ends: dt.datetime) -> str:
        starts, stops = words.clock(begins, self.language), words.clock(ends, self.language)
        return self.span.format(begins=starts, ends=stops)

    def road(self, row: PlannedTask | PlannedCare, begins: dt.datetime) -> str:
        """Return by when to leave, or from when on the hand is there, where the plan leaves too little time for the way."""
        way = self.ways.journey(task_key=row.task_key, day=begins.date(), begins_at=begins)
        return leaving_said(way, self.language)

    def outfit(self, *tools: Machine | Implement | None) -> str:
        known = [one for one in tools if one is not None]
        for one in known:
            if one not in self.tools:
                self.tools[one] = named_in(one)
        return " + ".join(self.tools[one] for one in known)


def _jobs(
    plan: WeekPlan, task: PlannedTask, sent: dict[str, tuple[str, Any]] | None, said: _Said
) -> list[Job]:
    part = part_said(task.field_pass.part, said.language)
    work = work_words(Operation(task.operation), said.language) + (f" ({part})" if part else "")
    if task.part_count > 1:
        work = _("{work}, part {number} of {count}").format(
            work=work, number=task.part_no, count=task.part_count
        )
    outfit = said.outfit(task.machine, task.implement)
    days = worked_by_day(plan=plan, task=task)
    return [
        Job(
            day=said.day(day),
            hours=said.hours(stretches[0][0], stretches[-1][1]),
            place=task.field.name,
            work=work,
            outfit=outfit,
            acres=acres_said(task, day, list(days)),
            change=_change(task, sent) if not number else "",
            order=stretches[0][0].isoformat(),
            road=said.road(task, stretches[0][0]),
        )
        for number, (day, stretches) in enumerate(days.items())
    ]


def _stop(plan: WeekPlan, stop: PlannedCare, sent: dict[str, tuple[str, Any]] | None, said: _Said) -> Job:
    zone = ZoneInfo(plan.farm.zone)
    begins, ends = stop.starts_at.astimezone(zone), stop.ends_at.astimezone(zone)
    return Job(
        day=said.day(begins.date()),
        hours=said.hours(begins, ends),
        place=field_of_stop(stop) or words.named(stop.rule.get_place_display()),
        work=what_is_done(stop.rule, said.language),
        outfit=thing_name(stop.rule, said.language),
        acres="",
        change=_change(stop, sent),
        order=begins.isoformat(),
        road=said.road(stop, begins),
    )
