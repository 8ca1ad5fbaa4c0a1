"""The hours fit to spray today, as wind, inversion, rain and light let anybody; each field has its own say besides.

What it is for: to know at five whether the sprayer goes out, and until when. Its user decides there who sprays first.
"""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farmops.pages import words
from farmops.pages.plots.time_strip import instant, odds

SURE = 0.95
MOST_STRETCHES = 3


def air_said(air: dict[str, Any], *, day: dt.date, zone: str) -> str:
    """Return when it is fit to spray on a day, or why it is not; from the windows of the air of that day."""
    start = dt.datetime.combine(day, dt.time(), ZoneInfo(zone))
    told = [_stretch(one, start) for one in _joined(air["open"])[:MOST_STRETCHES]]
    if told:
        return _("Fit to spray today: {hours}. The label and each field's own hours count besides.").format(
            hours=", ".join(told)
        )
    longest = max(air["shut"], key=lambda one: one["to"] - one["from"], default=None)
    if longest is None:
        return ""
    why = longest["says_es" if words.speaking() == "es" else "says"].partition(";")[0]
    return _("No hour is fit to spray today: {why}.").format(why=why.removesuffix("."))


def _joined(opens: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return stretches that touch as one, with the least of their odds."""
    found: list[dict[str, Any]] = []
    for one in opens:
        if found and found[-1]["to"] == one["from"]:
            last = found[-1]
            found[-1] = {**last, "to": one["to"], "chance": min(last["chance"], one["chance"])}
        else:
            found.append(one)
    return found


def _stretch(one: dict[str, Any], start: dt.datetime) -> str:
    hours = _("{begins} to {ends}").format(
        begins=words.clock(instant(start, one["from"])), ends=words.clock(instant(start, one["to"]))
    )
    return hours if one["chance"] >= SURE else f"{hours} ({odds(float(one['chance']))})"
