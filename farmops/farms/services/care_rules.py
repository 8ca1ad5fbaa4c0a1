"""Entering and changing service rules one at a time."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.text import slugify
from django.utils.translation import gettext as _

from farmops.farms.models import CarePlace, CareRule, Farm
from farmops.farms.services.facts import FactRefused, add_fact, change_fact

COUNTS = ("every_h", "every_days", "every_ac", "every_starts")
LONGEST_WORDS = 32
THINGS = ("machine", "implement", "pivot")


def add_care_rule(*, farm: Farm, values: Mapping[str, Any]) -> CareRule:
    """Keep a service rule of one machine, implement or pivot. Raises FactRefused, FactTaken.

    Without a code it gets one of its words.
    """
    given = dict(values)
    given.setdefault("code", _free_code(farm, given))
    if given.get("pivot") is not None:
        given.setdefault("place", CarePlace.FIELD)
    _refuse_odd(given)
    return add_fact(farm=farm, model=CareRule, values=given)


@transaction.atomic
def change_care_rule(*, rule: CareRule, values: Mapping[str, Any]) -> CareRule:
    """Change some columns of a service rule, and who does it; what it is of stays. Raises FactRefused."""
    for name in THINGS:
        if name in values and values[name] != getattr(rule, name):
            raise FactRefused(
                _("The {name} of a service rule stays as it is.").format(name=name),
                fields={name: "cannot change"},
            )
    kept = {name: getattr(rule, name) for name in (*COUNTS, *THINGS, "place", "counts_from_h")}
    _refuse_odd(kept | dict(values))
    return change_fact(row=rule, values=values)


def _free_code(farm: Farm, values: Mapping[str, Any]) -> str:
    """Return a code of the words of a rule that no other rule has."""
    words = slugify(f"{values.get('what', '')}")[:LONGEST_WORDS].strip("-") or "service"
    taken = set(CareRule.objects.filter(farm=farm, code__startswith=words).values_list("code", flat=True))
    return next(code for number in range(len(taken) + 1) if (code := f"{words}-{number + 1}") not in taken)


def _refuse_odd(values: Mapping[str, Any]) -> None:
    if sum(values.get(name) is not None for name in THINGS) != 1:
        raise FactRefused(
            _("A service is of one machine, of one implement or of one pivot."),
            fields=dict.fromkeys(THINGS, "one of these"),
        )
    if all(values.get(name) is None for name in COUNTS):
        raise FactRefused(
            _("Say how often: after so many hours, days, acres or starts."),
            fields=dict.fromkeys(COUNTS, "one of these"),
        )
    if values.get("machine") is None and values.get("counts_from_h") is not None:
        raise FactRefused(_("Only a machine has an hour meter."), fields={"counts_from_h": "no meter"})
    if values.get("pivot") is None:
        return
    if values.get("every_ac") is not None:
        raise FactRefused(
            _("A pivot is served by hours, days or starts, not by acres."), fields={"every_ac": "of no pivot"}
        )
    if values.get("place") != CarePlace.FIELD:
        raise FactRefused(_("A pivot is served where it stands."), fields={"place": "field"})
