"""A hand's report of one pass on one day: the work and all that goes with it, kept together or not at all."""

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.db import transaction

from farmops.core.models import User
from farmops.farms.models import Farm, Hand, Implement, Machine, SoilZone
from scheduling.models import (
    FieldPass,
    IncidentKind,
    PlacedBy,
    RemarkWord,
    WorkLook,
    WorkRecord,
    WorkSetting,
    WorkStop,
)
from scheduling.selectors.plans import plans_of_days, tasks_of_hand, tasks_of_plan
from scheduling.selectors.reports import puncture_id
from scheduling.services import work
from scheduling.services.incidents import place_incident, place_or_why
from scheduling.services.remarks import record_remark


class Stop(NamedTuple):
    """A stop in the middle of the work: its cause and the minutes it took."""

    cause: str
    lost_min: int
    note: str


class Setting(NamedTuple):
    """Something that was set on the implement or the tractor: a number or a word."""

    key: str
    number: Decimal | None
    word: str


class Puncture(NamedTuple):
    """A flat tire: what it met, which wheel, and where if that was said."""

    met: str = ""
    wheel: str = ""
    latitude_deg: Decimal | None = None
    longitude_deg: Decimal | None = None
    placed_by: str = PlacedBy.TYPED


MOST_BESIDE_PLACE = 4500
"""Leaves room in the incident's note for what is said of a place that was not kept; the work keeps its own note whole."""


@transaction.atomic
def report_day(
    *,
    farm: Farm,
    hand: Hand,
    field_pass: FieldPass,
    client_id: uuid.UUID,
    work_on: dt.date,
    starts_at: dt.datetime | None = None,
    hand_h: Decimal,
    machine_h: Decimal | None,
    meter_h: Decimal | None,
    done_ac: Decimal,
    is_finished: bool,
    not_done_why: str = "",
    note: str = "",
    stops: Iterable[Stop] = (),
    look: Mapping[str, str] | None = None,
    settings: Iterable[Setting] = (),
    puncture: Puncture | None = None,
    is_too_wet: bool = False,
    wet_zone: SoilZone | None = None,
    recorded_by: User | None = None,
    now: dt.datetime,
) -> bool:
    """Keep the report and return True, or False when the same report was kept before.

    The outfit is the one that the sent plan gave the hand for this pass on that day, or else has for the pass. Hours are decimal hours,
    acres are acres; the meter is read in hours and tenths; `look` says how the ground looked behind the implement. With `is_too_wet` the ground was too wet for the pass, all
    of it or `wet_zone`: a remark that names the work record.
    """
    machine, implement = _outfit(farm, hand, field_pass, work_on)
    hand_min = _minutes(hand_h)
    record, created = work.record_work(
        farm=farm,
        client_id=client_id,
        field_pass=field_pass,
        hand=hand,
        machine=machine,
        implement=implement,
        work_on=work_on,
        starts_at=starts_at,
        hand_min=hand_min,
        machine_min=_minutes(machine_h) if machine_h is not None else (hand_min if machine else 0),
        done_ac=done_ac,
        is_finished=is_finished,
        not_done_why=not_done_why,
        note=note,
        recorded_by=recorded_by,
        now=now,
    )
    if created:
        keep_how_it_went(record, stops=stops, look=look or {}, settings=settings)
    at = _end_of_work(farm, work_on, record.recorded_at)  # the same however often the report is sent
    if machine is not None and meter_h is not None:
        work.record_hour_reading(
            farm=farm,
            client_id=uuid.uuid5(client_id, "meter"),
            machine=machine,
            reading_h=meter_h,
            read_at=at,
            read_by=hand,
            now=now,
        )
    if puncture is not None:
        _keep_puncture(record, puncture, at=at, is_new=created, now=now)
    if is_too_wet:
        record_remark(
            farm=farm,
            client_id=uuid.uuid5(client_id, "too wet"),
            field=field_pass.season.field,
            zone=wet_zone,
            said_at=at,
            what=RemarkWord.TOO_WET,
            operation=field_pass.operation,
            work_record=record,
            note=not_done_why,
            said_by=recorded_by,
            now=now,
        )
    return created


def _keep_puncture(
    record: WorkRecord, puncture: Puncture, *, at: dt.datetime, is_new: bool, now: dt.datetime
) -> None:
    """Keep the puncture of new work; a place that cannot be holds nothing up and goes into the note."""
    farm, season = record.farm, record.field_pass.season
    place = place_or_why(farm=farm, latitude_deg=puncture.latitude_deg, longitude_deg=puncture.longitude_deg)
    incident, _is_new = work.record_incident(
        farm=farm,
        client_id=puncture_id(record.client_id),
        kind=IncidentKind.PUNCTURE,
        happened_at=at,
        field=season.field,
        season=season,
        machine=record.machine,
        implement=record.implement,
        hand=record.hand,
        wheel=puncture.wheel,
        met=puncture.met,
        lost_min=0,
        note=f"{record.note[:MOST_BESIDE_PLACE]}\n{place}".strip() if isinstance(place, str) else record.note,
        now=now,
    )
    if is_new and isinstance(place, tuple):
        place_incident(
            farm=farm,
            client_id=uuid.uuid5(record.client_id, "place"),
            incident=incident,
            latitude_deg=place[0],
            longitude_deg=place[1],
            placed_by=puncture.placed_by,
            now=now,
        )


def _outfit(
    farm: Farm, hand: Hand, field_pass: FieldPass, day: dt.date
) -> tuple[Machine | None, Implement | None]:
    """Return what went out: by the hand's task of that day, else by any task that the plan has for the pass."""
    tasks = tasks_of_hand(farm=farm, hand=hand, day=day)
    plan = plans_of_days(farm=farm, days=[day])[day]
    rest = list(tasks_of_plan(plan=plan).filter(field_pass=field_pass)) if plan is not None else []
    planned = next((task for task in (*tasks, *rest) if task.field_pass_id == field_pass.pk), None)
    return (planned.machine, planned.implement) if planned is not None else (None, None)


def keep_how_it_went(
    record: WorkRecord, *, stops: Iterable[Stop], look: Mapping[str, str], settings: Iterable[Setting]
) -> None:
    """Keep with new work where it stopped, how it looked behind the implement, and what was set."""
    for stop in stops:
        WorkStop.objects.create(farm=record.farm, work_record=record, **stop._asdict())
    if any(look.values()):
        WorkLook.objects.create(farm=record.farm, work_record=record, **look)
    for setting in settings:
        WorkSetting.objects.create(farm=record.farm, work_record=record, **setting._asdict())


def _minutes(hours: Decimal) -> int:
    return int((hours * 60).to_integral_value(rounding=ROUND_HALF_UP))


def _end_of_work(farm: Farm, work_on: dt.date, now: dt.datetime) -> dt.datetime:
    """Return now for a report of today, else six in the evening of the day that it is about."""
    zone = ZoneInfo(farm.zone)
    evening = dt.datetime.combine(work_on, dt.time(18), zone)
    return now if now.astimezone(zone).date() == work_on else evening
