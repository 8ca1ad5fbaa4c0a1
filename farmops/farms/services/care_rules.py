"""Entering and changing service rules one at a time."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from farmops.farms.models import CareRule, Farm
from farmops.farms.services.facts import FactRefused, add_fact, change_fact

COUNTS = ("every_h", "every_days", "every_ac")
THINGS = ("machine", "implement")


def add_care_rule(*, farm: Farm, values: Mapping[str, Any]) -> CareRule:
    """Keep a service rule of one machine or implement. Raises FactRefused, FactTaken."""
    _refuse_odd(values)
    return add_fact(farm=farm, model=CareRule, values=values)


@transaction.atomic
def change_care_rule(*, rule: CareRule, values: Mapping[str, Any]) -> CareRule:
    """Change some columns of a service rule, and who does it; what it is of stays. Raises FactRefused."""
    for name in THINGS:
        if name in values and values[name] != getattr(rule, name):
            raise FactRefused(f"The {name} of a service rule stays as it is.", fields={name: "cannot change"})
    _refuse_odd({name: getattr(rule, name) for name in (*COUNTS, *THINGS)} | dict(values))
    return change_fact(row=rule, values=values)


def _refuse_odd(values: Mapping[str, Any]) -> None:
    if sum(values.get(name) is not None for name in THINGS) != 1:
        raise FactRefused(
            "A service is of one machine or of one implement.", fields=dict.fromkeys(THINGS, "one of both")
        )
    if all(values.get(name) is None for name in COUNTS):
        raise FactRefused(
            "Say how often: after so many hours, days or acres.", fields=dict.fromkeys(COUNTS, "one of these")
        )
