"""Keeping where an incident was and what was done about it: newer rows stand in the place of older ones."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.utils import translation
from django.utils.translation import gettext as _

from farmops.core.keeping import holds, keep_once
from farmops.farms.boundaries import FARTHEST_FROM_FARM_KM, distance_km
from farmops.farms.models import Farm
from scheduling.models import Incident, IncidentMended, IncidentPlace, Mending, PlacedBy
from scheduling.services.fact_rules import refuse_bad_text
from scheduling.services.record_rules import DAY_MIN, refuse_other_farms
from scheduling.services.refusals import BadRecord, SupersededAlready

MILLIONTH = Decimal("0.000001")
LONGEST_NOTE = 200
MOST_LOST_MIN = 14 * DAY_MIN  # farm judgement: an outfit that waits longer for a tire was put to other work


def place_incident(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    incident: Incident,
    latitude_deg: Decimal,
    longitude_deg: Decimal,
    placed_by: str,
    now: dt.datetime,
) -> tuple[IncidentPlace, bool]:
    """Keep where an incident was, to a millionth of a degree; return the row and False if it was kept before.

    Raises BadRecord for a place that is not on the globe, or more than 200 km from the farm, which is how swapped or
    wrong coordinates show; NotThisFarm.
    """
    refuse_other_farms(farm, incident)
    if placed_by not in PlacedBy.values:
        known = ", ".join(PlacedBy.values)
        raise BadRecord(
            _("A place is not known to be found {how}; known: {known}.").format(
                how=repr(placed_by), known=known
            ),
            fields={"placed_by": known},
        )
    latitude_deg, longitude_deg = checked_place(
        farm=farm, latitude_deg=latitude_deg, longitude_deg=longitude_deg
    )
    facts: dict[str, Any] = {
        "incident": incident,
        "latitude_deg": latitude_deg,
        "longitude_deg": longitude_deg,
        "placed_by": placed_by,
    }

    def make() -> IncidentPlace:
        return IncidentPlace.objects.create(farm=farm, client_id=client_id, recorded_at=now, **facts)

    return keep_once(
        IncidentPlace.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def checked_place(*, farm: Farm, latitude_deg: Decimal, longitude_deg: Decimal) -> tuple[Decimal, Decimal]:
    """Return a place to a millionth of a degree; BadRecord for one off the globe, or more than 200 km from the farm."""
    latitude = _degrees("latitude_deg", latitude_deg, 90)
    longitude = _degrees("longitude_deg", longitude_deg, 180)
    away_km = distance_km(
        latitude_a=float(latitude),
        longitude_a=float(longitude),
        latitude_b=float(farm.latitude_deg),
        longitude_b=float(farm.longitude_deg),
    )
    if away_km > FARTHEST_FROM_FARM_KM:
        raise BadRecord(
            _(
                "The place lies {far} km from the farm (at most {most}); are latitude and longitude in order, "
                "and is west negative?"
            ).format(far=f"{away_km:,.0f}", most=f"{FARTHEST_FROM_FARM_KM:.0f}"),
            fields={"latitude_deg": "far from the farm"},
        )
    return latitude, longitude


def place_or_why(
    *, farm: Farm, latitude_deg: Decimal | None, longitude_deg: Decimal | None
) -> tuple[Decimal, Decimal] | str | None:
    """Return the place that a hand told, a sentence for one that cannot be, or None for none.

    The sentence is English, whatever language is on, since it is kept in a note.
    """
    if latitude_deg is None and longitude_deg is None:
        return None
    if latitude_deg is None or longitude_deg is None:
        told = f"latitude {latitude_deg}" if longitude_deg is None else f"longitude {longitude_deg}"
        return f"Place not kept: {told} alone."
    try:
        with translation.override("en"):
            return checked_place(farm=farm, latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    except BadRecord as error:
        return f"Place not kept: {latitude_deg}, {longitude_deg}. {error.says}"


def mend_incident(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    incident: Incident,
    mending: str,
    lost_min: int,
    note: str = "",
    seen: int | None = None,
    now: dt.datetime,
) -> tuple[IncidentMended, bool]:
    """Keep what was done about an incident and the minutes that it cost in all; return the row and False if known.

    `seen` is the row id of the newest that the sender knew of, 0 where there was none. Raises BadRecord for minutes below 0
    or of more than 14 days, and for what is no way to mend; SupersededAlready where a newer one stands; NotThisFarm.
    """
    refuse_other_farms(farm, incident)
    if mending not in Mending.values:
        known = ", ".join(Mending.values)
        raise BadRecord(
            _("{what} is not done about an incident; known: {known}.").format(
                what=repr(mending), known=known
            ),
            fields={"mending": known},
        )
    if not 0 <= lost_min <= MOST_LOST_MIN:
        raise BadRecord(
            _("{minutes} lost minutes, {hours} h: it is 0 to {most} h, which are 14 days.").format(
                minutes=lost_min, hours=f"{lost_min / 60:,.1f}", most=MOST_LOST_MIN // 60
            ),
            fields={"lost_min": "more than 14 days"},
        )
    refuse_bad_text("note", note, most=LONGEST_NOTE)
    facts: dict[str, Any] = {"incident": incident, "mending": mending, "lost_min": lost_min, "note": note}

    def make() -> IncidentMended:
        if seen is not None:
            Incident.objects.select_for_update().only("pk").get(pk=incident.pk)
            newest = IncidentMended.objects.filter(incident=incident).order_by("-pk").first()
            if seen != (newest.pk if newest is not None else 0):
                raise SupersededAlready(
                    _(
                        "Somebody said meanwhile what was done: it stands above. "
                        "Keep yours once more to put it in its place."
                    )
                )
        return IncidentMended.objects.create(farm=farm, client_id=client_id, recorded_at=now, **facts)

    return keep_once(
        IncidentMended.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def _degrees(name: str, value: Decimal, most: int) -> Decimal:
    if not (value.is_finite() and abs(value) <= most):
        raise BadRecord(
            _("{name} is {value}; it is {least} to {most}.").format(
                name=name, value=value, least=-most, most=most
            ),
            fields={name: f"not -{most} to {most}"},
        )
    return value.quantize(MILLIONTH)
