"""Punctures and covered acres for tests: field, place and what was met are told, the rest is plain."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from farmops.farms.models import Field, Hand, Machine
from scheduling.models import FieldPass, Incident, WorkRecord
from scheduling.services.incidents import place_incident
from scheduling.services.work import record_incident

NOON = dt.datetime(2026, 4, 20, 16, tzinfo=dt.UTC)
DAY = dt.date(2026, 4, 20)


def make_puncture(
    field: Field, *, at: tuple[str, str] | None = None, met: str = "deer antler", **facts: Any
) -> Incident:
    """Keep a puncture, at a latitude and longitude where they are told."""
    plain: dict[str, Any] = {"kind": "puncture", "happened_at": NOON, "now": NOON, "client_id": uuid.uuid4()}
    incident, _is_new = record_incident(farm=field.farm, field=field, met=met, **{**plain, **facts})
    if at is not None:
        place_incident(
            farm=field.farm,
            client_id=uuid.uuid4(),
            incident=incident,
            latitude_deg=Decimal(at[0]),
            longitude_deg=Decimal(at[1]),
            placed_by="tapped",
            now=NOON,
        )
    return incident


def cover(field_pass: FieldPass, hand: Hand, machine: Machine | None, acres: str, **facts: Any) -> WorkRecord:
    """Keep that acres of a pass were worked."""
    plain: dict[str, Any] = {"work_on": DAY, "hand_min": 60, "recorded_at": NOON, "client_id": uuid.uuid4()}
    return WorkRecord.objects.create(
        farm=field_pass.farm,
        field_pass=field_pass,
        hand=hand,
        machine=machine,
        done_ac=Decimal(acres),
        **{**plain, **facts},
    )
