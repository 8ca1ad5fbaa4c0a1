"""How incidents are said on the pages, and the choices that their forms offer."""

import datetime as dt
from zoneinfo import ZoneInfo

from farmops.farms.models import Farm
from farmops.pages import words
from scheduling.models import Incident, IncidentKind, Mending, PlacedBy

MET = (
    "bone",
    "deer antler",
    "wire",
    "scrap metal",
    "T-post",
    "limb",
    "washed-in trash",
    "glass",
    "stalk stub",
)
"""What tires meet, offered while one types; anything else may be written."""
WHEELS = (
    "left front",
    "right front",
    "left rear, outer",
    "left rear, inner",
    "right rear, inner",
    "right rear, outer",
    "implement, left",
    "implement, right",
)
MENDED = {
    Mending.NONE: "nothing yet",
    Mending.REPAIR: "repaired",
    Mending.NEW_TIRE: "new tire",
    Mending.MISTAKE: "entered by mistake",
}
PLACED = {
    PlacedBy.PHONE: "by the phone",
    PlacedBy.TAPPED: "tapped on the field",
    PlacedBy.TYPED: "typed",
}
PLURAL = {
    IncidentKind.PUNCTURE: "punctures",
    IncidentKind.BREAKAGE: "breakages",
    IncidentKind.STUCK: "times stuck",
    IncidentKind.NEAR_MISS: "near misses",
}
SINGULAR = {
    IncidentKind.PUNCTURE: "puncture",
    IncidentKind.BREAKAGE: "breakage",
    IncidentKind.STUCK: "time stuck",
    IncidentKind.NEAR_MISS: "near miss",
}


def counted(kind: str, count: int) -> str:
    """Return a count of a kind in words."""
    known = IncidentKind(kind)
    return f"{words.count_word(count)} {SINGULAR[known] if count == 1 else PLURAL[known]}"


def hours(minutes: int) -> str:
    """Return minutes as hours with one decimal."""
    return f"{minutes / 60:.1f} h"


def when(instant: dt.datetime, farm: Farm) -> str:
    """Return a day with its year and hour on the farm's clock."""
    local = instant.astimezone(ZoneInfo(farm.zone))
    return f"{words.short_date(local.date())}, {local.year}, {words.clock(local)}"


def what_met(incident: Incident) -> str:
    """Return the wheel and what it met, as far as they are told."""
    met = f"met {incident.met}" if incident.met else ""
    return ", ".join(part for part in (incident.wheel, met) if part)


def with_what(incident: Incident) -> str:
    """Return the machine, the implement and the hand, as far as they are told."""
    parts = [incident.machine, incident.implement, incident.hand]
    return ", ".join(str(part) for part in parts if part is not None)
