"""How incidents are said on the pages, and the choices that their forms offer."""

import datetime as dt
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from farmops.farms.models import Farm
from farmops.pages import trade_words, words
from scheduling.models import Incident, IncidentKind

MET = (
    gettext_noop("bone"),
    gettext_noop("deer antler"),
    gettext_noop("wire"),
    gettext_noop("scrap metal"),
    gettext_noop("T-post"),
    gettext_noop("limb"),
    gettext_noop("washed-in trash"),
    gettext_noop("glass"),
    gettext_noop("stalk stub"),
)
WHEELS = (
    gettext_noop("left front"),
    gettext_noop("right front"),
    gettext_noop("left rear, outer"),
    gettext_noop("left rear, inner"),
    gettext_noop("right rear, inner"),
    gettext_noop("right rear, outer"),
    gettext_noop("implement, left"),
    gettext_noop("implement, right"),
)


def met_known() -> list[str]:
    """Return what tires meet, offered while one types; anything else may be written."""
    return [words.named(one) for one in MET]


def wheels_known() -> list[str]:
    """Return the wheels, offered while one types."""
    return [words.named(one) for one in WHEELS]


def counted(kind: str, count: int) -> str:
    """Return a count of a kind in words."""
    match IncidentKind(kind):
        case IncidentKind.PUNCTURE:
            told = ngettext("{count} puncture", "{count} punctures", count)
        case IncidentKind.BREAKAGE:
            told = ngettext("{count} breakage", "{count} breakages", count)
        case IncidentKind.STUCK:
            told = ngettext("{count} time stuck", "{count} times stuck", count)
        case IncidentKind.NEAR_MISS:
            told = ngettext("{count} near miss", "{count} near misses", count)
    return told.format(count=words.count_word(count))


def hours(minutes: int) -> str:
    """Return minutes as hours with one decimal."""
    return f"{minutes / 60:.1f} h"


def when(instant: dt.datetime, farm: Farm) -> str:
    """Return a day with its year and hour on the farm's clock."""
    local = instant.astimezone(ZoneInfo(farm.zone))
    return f"{day(local.date())}, {words.clock(local)}"


def day(on: dt.date) -> str:
    """Return a day with its year, short: Mon Apr 6, 2026, or lun 6 abr 2026."""
    return _("{date}, {year}").format(date=words.short_date(on), year=on.year)


def what_met(incident: Incident) -> str:
    """Return the wheel and what it met, as far as they are told; the words of the list are in the reader's language."""
    met = _("met {what}").format(what=words.named(incident.met)) if incident.met else ""
    return ", ".join(part for part in (words.named(incident.wheel), met) if part)


def with_what(incident: Incident) -> str:
    """Return the machine, the implement and the hand, as far as they are told."""
    tools = [trade_words.tool(one) for one in (incident.machine, incident.implement) if one is not None]
    hand = [] if incident.hand is None else [incident.hand.name]
    return ", ".join(tools + hand)
