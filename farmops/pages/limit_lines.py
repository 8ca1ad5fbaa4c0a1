"""A limit in one line of plain words, with its number and unit as people read them."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal

from farmops.pages import words
from scheduling.windows import Limit
from scheduling.windows.limits import MEASURES, Land, LimitKind, Quantity
from scheduling.windows.wording import clock_en

SHARES = frozenset(
    {
        "share",
        "share_of_workable",
        "share_of_dry",
        "share_of_field_capacity",
        "share_of_plant_water",
        "share_of_evaporable_water",
    }
)
"""Units that are told in per cent."""
OF_WHAT = {
    "share_of_workable": "of the zone's wet limit",
    "share_of_dry": "of the zone's dry limit",
    "share_of_field_capacity": "of field capacity",
    "share_of_plant_water": "of the water that plants can take",
    "share_of_evaporable_water": "of the water that the sun can take",
}
UNITS = {"F": "°F", "pct": "%", "degrees": "degrees", "h": "hours", "days": "days", "yes_no": ""}
LAND = {Land.DRY: "dry land", Land.PIVOT: "under a pivot"}


def unit_of(limit: Limit) -> str:
    """Return the unit in which people read and type the limit's number."""
    return "%" if limit.unit in SHARES else UNITS.get(limit.unit, limit.unit)


def box_unit(limit: Limit) -> str:
    """Return what the box of the limit's number asks for."""
    unit = OF_WHAT.get(limit.unit, "")
    if limit.kind is LimitKind.LABEL:
        return f"{unit_of(limit)} beyond the label's"
    return f"{unit_of(limit)} {unit}".strip()


def typed_number(limit: Limit) -> str:
    """Return the limit's number as it stands in its box, without its unit."""
    scale = 100 if limit.unit in SHARES else 1
    return f"{limit.number * scale:.10g}"


def number_from(limit: Limit, typed: Decimal) -> float:
    """Return a number that was typed into the box of a limit, in the limit's own unit."""
    return float(typed / 100 if limit.unit in SHARES else typed)


def span_of(limit: Limit) -> str:
    """Return between which numbers a choice may lie, as the box takes them; empty for a limit without a number."""
    measure = MEASURES[limit.quantity]
    if measure.least == measure.most:
        return ""
    low, high = (typed_number(replace(limit, number=number)) for number in (measure.least, measure.most))
    return f"{low} to {high} {unit_of(limit)}"


def per_cent_refused(limit: Limit, number: float, sentence: str) -> str:
    """Return why a number is refused; of a share that lies outside its span in per cent, as it was typed."""
    measure = MEASURES[limit.quantity]
    if limit.unit not in SHARES or measure.least <= number <= measure.most:
        return sentence
    typed = typed_number(replace(limit, number=number))
    return f"{typed} % cannot be; it is told from {span_of(limit)}."


def number_said(limit: Limit) -> str:
    """Return the limit's number with its unit: "65 °F", "100 % of the zone's wet limit"."""
    if limit.unit in SHARES:
        return f"{typed_number(limit)} % {OF_WHAT.get(limit.unit, '')}".strip()
    digits = f"{limit.number:,.0f}" if limit.quantity is Quantity.TRAFFIC else f"{limit.number:g}"
    unit = unit_of(limit)
    return f"{digits} {unit.removesuffix('s') if limit.number == 1 else unit}".strip()


def limit_line(limit: Limit) -> str:
    """Return what must hold, in one line: "soil at 4 in, mean of the day, at least 65 °F three days running"."""
    return f"{_where(limit)}{_line(limit)}"


def _where(limit: Limit) -> str:
    told = [one for one in (limit.crop, LAND.get(limit.land, "")) if one]
    return f"{', '.join(told)}: " if told else ""


def _line(limit: Limit) -> str:
    number = number_said(limit)
    held = f"{'at least' if limit.is_floor else 'at most'} {number}"
    match limit.quantity:
        case Quantity.MEMBER_SHARE:
            return f"an hour counts as open when {held} of the weather that may come leaves it open"
        case Quantity.RE_ENTRY:
            return "nobody goes in before the label's hours after spraying are over" + _beyond(limit, number)
        case Quantity.PLANT_BACK:
            return "no planting before the label's days after spraying are over" + _beyond(limit, number)
        case Quantity.POWER_SHUT:
            return "not in the hours in which the power supplier shuts the pump"
        case Quantity.PIVOT_RUNS:
            return f"the pivot stands; one that was seen running counts as running for {number}"
        case Quantity.PIVOT_OFF:
            return f"the pivot is parked, {held} from its parking line"
        case Quantity.DAYLIGHT:
            return "by daylight" + (
                f", from {number} after sunrise to {number} before sunset" if limit.number else ""
            )
        case Quantity.TRAFFIC:
            return f"topsoil dry enough to carry a wheel of {number} without ruts"
        case _:
            return f"{_looked_at(limit)} {held}{_spell(limit)}"


def _looked_at(limit: Limit) -> str:
    depth = "" if limit.depth_in is None else f" at {limit.depth_in:g} in"
    match limit.quantity:
        case Quantity.RAIN_HOUR:
            return "rain of the hour"
        case Quantity.RAIN_AHEAD:
            return f"rain of the next {limit.hours_ahead} hours"
        case Quantity.RAIN_BEHIND:
            return f"rain of the last {limit.hours_back} hours"
        case Quantity.TOPSOIL:
            return "topsoil's water"
        case Quantity.SUBSOIL:
            return "water at 6 to 16 in"
        case Quantity.SEED_WATER:
            return "water where the seed goes"
        case Quantity.SOIL_MEAN:
            return f"soil{depth}, mean of the day,"
        case Quantity.SOIL_HOUR:
            return f"soil{depth} by {_clock(limit.hour)}"
        case Quantity.AIR_MIN:
            return "lowest air of the day"
        case Quantity.AIR_AHEAD:
            return f"air of the next {limit.hours_ahead} hours"
        case Quantity.AIR_BEHIND:
            return f"air of the last {limit.hours_back} hours"
        case Quantity.DD60_SUM:
            return f"heat of {words.count_word(limit.days_back + limit.days_ahead)} days"
        case Quantity.WIND:
            return "wind"
        case Quantity.INVERSION:
            return "risk that the air lies in layers"
        case Quantity.DEW:
            return "air above its dewpoint by"
        case Quantity.HUMIDITY:
            return "humidity of the air"
        case _:
            return limit.quantity.replace("_", " ")


def _spell(limit: Limit) -> str:
    """Return over which days it must hold, beyond the day itself; a heat sum has named its days already."""
    if limit.quantity is Quantity.DD60_SUM:
        return ""
    running = f" {words.count_word(limit.days_back)} days running" if limit.days_back > 1 else ""
    days = "day" if limit.days_ahead == 1 else "days"
    ahead = f", and {words.count_word(limit.days_ahead)} {days} on" if limit.days_ahead else ""
    return running + ahead


def _beyond(limit: Limit, number: str) -> str:
    return f", and {number} more" if limit.number else ""


def _clock(hour: float | None) -> str:
    return clock_en(dt.time(*divmod(round((hour or 0) * 60), 60)))
