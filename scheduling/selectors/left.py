"""What a plan left, in the words of a person: each cause once, with the passes that only wait for it."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.farms.operations import PIVOT_MOVES
from scheduling.models import WeekPlan
from scheduling.selectors.not_due import WAITS
from scheduling.selectors.passes import KEY, keys_in_words, spoken_key
from scheduling.selectors.plans import left_of_plan
from scheduling.selectors.reasons import why_each
from scheduling.selectors.said_again import limits_of_plan, said_again
from scheduling.selectors.speaking import speaking
from scheduling.selectors.spoken import names_of_care, names_of_fields

MOVING = gettext_noop("moving the pivot")


@dataclass(frozen=True)
class LeftWork:
    """One pass that a plan left: where, what, why, what on the same ground waits for it, its key, and what doing it
    after all would cost where that can be told.
    """

    ground: str
    work: str
    why: str
    followers: tuple[str, ...] = ()
    key: str = ""
    next_best: tuple[str, ...] = ()


@dataclass(frozen=True)
class LeftCause:
    """One reason, and the passes that are left for it in the same words."""

    why: str
    next_best: tuple[str, ...]
    works: tuple[LeftWork, ...]


def left_by_cause(*, plan: WeekPlan) -> list[LeftCause]:
    """Return what a plan left by its reasons, each told once, in the order in which the fields first meet them."""
    found: dict[tuple[str, tuple[str, ...]], list[LeftWork]] = {}
    for one in left_in_words(plan=plan):
        found.setdefault((one.why, one.next_best), []).append(one)
    return [LeftCause(why, next_best, tuple(works)) for (why, next_best), works in found.items()]


def left_in_words(*, plan: WeekPlan) -> list[LeftWork]:
    """Return what a plan left, in the order of the fields.

    A pass that only waits for another on the same ground is told with that one, or with the one that it waits for in
    turn; else it stands by itself. The reasons are those of `why_each`, with names and numbers, where it has one.
    """
    names = {**names_of_fields(plan=plan), **names_of_care(plan=plan)}
    left = left_of_plan(plan=plan)
    causes = _causes(left)
    followers: dict[str, list[str]] = {}
    for key, _why in left:
        if key in causes:
            work = spoken_key(key, names=names, language=speaking())[1]
            operation = KEY.fullmatch(key)
            is_move = operation is not None and operation["operation"] in PIVOT_MOVES
            followers.setdefault(causes[key], []).append(_(MOVING) if is_move else work)
    own = {row["id"].partition("#")[0]: row for row in reversed(plan.plan.get("left", []))}
    whys = why_each(plan=plan) if left else {}
    limits, rows = limits_of_plan(plan=plan), []
    for key, why in left:
        if key in causes:
            continue
        ground, work = spoken_key(key, names=names, language=speaking())
        better = whys.get(own[key]["id"]) if key in own else None
        if better is not None and own[key]["why"] in why:
            some = said_again(why.replace(own[key]["why"], "").strip())
            said, next_best = f"{some} {better.says}".strip(), better.next_best
        else:
            said, next_best = why, ()
        said = keys_in_words(said, names=names, language=speaking())
        rows.append(
            LeftWork(
                ground,
                work,
                said_again(said, limits=limits),
                tuple(dict.fromkeys(followers.get(key, ()))),
                key,
                next_best,
            )
        )
    return rows


def _causes(left: Sequence[tuple[str, str]]) -> dict[str, str]:
    """Return the passes that only wait, each with the one on its own ground for whose sake it is left."""
    ahead: dict[str, str] = {}
    for key, why in left:
        waits_for = KEY.match(why, len(WAITS)) if why.startswith(WAITS) else None
        if waits_for is not None:
            ahead[key] = waits_for[0].partition("#")[0]
    first = {key for key, _why in left} - ahead.keys()
    found = {}
    for key in ahead:
        cause, seen = key, {key}
        while cause in ahead and ahead[cause] not in seen:
            cause = ahead[cause]
            seen.add(cause)
        if cause in first and _ground(cause) == _ground(key):
            found[key] = cause
    return found


def _ground(key: str) -> str:
    return key.partition("/")[0]
