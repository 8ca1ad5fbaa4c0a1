"""Setting a farm up: what is there, what comes next, and the way to each.

What it is for: to get from an empty farm to a plan for the week, in one sitting or in several. Its user decides there
what to enter next.
"""

from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.desk.start_steps import CAN_WAIT, StartStep, StepKey, start_steps
from farmops.farms.models import Farm
from farmops.pages import words


@dataclass(frozen=True)
class StepRow:
    """One step as the page lists it."""

    name: str
    says: str
    state: str
    address: str
    is_there: bool
    is_next: bool


def start_facts(*, farm: Farm) -> dict[str, Any]:
    """Return the steps of setting a farm up, and the sentence that sums them up."""
    steps = start_steps(farm=farm)
    needed = [one for one in steps if one.key not in CAN_WAIT]
    return {
        "headline": _headline(needed),
        "needed": [_row(farm, one) for one in needed],
        "later": [_row(farm, one) for one in steps if one.key in CAN_WAIT],
        "next": next((_row(farm, one) for one in steps if one.is_next), None),
    }


def _headline(needed: list[StartStep]) -> str:
    there = sum(1 for one in needed if one.is_there)
    if there == len(needed):
        return _("The farm is set up: all that a plan needs is there.")
    following = next(one for one in needed if one.is_next)
    said = ngettext(
        "{count} of {all} steps is done. Next: {step}.",
        "{count} of {all} steps are done. Next: {step}.",
        there,
    )
    return words.capital(
        said.format(
            count=words.count_word(there), all=words.count_word(len(needed)), step=_name(following.key)
        )
    )


def _name(key: StepKey) -> str:
    return {
        StepKey.FARM: _("the farm"),
        StepKey.BOUNDARIES: _("the boundaries of the fields"),
        StepKey.CROPS: _("crop and soil of each field"),
        StepKey.MACHINES: _("machines"),
        StepKey.IMPLEMENTS: _("implements"),
        StepKey.HANDS: _("hands and their hours"),
        StepKey.WEATHER: _("the weather of the last months"),
        StepKey.ORDERS: _("orders of work, with their planting windows"),
        StepKey.PLAN: _("the first plan of a week"),
        StepKey.PIVOTS: _("pumps and pivots"),
        StepKey.PEOPLE: _("others who sign in"),
        StepKey.RATES: _("wages and prices"),
    }[key]


def _row(farm: Farm, step: StartStep) -> StepRow:
    return StepRow(
        name=words.capital(_name(step.key)),
        says=_says(step),
        state=_state(step),
        address=_address(farm, step.key),
        is_there=step.is_there,
        is_next=step.is_next,
    )


def _state(step: StartStep) -> str:
    if step.is_waiting:
        return _("a file waits to be kept")
    if step.is_there:
        return _("done")
    if step.is_next:
        return _("next")
    return _("can wait") if step.key in CAN_WAIT else _("not yet")


def _says(step: StartStep) -> str:
    count = step.count
    said = {
        StepKey.FARM: _("its name, its clock and its place"),
        StepKey.BOUNDARIES: _("from a GeoJSON, KML or zipped shapefile; the acres are worked out")
        if not count
        else ngettext("{count} field", "{count} fields", count),
        StepKey.CROPS: _("what grows there this year, and the texture of the topsoil")
        if not count
        else ngettext("{count} field has a crop", "{count} fields have a crop", count),
        StepKey.MACHINES: _("tractors, sprayers, combines and pickers, as rows of a table")
        if not count
        else ngettext("{count} machine", "{count} machines", count),
        StepKey.IMPLEMENTS: _("disk, bedder, planter and the others, as rows of a table")
        if not count
        else ngettext("{count} implement", "{count} implements", count),
        StepKey.HANDS: _("who works, on which days, and what each may do")
        if not count
        else ngettext("{count} hand", "{count} hands", count),
        StepKey.WEATHER: _("rain and temperatures from which the ground is worked out")
        if not count
        else _("is known"),
        StepKey.ORDERS: _("what each crop needs in which order, laid over its fields")
        if not count
        else ngettext("{count} pass waits", "{count} passes wait", count),
        StepKey.PLAN: _("made on the page Week")
        if not count
        else ngettext("{count} plan is made", "{count} plans are made", count),
        StepKey.PIVOTS: _("where fields are irrigated")
        if not count
        else ngettext("{count} pivot", "{count} pivots", count),
        StepKey.PEOPLE: ngettext("{count} signs in now", "{count} sign in now", count),
        StepKey.RATES: _("so that plans and fields are told in your own dollars")
        if not count
        else ngettext("{count} rate", "{count} rates", count),
    }[step.key]
    return said.format(count=count)


def _address(farm: Farm, key: StepKey) -> str:
    pages = {
        StepKey.FARM: ("pages:start_place", []),
        StepKey.BOUNDARIES: ("pages:start_boundaries", []),
        StepKey.CROPS: ("pages:start_fields", []),
        StepKey.MACHINES: ("pages:start_table", ["machines"]),
        StepKey.IMPLEMENTS: ("pages:start_table", ["implements"]),
        StepKey.HANDS: ("pages:start_table", ["hands"]),
        StepKey.WEATHER: ("pages:start_weather", []),
        StepKey.ORDERS: ("pages:orders", []),
        StepKey.PLAN: ("pages:week", []),
        StepKey.PIVOTS: ("pages:start_table", ["pumps"]),
        StepKey.PEOPLE: ("pages:start_people", []),
        StepKey.RATES: ("pages:start_rates", []),
    }
    name, more = pages[key]
    return reverse(name, args=[farm.code, *more])
