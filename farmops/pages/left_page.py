"""What a week's plan does not hold: passes left with the reason, and apart from them those whose time has not come."""

import datetime as dt
from dataclasses import dataclass

from django.utils.translation import gettext as _

from farmops.farms.operations import PIVOT_MOVES
from farmops.pages import words
from farmops.pages.walks import WalkInTheWay, walks_to_call_off
from farmops.pages.week_says import not_due_headline
from scheduling.models import WeekPlan
from scheduling.selectors.left import left_by_cause
from scheduling.selectors.passes import KEY, open_passes, pass_key, spoken_key
from scheduling.selectors.plans import ALL_REPORTED, left_of_plan, not_yet_due_of
from scheduling.selectors.spoken import names_of_fields


@dataclass(frozen=True)
class Left:
    """One pass that the plan left: where and what, what waits for it, where it can be held, and the walk that is in its way."""

    ground: str
    work: str
    followers: tuple[str, ...]
    pass_id: int | None
    walk: WalkInTheWay | None = None


@dataclass
class Cause:
    """Why passes are left, and which: what is told in the same words is told once."""

    why: str
    next_best: tuple[str, ...]
    works: list[Left]


@dataclass(frozen=True)
class LaterWork:
    """A kind of work that is not due yet, from which day on, and on which fields."""

    when: str
    work: str
    fields: str


@dataclass(frozen=True)
class Later:
    """The passes whose time is after the days of the plan."""

    headline: str
    count: int
    works: list[LaterWork]


def left_of_week(plan: WeekPlan) -> list[Cause]:
    """Return why the plan left what, each pass with where it can be held; without what is not due yet."""
    later = not_yet_due_of(plan=plan)
    found = [
        (cause, works)
        for cause in left_by_cause(plan=plan)
        if (works := [one for one in cause.works if one.key not in later])
    ]
    if not found:
        return []
    fields = {one.key.partition("/")[0].partition(".")[0] for _cause, works in found for one in works}
    left_on = open_passes(farm=plan.farm).filter(season__field__code__in=fields)
    ids = {pass_key(one): one.pk for one in left_on}
    walks = walks_to_call_off(farm=plan.farm)
    return [
        Cause(
            cause.why,
            cause.next_best,
            [
                Left(one.ground, one.work, one.followers, ids.get(one.key), walks.get(ids.get(one.key, 0)))
                for one in works
            ],
        )
        for cause, works in found
    ]


def later_of_week(plan: WeekPlan) -> Later | None:
    """Return what is not due in the days of a plan, by its first day and kind of work; None where there is nothing."""
    later = {key: day for key, day in not_yet_due_of(plan=plan).items() if not _is_of_a_pivot(key)}
    if not later:
        return None
    names, spoken = names_of_fields(plan=plan), words.speaking()
    found: dict[tuple[dt.date | None, str], list[str]] = {}
    for key, day in sorted(later.items(), key=lambda one: (one[1] or dt.date.max, one[0])):
        ground, work = spoken_key(key, names=names, language=spoken)
        found.setdefault((day, work), []).append(ground)
    days = [day for day in later.values() if day is not None]
    return Later(
        not_due_headline(len(later), min(days, default=None)),
        len(later),
        [
            LaterWork(
                words.table_date(day) if day is not None else _("after what it waits for"),
                work,
                ", ".join(dict.fromkeys(grounds)),
            )
            for (day, work), grounds in found.items()
        ],
    )


def waiting_keys(plan: WeekPlan) -> set[str]:
    """Return the passes that a plan leaves though their time has come; those with all their acres reported only wait for
    a word.
    """
    later = not_yet_due_of(plan=plan)
    return {
        key
        for key, why in left_of_plan(plan=plan)
        if "/" in key and not _is_of_a_pivot(key) and key not in later and ALL_REPORTED not in why
    }


def _is_of_a_pivot(key: str) -> bool:
    found = KEY.fullmatch(key)
    return found is not None and found["operation"] in PIVOT_MOVES
