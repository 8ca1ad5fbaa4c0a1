"""Taking a hand's report of an incident: what went wrong, where, what it met, what it cost in time."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.core.models import User
from farmops.farms.models import Farm, Field, Hand
from scheduling.models import FieldReport, Incident, IncidentKind, Mending, PlacedBy
from scheduling.selectors.incidents import field_at, incident_facts
from scheduling.services.incidents import mend_incident, place_incident, place_or_why
from scheduling.services.record_rules import DAY_MIN
from scheduling.services.refusals import NotThisFarm
from scheduling.services.report_body import BodyReader
from scheduling.services.report_takes import Flag, implement_of, machine_of, repeats
from scheduling.services.work import record_incident

SAME_TIME = dt.timedelta(hours=4)
"""Farm judgement: who was there tells at once, the other at the next stop."""
MOST_NOTE = 4500
"""Leaves room for what is said of a place that was not kept."""


def take(
    *,
    farm: Farm,
    hand: Hand,
    report: FieldReport,
    body: dict[str, Any],
    now: dt.datetime,
    sent_by: User | None,
) -> Flag | None:
    """Keep an incident with its place and its mending. Without an hour it was when the report was made.

    Where no field is named, the one that the place lies in is taken. A place that cannot be holds nothing up: it goes
    into the note, and the incident waits for another.
    """
    reader = BodyReader(body, farm.zone)
    kind = reader.word("kind", IncidentKind.values, needed=True)
    field_code = reader.text("field", most=40)
    machine_code = reader.text("machine", most=40)
    implement_code = reader.text("implement", most=40)
    wheel = reader.text("wheel", most=40)
    met = reader.text("met", most=80)
    happened_at = reader.instant_if_any("happened_at") or report.stands_at
    lost_min = reader.whole_if_any("lost_minutes", most=DAY_MIN) or 0
    latitude_deg = reader.number_if_any("latitude_deg", least=Decimal(-90), most=Decimal(90))
    longitude_deg = reader.number_if_any("longitude_deg", least=Decimal(-180), most=Decimal(180))
    placed_by = reader.word("placed_by", PlacedBy.values) or PlacedBy.TYPED
    mending = reader.word("mending", [one for one in Mending.values if one != Mending.MISTAKE])
    note = reader.text("note", most=MOST_NOTE)
    reader.finish()
    place = place_or_why(farm=farm, latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    if isinstance(place, str):
        note, place = f"{note}\n{place}".strip(), None
    field = _field(farm, field_code)
    if field is None and place is not None:
        field = field_at(farm=farm, latitude_deg=place[0], longitude_deg=place[1])
    incident, _is_new = record_incident(
        farm=farm,
        client_id=report.client_id,
        kind=kind,
        happened_at=happened_at,
        field=field,
        machine=machine_of(farm, machine_code),
        implement=implement_of(farm, implement_code),
        hand=hand,
        wheel=wheel,
        met=met,
        lost_min=lost_min,
        note=note,
        now=now,
    )
    if place is not None:
        place_incident(
            farm=farm,
            client_id=uuid.uuid5(report.client_id, "place"),
            incident=incident,
            latitude_deg=place[0],
            longitude_deg=place[1],
            placed_by=placed_by,
            now=now,
        )
    if mending and mending != Mending.NONE:
        mend_incident(
            farm=farm,
            client_id=uuid.uuid5(report.client_id, "mended"),
            incident=incident,
            mending=mending,
            lost_min=lost_min,
            now=now,
        )
    return _told_twice(incident)


def _told_twice(incident: Incident) -> Flag | None:
    """Flag an incident that somebody else told of already: of its kind, about that hour, on the same thing or ground.

    What only one of the two names, a wheel or a field, tells them not apart.
    """
    near = (incident.happened_at - SAME_TIME, incident.happened_at + SAME_TIME)
    others = incident_facts(farm=incident.farm, kind=incident.kind, between=near)
    return repeats(
        next(
            (one.incident for one in others if not one.is_mistake and _is_same(one.incident, incident)), None
        )
    )


def _is_same(other: Incident, incident: Incident) -> bool:
    if other.pk == incident.pk or other.hand_id == incident.hand_id:
        return False
    wheels = (other.wheel.strip().casefold(), incident.wheel.strip().casefold())
    if all(wheels) and wheels[0] != wheels[1]:
        return False
    named = [
        (getattr(other, name), getattr(incident, name)) for name in ("machine_id", "implement_id", "field_id")
    ]
    both = [(first, second) for first, second in named if first is not None and second is not None]
    return bool(both) and all(first == second for first, second in both)


def _field(farm: Farm, code: str) -> Field | None:
    if not code:
        return None
    found = Field.objects.filter(farm=farm, code=code).first()
    if found is None:
        raise NotThisFarm(
            _("{farm} has no field {code}.").format(farm=farm.name, code=code), fields={"field": "not known"}
        )
    return found
