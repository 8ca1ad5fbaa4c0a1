"""What the pages of incidents show, as plain data."""

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from farmops.farms.models import WORKING_KINDS, Farm, Field, Hand, Implement, Machine
from farmops.pages import incident_words, trade_words, words
from farmops.pages.plots.field_map import FieldMap, MapSpot, field_map
from ledger.models import Bill, Category
from ledger.selectors.bills import paid_among
from ledger.selectors.categories import CategoryBook, category_book
from ledger.selectors.incident_bills import bills_of_incidents, bills_that_may_be
from scheduling.debris.places import ground_of
from scheduling.models import IncidentKind, IncidentPlace, Mending, PlacedBy
from scheduling.selectors.incidents import IncidentFacts, incident_facts
from scheduling.selectors.kept_words import kept_said
from scheduling.selectors.reports import photos_of_incident

MOST_SHOWN = 200
DEGREES = "{:.5f}"
BILL_CATEGORIES = (Category.TIRES, Category.REPAIRS, Category.CUSTOM_WORK, Category.OTHER)


def list_facts(*, farm: Farm, kind: str) -> dict[str, Any]:
    """Return all incidents, or those of a kind, the newest first, and the choices of the form."""
    found = incident_facts(farm=farm)
    bills = bills_of_incidents(farm=farm)
    shown = [one for one in found if kind in ("", one.incident.kind)]
    counts = Counter(one.incident.kind for one in found if not one.is_mistake)
    return {
        "headline": _headline([one for one in found if not one.is_mistake], bills),
        "rows": [_row(one, bills.get(one.incident.pk, [])) for one in shown[:MOST_SHOWN]],
        "left_out": max(0, len(shown) - MOST_SHOWN),
        "kind": kind,
        "kinds": [
            (value, incident_words.counted(value, counts[value]))
            for value in IncidentKind.values
            if counts[value]
        ],
        "lost": incident_words.hours(sum(one.lost_min for one in shown)) if shown else "",
        "billed": words.dollars(
            sum(bill.cents for one in shown if not one.is_mistake for bill in bills.get(one.incident.pk, []))
        ),
        **form_choices(farm),
    }


def form_choices(farm: Farm) -> dict[str, Any]:
    """Return what the form for an incident offers."""
    return {
        "kind_choices": [(value, words.named(label)) for value, label in IncidentKind.choices],
        "fields": Field.objects.filter(farm=farm).values_list("pk", "name"),
        "machines": _offered(Machine.objects.filter(farm=farm, kind__in=WORKING_KINDS)),
        "implements": _offered(Implement.objects.filter(farm=farm)),
        "hands": Hand.objects.filter(farm=farm, works=True).values_list("pk", "name"),
        "met_known": incident_words.met_known(),
        "wheels_known": incident_words.wheels_known(),
    }


def _offered(tools: QuerySet[Any]) -> list[tuple[int, str]]:
    return [(one.pk, trade_words.tool(one)) for one in tools]


def blank_form(*, farm: Farm, now: dt.datetime) -> dict[str, str]:
    """Return what stands in the form for an incident before anything is typed."""
    here = now.astimezone(ZoneInfo(farm.zone))
    return {"day": here.date().isoformat(), "hour": f"{here:%H:%M}"}


def one_facts(*, farm: Farm, facts: IncidentFacts) -> dict[str, Any]:
    """Return one incident: what is known of it, its map, its bills and those that may be."""
    incident = facts.incident
    bills = bills_of_incidents(farm=farm, incidents=[incident]).get(incident.pk, [])
    may_be = bills_that_may_be(incident=incident)
    paid = paid_among(bills=[*bills, *may_be])
    place, categories = facts.place, category_book(farm=farm)
    latitude = DEGREES.format(place.latitude_deg) if place is not None else ""
    longitude = DEGREES.format(place.longitude_deg) if place is not None else ""
    return {
        "incident": incident,
        "headline": _one_headline(facts),
        "when": incident_words.when(incident.happened_at, farm),
        "with_what": incident_words.with_what(incident),
        "wheel": words.named(incident.wheel),
        "met": words.named(incident.met),
        "note": "\n".join(kept_said(line) for line in incident.note.splitlines()),
        "is_mistake": facts.is_mistake,
        "is_stub": facts.is_puncture and facts.is_by_stub,
        "lost": incident_words.hours(facts.lost_min) if facts.lost_min else "",
        "mended": words.named(facts.mending.label),
        "mending_note": facts.mended.note if facts.mended is not None else "",
        "mending_choices": [(one.value, words.named(one.label)) for one in Mending],
        "place": f"{latitude}, {longitude}" if place is not None else "",
        "placed": _placed(place),
        "mended_seen": facts.mended.pk if facts.mended is not None else 0,
        "off_field": _off_field(facts),
        "map": _map(facts),
        "bills": [_bill(one, categories, paid) for one in bills],
        "billed": words.dollars(sum(one.cents for one in bills)),
        "may_be": [_bill(one, categories, paid) for one in may_be],
        "categories": [(one.value, words.named(one.label)) for one in BILL_CATEGORIES],
        "photos": photos_of_incident(incident=incident),
        "blank": {
            "place": {"latitude_deg": latitude, "longitude_deg": longitude},
            "mend": {
                "mending": facts.mending.value,
                "lost_h": _exact_hours(facts.lost_min),
                "note": facts.mended.note if facts.mended is not None else "",
            },
            "bill": {"category": Category.TIRES if facts.is_puncture else Category.REPAIRS},
        },
    }


