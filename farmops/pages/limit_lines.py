"""A limit in one line of plain words, with its number and unit as people read them."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext, npgettext

from farmops.pages import words
from scheduling.windows import Limit
from scheduling.windows.limits import MEASURES, Land, LimitKind, Quantity
from scheduling.windows.wording import clock_en, clock_es

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
    "share_of_workable": gettext_noop("of the zone's wet limit"),
    "share_of_dry": gettext_noop("of the zone's dry limit"),
    "share_of_field_capacity": gettext_noop("of field capacity"),
    "share_of_plant_water": gettext_noop("of the water that plants can take"),
    "share_of_evaporable_water": gettext_noop("of the water that the sun can take"),
}
UNITS = {"F": "°F", "pct": "%", "yes_no": ""}
LAND = {Land.DRY: gettext_noop("dry land"), Land.PIVOT: gettext_noop("under a pivot")}


def unit_of(limit: Limit, *, number: float = 2) -> str:
    """Return the unit in which people read and type the limit's number, as it goes with a number."""
    count = 1 if number == 1 else 2
    match limit.unit:
        case "h":
            return ngettext("hour", "hours", count)
        case "days":
            return ngettext("day", "days", count)
        case "degrees":
            return ngettext("degree", "degrees", count)
        case "in":
            return npgettext("inches", "in", "in", count)
        case unit:
            return "%" if unit in SHARES else UNITS.get(unit, unit)


def of_what(limit: Limit) -> str:
    """Return what a share in per cent is a share of."""
    return words.named(OF_WHAT.get(limit.unit, ""))


def box_unit(limit: Limit) -> str:
    """Return what the box of the limit's number asks for."""
    if limit.kind is LimitKind.LABEL:
        return _("{unit} beyond the label's").format(unit=unit_of(limit))
    return f"{unit_of(limit)} {of_what(limit)}".strip()


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
    return _("{low} to {high} {unit}").format(low=low, high=high, unit=unit_of(limit))


def per_cent_refused(limit: Limit, number: float, sentence: str) -> str:
    """Return why a number is refused; of a share that lies outside its span in per cent, as it was typed."""
    measure = MEASURES[limit.quantity]
    if limit.unit not in SHARES or measure.least <= number <= measure.most:
        return sentence
    typed = typed_number(replace(limit, number=number))
    return _("{number} % cannot be; it is told from {span}.").format(number=typed, span=span_of(limit))


def number_said(limit: Limit) -> str:
    """Return the limit's number with its unit: "65 °F", "100 % of the zone's wet limit"."""
    if limit.unit in SHARES:
        return f"{typed_number(limit)} % {of_what(limit)}".strip()
    digits = f"{limit.number:,.0f}" if limit.quantity is Quantity.TRAFFIC else f"{limit.number:g}"
    return f"{digits} {unit_of(limit, number=limit.number)}".strip()


def limit_line(limit: Limit) -> str:
    """Return what must hold, in one line: "soil at 4 in, mean of the day, at least 65 °F three days running"."""
    return f"{_where(limit)}{_line(limit)}"


def _where(limit: Limit) -> str:
    told = [words.named(one) for one in (limit.crop, LAND.get(limit.land, "")) if one]
    return f"{', '.join(told)}: " if told else ""


def _line(limit: Limit) -> str:
    number = number_said(limit)
    held = (_("at least {number}") if limit.is_floor else _("at most {number}")).format(number=number)
    match limit.quantity:
        case Quantity.MEMBER_SHARE:
            return _("an hour counts as open when {held} of the weather that may come leaves it open").format(
                held=held
            )
        case Quantity.RE_ENTRY:
            if limit.number:
                return _(
                    "nobody goes in before the label's hours after spraying are over, and {number} more"
                ).format(number=number)
            return _("nobody goes in before the label's hours after spraying are over")
        case Quantity.PLANT_BACK:
            if limit.number:
                return _(
                    "no planting before the label's days after spraying are over, and {number} more"
                ).format(number=number)
            return _("no planting before the label's days after spraying are over")
        case Quantity.POWER_SHUT:
            return _("not in the hours in which the power supplier shuts the pump")
        case Quantity.PIVOT_RUNS:
            return _("the pivot stands; one that was seen running counts as running for {number}").format(
                number=number
            )
        case Quantity.PIVOT_OFF:
            return _("the pivot is parked, {held} from its parking line").format(held=held)
        case Quantity.DAYLIGHT:
            if limit.number:
                return _("by daylight, from {number} after sunrise to {number} before sunset").format(
                    number=number
                )
            return _("by daylight")
        case Quantity.TRAFFIC:
            return _("topsoil dry enough to carry a wheel of {number} without ruts").format(number=number)
        case _other:
            return f"{_looked_at(limit)} {held}{_spell(limit)}"


def _looked_at(limit: Limit) -> str:
    match limit.quantity:
        case Quantity.RAIN_HOUR:
            return _("rain of the hour")
        case Quantity.RAIN_AHEAD:
            return _("rain of the next {hours} hours").format(hours=limit.hours_ahead)
        case Quantity.RAIN_BEHIND:
            return _("rain of the last {hours} hours").format(hours=limit.hours_back)
        case Quantity.TOPSOIL:
            return _("topsoil's water")
        case Quantity.SUBSOIL:
            return _("water at 6 to 16 in")
        case Quantity.SEED_WATER:
            return _("water where the seed goes")
        case Quantity.SOIL_MEAN:
            return _soil_mean(limit)
        case Quantity.SOIL_HOUR:
            return _soil_hour(limit)
        case Quantity.AIR_MIN:
            return _("lowest air of the day")
        case Quantity.AIR_AHEAD:
            return _("air of the next {hours} hours").format(hours=limit.hours_ahead)
        case Quantity.AIR_BEHIND:
            return _("air of the last {hours} hours").format(hours=limit.hours_back)
        case Quantity.DD60_SUM:
            return _("heat of {days} days").format(days=words.count_word(limit.days_back + limit.days_ahead))
        case Quantity.WIND:
            return _("wind")
        case Quantity.INVERSION:
            return _("risk that the air lies in layers")
        case Quantity.DEW:
            return _("air above its dewpoint by")
        case Quantity.HUMIDITY:
            return _("humidity of the air")
        case other:
            return other.replace("_", " ")


def _soil_mean(limit: Limit) -> str:
    if limit.depth_in is None:
        return _("soil, mean of the day,")
    return _("soil at {depth} in, mean of the day,").format(depth=f"{limit.depth_in:g}")


def _soil_hour(limit: Limit) -> str:
    if limit.depth_in is None:
        return _("soil by {hour}").format(hour=_clock(limit.hour))
    return _("soil at {depth} in by {hour}").format(depth=f"{limit.depth_in:g}", hour=_clock(limit.hour))


def _spell(limit: Limit) -> str:
    """Return over which days it must hold, beyond the day itself; a heat sum has named its days already."""
    if limit.quantity is Quantity.DD60_SUM:
        return ""
    told = ""
    if limit.days_back > 1:
        told += " " + _("{days} days running").format(days=words.count_word(limit.days_back))
    if limit.days_ahead:
        ahead = ngettext("and {days} day on", "and {days} days on", limit.days_ahead)
        told += f", {ahead.format(days=words.count_word(limit.days_ahead))}"
    return told


def _clock(hour: float | None) -> str:
    at = dt.time(*divmod(round((hour or 0) * 60), 60))
    return clock_es(at) if words.speaking() == "es" else clock_en(at)
