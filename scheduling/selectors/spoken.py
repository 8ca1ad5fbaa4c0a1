"""What people call the ids of a stored problem: its tasks, what it has to work with, its outfits and places."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Field, Hand, Implement, Machine, Pump
from scheduling.models import WeekPlan
from scheduling.selectors.care import care_names
from scheduling.selectors.fleet import YARD, pivot_id, place_of, pump_id
from scheduling.selectors.outfits import CUSTOM
from scheduling.selectors.passes import KEY, field_names, keys_in_words, spoken_key
from scheduling.selectors.plan_documents import is_at_hand, made_once
from scheduling.selectors.plan_things import Things, things_of_farm, things_of_plan
from scheduling.selectors.speaking import named_in, speaking

LEAST_ODD = re.compile(r"[-+:\d]")
"""Only an id with one of these is put in words inside a sentence: others may be plain words of it."""


def names_of_things(*, farm: Farm) -> dict[str, str]:
    """Return what people call the farm's hands, implements and machines, by their codes."""
    return {
        row.code: named_in(row)
        for model, columns in ((Hand, ()), (Implement, ("name_es",)), (Machine, ("name_es",)))
        for row in model._default_manager.filter(farm=farm).only("code", "name", *columns)
    }


@dataclass(frozen=True)
class _Called:
    """What the farm's records call everything, in the language that is on."""

    language: str
    fields: tuple[tuple[str, str], ...]
    pumps: tuple[tuple[str, str], ...]
    things: tuple[tuple[str, str, str], ...]
    care: tuple[tuple[str, str], ...]

    @classmethod
    def on(cls, farm: Farm, things: Things) -> "_Called":
        rows: list[Hand | Implement | Machine] = [*things.hands.values(), *things.implements.values()]
        rows += things.machines.values()
        return cls(
            speaking(),
            tuple(Field.objects.filter(farm=farm).order_by("pk").values_list("code", "name")),
            tuple(Pump.objects.filter(farm=farm).order_by("pk").values_list("code", "name")),
            tuple((type(row).__name__.lower(), row.code, named_in(row)) for row in rows),
            tuple(care_names(farm=farm, language=speaking()).items()),
        )

    def names(self, problem: Mapping[str, Any]) -> dict[str, str]:
        fields, care = dict(self.fields), dict(self.care)
        names = {YARD: _("the yard")} | {place_of(code): name for code, name in fields.items()}
        of_pivots = _("the pivot of {field}")
        names |= {pivot_id(code): of_pivots.format(field=name) for code, name in fields.items()}
        names |= {pump_id(code): name for code, name in self.pumps}
        for kind, code, name in self.things:
            names |= {code: name, f"{kind}:{code}": name}
        for task in problem.get("tasks", []):
            names[task["id"]] = care.get(task["id"]) or task_in_words(task["id"], fields)
            for mode in task["modes"]:
                names[mode["id"]] = outfit_of_names(mode["id"], mode["resources"], names)
        return names


def names_of(*, farm: Farm, problem: Mapping[str, Any]) -> dict[str, str]:
    """Return what people call each task, resource, outfit and place of a stored problem, by its id."""
    return _Called.on(farm, things_of_farm(farm=farm)).names(problem)


def names_of_plan(*, plan: WeekPlan) -> Mapping[str, str]:
    """Return what people call the ids of a plan's problem, as `names_of` does, in the language that is on.

    For a plan that a page read with its documents at hand, the farm's records are read once.
    """
    called = _called_of(plan)
    return made_once(plan, f"names-{called.language}", lambda: called.names(plan.problem), of=called)


def names_of_fields(*, plan: WeekPlan) -> Mapping[str, str]:
    """Return the name of each field of a plan's farm by its code, from the same reading as `names_of_plan`."""
    return dict(_called_of(plan).fields)


def names_of_care(*, plan: WeekPlan) -> Mapping[str, str]:
    """Return each service in words by its name in a problem, from the same reading as `names_of_plan`."""
    return dict(_called_of(plan).care)


def _called_of(plan: WeekPlan) -> _Called:
    kept: dict[str, _Called] = plan.__dict__.setdefault("_called", {}) if is_at_hand(plan) else {}
    if speaking() not in kept:
        kept[speaking()] = _Called.on(plan.farm, things_of_plan(plan=plan))
    return kept[speaking()]


def task_in_words(task_id: str, fields: Mapping[str, str]) -> str:
    """Return a task as people say it, such as `disk on Pond 80`."""
    ground, work = spoken_key(task_id, names=fields, language=speaking())
    return _("{work} on {field}").format(work=work, field=ground) if work else ground


def outfit_of_names(mode_id: str, resources: list[str], names: Mapping[str, str]) -> str:
    """Return the names of an outfit's parts, such as `tractor 2 + 28 ft disk + Rosa`."""
    if mode_id == CUSTOM or not resources:
        return _("somebody hired")
    return " + ".join(names.get(one, one) for one in resources)


def said_by_names(text: str, *, farm: Farm) -> str:
    """Return a sentence with the ids in it put in the names of the farm's records."""
    names = names_of(farm=farm, problem={}) | care_names(farm=farm, language=speaking())
    return ids_in_words(text, names=names, fields=field_names(farm=farm))


def ids_in_words(text: str, *, names: Mapping[str, str], fields: Mapping[str, str]) -> str:
    """Return a sentence with the tasks, outfits and codes in it put in words; what is no such id stays."""

    def said(found: re.Match[str]) -> str:
        word = found[0].rstrip(".:")
        tail = found[0][len(word) :]
        known = word in names and LEAST_ODD.search(word) and not KEY.fullmatch(word)
        return names[word] + tail if known else found[0]

    return keys_in_words(re.sub(r"[\w:+.-]+(?![\w/])", said, text), names=fields, language=speaking())
