"""The documents of a plan at hand: read once in a process, since they are written with the plan and never changed after.

A large farm's plan carries ten megabytes of them, and a page tells of a few rows. Pages read plans by
`without_documents` and ask for `with_documents`; what is at hand is shared by all readers and not to be written into.
"""

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from threading import Lock
from typing import Any, TypeVar

from django.db import connection
from django.db.models import QuerySet

from farmops.core.ready import Ready
from scheduling.models import PlanState, WeekPlan

DOCUMENTS = ("problem", "plan", "windows", "not_offered")
MOST_PLANS = 4
"""The plan that counts, the newest, the one before it, and one more."""
AT_HAND = "_documents_at_hand"
Made = TypeVar("Made")


@dataclass(frozen=True)
class _Documents:
    """The documents of one plan, and what was made of them, each with what else it was made from."""

    values: tuple[Any, ...]
    made: dict[str, tuple[Hashable, Any]] = field(default_factory=dict)


_kept: OrderedDict[Hashable, _Documents] = OrderedDict()
_lock = Lock()


def without_documents() -> QuerySet[WeekPlan]:
    """Return all plans, without reading their documents."""
    return WeekPlan.objects.defer(*DOCUMENTS)


SENT, MADE = (
    Ready(
        lambda farm_id, state=state, order=order: (
            without_documents().filter(farm=farm_id, state=state).order_by(order)[:1]
        ),
        -1,
    )
    for state, order in ((PlanState.SENT, "number"), (PlanState.MADE, "-number"))
)
"""The plan of a farm that is sent, and the newest that is made, without their documents."""
NEWEST = Ready(lambda farm_id: without_documents().filter(farm=farm_id).order_by("-number")[:1], -1)


def with_documents(*, plan: WeekPlan) -> WeekPlan:
    """Return the plan with its documents at hand, read where this process has not read them lately; at most one query."""
    key = _key(plan)
    with _lock:
        found = _kept.get(key)
        if found is None:
            problem, answer, windows, not_offered = (
                WeekPlan.objects.filter(pk=plan.pk).values_list(*DOCUMENTS).get()
            )
            found = _kept[key] = _Documents((problem, answer, told_once(windows), not_offered))
            while len(_kept) > MOST_PLANS:
                _kept.popitem(last=False)
        else:
            _kept.move_to_end(key)
    for name, value in zip(DOCUMENTS, found.values, strict=True):
        setattr(plan, name, value)
    plan.__dict__[AT_HAND] = found
    return plan


def made_once(plan: WeekPlan, what: str, make: Callable[[], Made], *, of: Hashable = ()) -> Made:
    """Return what `make` gives of a plan's documents, and of nothing else but `of`: made once where those are at hand.

    What is given is shared, and not to be written into.
    """
    if not is_at_hand(plan):
        return make()
    found: _Documents = plan.__dict__[AT_HAND]
    kept = found.made.get(what)
    if kept is None or kept[0] != of:
        kept = found.made[what] = of, make()
    value: Made = kept[1]
    return value


def is_at_hand(plan: WeekPlan) -> bool:
    """Return whether a plan has its documents at hand, and none was put in their place."""
    found: _Documents | None = plan.__dict__.get(AT_HAND)
    return found is not None and all(
        plan.__dict__.get(name) is value for name, value in zip(DOCUMENTS, found.values, strict=True)
    )


def told_once(value: Any, known: dict[Hashable, Any] | None = None) -> Any:
    """Return a JSON value that was just read with all that is the same in it as one object, in its own place.

    Windows say the same of many fields, and take a tenth of the memory then. Not for what is copied and changed.
    """
    known = {} if known is None else known
    kind = type(value)
    key: Hashable
    if kind is dict:
        for name, part in value.items():
            value[name] = told_once(part, known)
        key = (dict, *value, *map(id, value.values()))
    elif kind is list:
        value[:] = [told_once(part, known) for part in value]
        key = (list, *map(id, value))
    else:
        key = (kind, repr(value) if kind is float else value)  # 0.0 is not -0.0
    return known.setdefault(key, value)


def digest_of(*, plan: WeekPlan) -> str:
    """Return a hash of a plan's problem and answer."""

    def make() -> str:
        text = json.dumps([plan.problem, plan.plan], sort_keys=True, ensure_ascii=True)
        return hashlib.sha256(text.encode("ascii")).hexdigest()

    return made_once(plan, "digest", make)


def forget() -> None:
    """Forget all documents at hand: another database may have another plan under the same number."""
    with _lock:
        _kept.clear()


def _key(plan: WeekPlan) -> Hashable:
    """Return what no two plans have in common, though a row id was given anew after what was laid was taken back."""
    named = connection.settings_dict
    return (
        (named["NAME"], named["HOST"]),
        (plan.pk, plan.farm_id, plan.number),
        (plan.made_at, plan.starts_at, plan.days, plan.against_id),
        (plan.problem_hash, plan.seed, plan.status, plan.cost_cents, plan.bound_cents),
    )
