"""What would help a week: the questions a manager can ask of a plan, and their answers in dollars."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from farmops.desk.help_lines import changes_in_words
from farmops.desk.supposing import Answer, Help
from farmops.farms.operations import Operation
from farmops.pages import words
from scheduling.models import WeekPlan
from scheduling.selectors.plan_documents import made_once
from scheduling.selectors.spoken import names_of_things
from scheduling.slips.words import work_words


@dataclass(frozen=True)
class Told:
    """One answer: what was supposed, what it is worth, how surely, and what it would change."""

    says: str
    worth: str
    sure: str
    changes: list[str]
    is_loss: bool


def asking_facts(*, plan: WeekPlan) -> dict[str, Any]:
    """Return what can be supposed of a plan's week, by groups, and the days on which."""
    names = names_of_things(farm=plan.farm)
    hands, tools, operations = made_once(plan, "supposable", lambda: _supposable(plan.problem))
    more = [
        ("hand:+1", _("one more hand")),
        ("overtime:+1h", _("one more hour of overtime")),
        ("overtime:+2h", _("two more hours of overtime")),
    ]
    for operation in operations:
        work = work_words(Operation(operation), words.speaking())
        more += [
            (f"{operation}:+1", _("one more implement to {work}, alone").format(work=work)),
            (
                f"outfit:{operation}:+1",
                _("an implement to {work}, hired with what pulls it and its driver").format(work=work),
            ),
        ]
    more += [(f"{name}:+1", _("one more like {name}").format(name=names.get(name, name))) for name in tools]
    fewer = [(f"{name}:-1", _("{name} away").format(name=names.get(name, name))) for name in hands]
    fewer += [(f"{name}:-1", _("{name} down").format(name=names.get(name, name))) for name in tools]
    return {
        "choices": [
            (_("More"), more),
            (_("Less"), fewer),
            (_("Weather"), [("rain", _("rain that stops the work on the ground"))]),
        ],
        "days": [("", _("all days")), *((day.isoformat(), words.long_date(day)) for day in plan_days(plan))],
    }


def plan_days(plan: WeekPlan) -> list[dt.date]:
    """Return the days of a plan on the farm's clock."""
    first = dt.datetime.fromisoformat(plan.problem["start"]).date()
    return [first + dt.timedelta(days=count) for count in range(plan.days)]


def supposed(*, what: str, day: str, usd_per_h: str) -> str:
    """Return the text of one question as it is asked of the planner."""
    price = f"=${usd_per_h}/h" if usd_per_h else ""
    return f"{what}{price}" + (f"@{day}" if day else "")


def help_facts(*, found: Help) -> dict[str, Any]:
    """Return the answers, best first, with the sentence that sums them up."""
    return {
        "answer": _headline(found.answers),
        "as_it_is": _(
            "As it is, these days cost {cost}; no plan for them can cost less than {least}."
        ).format(cost=words.dollars(found.cost_cents), least=words.dollars(found.bound_cents)),
        "told": [_told(one) for one in found.answers],
    }


def _headline(answers: Sequence[Answer]) -> str:
    best = answers[0] if answers else None
    if best is None or best.cents is None:
        return _("With that no plan keeps every rule.") if best else _("Nothing was asked.")
    if len(answers) == 1:
        return f"{best.says}: {_worth(best.cents)}."
    if best.cents > 0:
        return _("{what} would help most: it saves {usd}.").format(
            what=best.says, usd=words.dollars(best.cents)
        )
    return _("Nothing of that would save anything.")


def _worth(cents: int) -> str:
    if cents == 0:
        return _("worth nothing")
    if cents > 0:
        return _("saves {usd}").format(usd=words.dollars(cents))
    return _("costs {usd}").format(usd=words.dollars(-cents))


def _told(one: Answer) -> Told:
    if one.cents is None:
        none = one.why_none or _("With it no plan keeps every rule.")
        return Told(one.says, _("no plan"), "", [none], True)
    return Told(one.says, words.capital(_worth(one.cents)), _sure(one), changes_in_words(one), one.cents < 0)


def _sure(one: Answer) -> str:
    if one.is_sure:
        return _("proved")
    if one.least_cents is None or one.most_cents is None:
        return ""
    return _("{least} to {most}").format(
        least=words.dollars(one.least_cents), most=words.dollars(one.most_cents)
    )


def _supposable(problem: Mapping[str, Any]) -> tuple[list[str], list[str], list[str]]:
    """Return the hands of a problem, what pulls and is pulled, and the kinds of work that an implement does."""
    kinds: dict[str, list[str]] = {}
    for one in problem.get("resources", []):
        kinds.setdefault(one["kind"], []).append(one["id"])
    hands = kinds.pop("hand", [])
    tools = [name for kind, found in kinds.items() if kind not in ("pivot", "pump") for name in found]
    return hands, tools, _with_an_implement(problem, set(kinds.get("implement", [])))


def _with_an_implement(problem: Mapping[str, Any], implements: set[str]) -> list[str]:
    """Return the kinds of work of a problem that an implement does, each once, in the order of the tasks."""
    found: dict[str, None] = {}
    for task in problem.get("tasks", []):
        if any(implements & set(mode["resources"]) for mode in task["modes"]):
            found[task["operation"]] = None
    return [operation for operation in found if operation in set(Operation)]
