"""What people call the ids of a stored problem: its tasks, what it has to work with, its outfits and places."""

import re
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Field, Hand, Implement, Machine, Pump
from scheduling.selectors.care import care_names
from scheduling.selectors.fleet import YARD, pivot_id, place_of, pump_id
from scheduling.selectors.outfits import CUSTOM
from scheduling.selectors.passes import KEY, field_names, keys_in_words, spoken_key
from scheduling.selectors.speaking import named_in, speaking

LEAST_ODD = re.compile(r"[-+:\d]")
"""Only an id with one of these is put in words inside a sentence: others may be plain words of it."""


def names_of_things(*, farm: Farm) -> dict[str, str]:
    """Return what people call the farm's hands, implements and machines, by their codes."""
    return {
        row.code: named_in(row)
        for model in (Hand, Implement, Machine)
        for row in model._default_manager.filter(farm=farm)
    }


def names_of(*, farm: Farm, problem: Mapping[str, Any]) -> dict[str, str]:
    """Return what people call each task, resource, outfit and place of a stored problem, by its id."""
    fields = dict(Field.objects.filter(farm=farm).values_list("code", "name"))
    names = {YARD: _("the yard")} | {place_of(code): name for code, name in fields.items()}
    pivot = _("the pivot of {field}")
    names |= {pivot_id(code): pivot.format(field=name) for code, name in fields.items()}
    for code, name in Pump.objects.filter(farm=farm).values_list("code", "name"):
        names[pump_id(code)] = name
    for model in (Hand, Implement, Machine):
        for row in model._default_manager.filter(farm=farm):
            name = named_in(row)
            names |= {row.code: name, f"{model.__name__.lower()}:{row.code}": name}
    care = care_names(farm=farm, language=speaking())
    for task in problem.get("tasks", []):
        names[task["id"]] = care.get(task["id"]) or task_in_words(task["id"], fields)
        for mode in task["modes"]:
            names[mode["id"]] = outfit_of_names(mode["id"], mode["resources"], names)
    return names


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
