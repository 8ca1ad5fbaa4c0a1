"""What the list of services shows: everything that is served on the farm, the soonest first."""

import datetime as dt
from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.farms.models import Farm, Pivot
from farmops.pages import care_words, words
from farmops.pages.many_links import Address, addresses
from scheduling.selectors.care_ahead import CareAhead, care_ahead
from scheduling.selectors.meters import meter_states


def care_facts(*, farm: Farm, now: dt.datetime) -> dict[str, Any]:
    """Return every service in use with what is left of it, and the meters that somebody should look at."""
    today = local_date(now, farm.zone)
    ahead = care_ahead(farm=farm, now=now)
    pages = {kind: addresses("pages:machine", farm.code, kind) for kind in ("machine", "implement", "pivot")}
    pivots = Pivot.objects.filter(farm=farm).values_list("pk", "name")
    odd = [one for one in meter_states(farm=farm, at=now) if one.is_odd]
    return {
        "headline": _headline(ahead, today),
        "services": [_row(one, today, ZoneInfo(farm.zone), pages) for one in ahead],
        "odd_meters": [
            {"at": pages["machine"](one.machine.pk), "name": words.capital(care_words.name_of(one.machine))}
            for one in odd
        ],
        "pivots": [{"at": pages["pivot"](pk), "name": name} for pk, name in pivots],
    }


def _headline(ahead: list[CareAhead], today: dt.date) -> str:
    over = [one for one in ahead if one.due.left.is_over]
    if not ahead:
        return _("No service is entered yet.")
    if len(over) == 1:
        return _("{service}: due now.").format(service=words.capital(care_words.rule_said(over[0].due.rule)))
    if over:
        return ngettext("{count} service is due now.", "{count} services are due now.", len(over)).format(
            count=words.capital(words.count_word(len(over)))
        )
    soonest = ahead[0]
    if soonest.expected_on is None:
        return _("No service falls due within a year at this pace.")
    return _("Nothing is due now; next is {service}, {due}.").format(
        service=care_words.rule_said(soonest.due.rule), due=care_words.expected_said(soonest, today)
    )


def _row(one: CareAhead, today: dt.date, zone: ZoneInfo, pages: Mapping[str, Address]) -> dict[str, Any]:
    rule, stop = one.due.rule, one.stop
    local = None if stop is None else stop.starts_at.astimezone(zone)
    return {
        "what": words.capital(care_words.done_said(rule)),
        "at": pages[type(rule.thing).__name__.lower()](rule.thing.pk),
        "name": care_words.name_of(rule.thing),
        "how_often": care_words.how_often(rule),
        "left": care_words.left_said(one.due.left),
        "is_over": one.due.left.is_over,
        "expected": care_words.expected_said(one, today),
        "stop": "" if local is None else f"{words.short_date(local.date())}, {words.clock(local)}",
    }