def _exact_hours(minutes: int) -> str:
    """Return minutes as hours that come to the same minutes when they are sent back unchanged."""
    return f"{minutes / 60:.2f}".rstrip("0").rstrip(".") if minutes else ""


def _placed(place: IncidentPlace | None) -> str:
    return words.named(PlacedBy(place.placed_by).label) if place is not None else ""


def _headline(found: Sequence[IncidentFacts], bills: Mapping[int, list[Bill]]) -> str:
    if not found:
        return _("Nothing has gone wrong that anybody reported.")
    counts = Counter(one.incident.kind for one in found)
    told = [incident_words.counted(kind, counts[kind]) for kind in IncidentKind.values if counts[kind]]
    waiting = sum(
        1
        for one in found
        if one.mending in (Mending.REPAIR, Mending.NEW_TIRE) and one.incident.pk not in bills
    )
    nowhere = sum(1 for one in found if one.is_puncture and one.place is None)
    also = []
    if nowhere:
        also.append(
            ngettext(
                "{count} of the punctures has no place yet",
                "{count} of the punctures have no place yet",
                nowhere,
            ).format(count=words.count_word(nowhere))
        )
    if waiting:
        also.append(
            ngettext(
                "{count} that was mended waits for a bill",
                "{count} that were mended wait for a bill",
                waiting,
            ).format(count=words.count_word(waiting))
        )
    return words.capital(f"{'; '.join(filter(None, (words.listed(told), ', '.join(also))))}.")


def _row(one: IncidentFacts, bills: Sequence[Bill]) -> dict[str, Any]:
    incident = one.incident
    return {
        "pk": incident.pk,
        "what": words.capital(words.named(incident.get_kind_display())),
        "detail": incident_words.what_met(incident),
        "when": incident_words.when(incident.happened_at, incident.farm),
        "field": str(incident.field) if incident.field is not None else _("no field named"),
        "placed": _placed(one.place),
        "with_what": incident_words.with_what(incident),
        "lost": incident_words.hours(one.lost_min) if one.lost_min else "",
        "mended": "" if bills and one.mending == Mending.NONE else words.named(one.mending.label),
        "billed": words.dollars(sum(bill.cents for bill in bills)) if bills else "",
    }


def _one_headline(facts: IncidentFacts) -> str:
    incident = facts.incident
    told = words.capital(words.named(incident.get_kind_display()))
    if incident.field is not None:
        told = _("{what} on {field}").format(what=told, field=incident.field.name)
    return f"{told}: {words.named(incident.met)}." if incident.met else f"{told}."


def _bill(bill: Bill, categories: CategoryBook, paid: set[int]) -> dict[str, Any]:
    return {
        "pk": bill.pk,
        "payee": bill.payee.name,
        "number": bill.number,
        "on": incident_words.day(bill.bill_on),
        "amount": words.dollars(bill.cents),
        "category": words.named(categories.label(bill.category)),
        "paid": pgettext("a bill", "paid") if bill.pk in paid else pgettext("a bill", "not paid"),
        "for_what": trade_words.tool(tool) if (tool := bill.machine or bill.implement) is not None else "",
        "note": bill.note,
    }


def _off_field(facts: IncidentFacts) -> bool:
    place, field = facts.place, facts.incident.field
    if place is None or field is None:
        return False
    ground = ground_of(field.boundary)
    spot = ground.spot(0, latitude_deg=float(place.latitude_deg), longitude_deg=float(place.longitude_deg))
    return not ground.holds(spot)


def _map(facts: IncidentFacts) -> FieldMap | None:
    field, place = facts.incident.field, facts.place
    if field is None or place is None:
        return None
    spot = MapSpot(
        facts.incident.pk, 1, float(place.latitude_deg), float(place.longitude_deg), _one_headline(facts)
    )
    return field_map(key="where", name=field.name, boundary=field.boundary, spots=[spot], clusters=[])
