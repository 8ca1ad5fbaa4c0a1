"""Keeping what hands say was done, read and met, and calling work off.

Each row carries an id made by its sender: the same row sent again is the same row, and the same id with something
else in it is refused. Rows are never changed; a correction is a row that supersedes.
"""

import datetime as dt
import uuid
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db.models import Q, Sum
from django.utils.translation import gettext as _

from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.core.nudge import nudge
from farmops.farms.models import Farm, Field, Hand, Implement, Machine, Season
from scheduling.models import (
    FieldPass,
    HourReading,
    Incident,
    IncidentKind,
    InputUse,
    PassState,
    WorkRecord,
)
from scheduling.selectors.passes import OPEN_STATES, named_pass
from scheduling.selectors.speaking import speaking
from scheduling.services.meter_rules import refuse_bad_reading
from scheduling.services.record_rules import (
    DAY_MIN,
    UsedInput,
    measured,
    refuse_bad_inputs,
    refuse_bad_texts,
    refuse_bad_work,
    refuse_odd_instant,
    refuse_other_farms,
)
from scheduling.services.refusals import (
    BadRecord,
    PassIsFinished,
    PassIsNotCalledOff,
)

CALLED_OFF_NOTE = "Recorded after the pass was called off."


def record_work(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    field_pass: FieldPass,
    hand: Hand,
    machine: Machine | None = None,
    implement: Implement | None = None,
    work_on: dt.date,
    starts_at: dt.datetime | None = None,
    hand_min: int,
    machine_min: int = 0,
    done_ac: Decimal,
    overtime_min: int = 0,
    is_finished: bool,
    not_done_why: str = "",
    note: str = "",
    inputs: Iterable[UsedInput | tuple[str, Decimal, str]] = (),
    supersedes: WorkRecord | None = None,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[WorkRecord, bool]:
    """Keep what a hand did on a pass on a day; return the record and False if it was kept before.

    The pass gets under way or finished by it. Work on a pass that was called off is kept all the same, with a note:
    a hand's hours are never lost.
    """
    used = measured(inputs)
    facts: dict[str, Any] = {
        "field_pass": field_pass,
        "hand": hand,
        "machine": machine,
        "implement": implement,
        "work_on": work_on,
        "starts_at": starts_at,
        "hand_min": hand_min,
        "machine_min": machine_min,
        "done_ac": done_ac,
        "overtime_min": overtime_min,
        "is_finished": is_finished,
        "not_done_why": not_done_why,
        "note": note,
        "supersedes": supersedes,
    }

    def make() -> WorkRecord:
        # Locks in one order: whoever books on the same hand, machine or pass waits here.
        Hand.objects.select_for_update().get(pk=hand.pk)
        if machine is not None:
            Machine.objects.select_for_update().get(pk=machine.pk)
        touched = {field_pass.pk} | ({supersedes.field_pass_id} if supersedes is not None else set())
        locked = {
            row.pk: row for row in FieldPass.objects.select_for_update().filter(pk__in=touched).order_by("pk")
        }
        ground = locked[field_pass.pk]
        refuse_bad_work(farm, ground, facts, now)
        note_kept = _with_note(note) if ground.state == PassState.CALLED_OFF else note
        record = WorkRecord.objects.create(
            farm=farm,
            client_id=client_id,
            recorded_by=recorded_by,
            recorded_at=now,
            **{**facts, "note": note_kept},
        )
        for one in used:
            InputUse.objects.create(farm=farm, work_record=record, **one._asdict())
        for row in locked.values():
            _settle(row, may_reopen=supersedes is not None and supersedes.is_finished)
        field_pass.refresh_from_db(fields=["state", "done_ac"])
        nudge("work.recorded")
        return record

    refuse_other_farms(farm, field_pass, hand, machine, implement, supersedes)
    refuse_bad_inputs(used)
    return keep_once(
        WorkRecord.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: _is_same_work(kept, facts, used),
    )


def record_hour_reading(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    machine: Machine,
    reading_h: Decimal,
    read_at: dt.datetime,
    read_by: Hand | None = None,
    now: dt.datetime,
) -> tuple[HourReading, bool]:
    """Keep a reading of an hour meter; return it and False if it was kept before.

    Between two readings the meter may stand still or gain what the clock gained, with a day's slack.
    """
    refuse_odd_instant("read_at", read_at, now)
    facts = {"machine": machine, "reading_h": reading_h, "read_at": read_at, "read_by": read_by}

    def make() -> HourReading:
        Machine.objects.select_for_update().get(pk=machine.pk)
        refuse_bad_reading(machine, reading_h, read_at)
        return HourReading.objects.create(farm=farm, client_id=client_id, recorded_at=now, **facts)

    refuse_other_farms(farm, machine, read_by)
    return keep_once(
        HourReading.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def record_incident(
    *,
    farm: Farm,
    client_id: uuid.UUID,
    kind: str,
    happened_at: dt.datetime,
    field: Field | None = None,
    season: Season | None = None,
    machine: Machine | None = None,
    implement: Implement | None = None,
    hand: Hand | None = None,
    wheel: str = "",
    met: str = "",
    lost_min: int = 0,
    note: str = "",
    now: dt.datetime,
) -> tuple[Incident, bool]:
    """Keep what went wrong in the field; return it and False if it was kept before. A season names its field."""
    refuse_other_farms(farm, field, season, machine, implement, hand)
    if kind not in IncidentKind.values:
        known = ", ".join(IncidentKind.values)
        raise BadRecord(
            _("An incident of the kind {kind} is not known; known are {known}.").format(
                kind=repr(kind), known=known
            ),
            fields={"kind": known},
        )
    if not 0 <= lost_min <= DAY_MIN:
        raise BadRecord(
            _("{minutes} lost minutes: it is 0 to {most}, a day of 24 h.").format(
                minutes=lost_min, most=DAY_MIN
            ),
            fields={"lost_min": "not minutes of a day"},
        )
    refuse_odd_instant("happened_at", happened_at, now)
    refuse_bad_texts(wheel=wheel, met=met, note=note)
    if season is not None and field is not None and season.field_id != field.pk:
        raise BadRecord(
            _("The season {season} is not on the field {field}.").format(season=season, field=field),
            fields={"season": "another field"},
        )
    facts: dict[str, Any] = {
        "kind": kind,
        "happened_at": happened_at,
        "field": field or (season.field if season is not None else None),
        "season": season,
        "machine": machine,
        "implement": implement,
        "hand": hand,
        "wheel": wheel,
        "met": met,
        "lost_min": lost_min,
        "note": note,
    }

    def make() -> Incident:
        return Incident.objects.create(farm=farm, client_id=client_id, recorded_at=now, **facts)

    return keep_once(
        Incident.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def call_off(*, field_pass: FieldPass, why: str, now: dt.datetime) -> FieldPass:
    """Call a pass off: it leaves the plans, and what waited for it waits for what it waited for itself.

    What cannot be done without it has to be called off too. Doing it twice changes nothing.
    """
    if not why.strip():
        raise BadRecord(_("Say why the pass is called off."), fields={"why": "empty"})
    rows = FieldPass.objects.filter(pk=field_pass.pk)
    changed = rows.filter(state__in=OPEN_STATES).update(
        state=PassState.CALLED_OFF, called_off_why=why.strip()[:200], called_off_at=now
    )
    field_pass.refresh_from_db()
    if not changed and field_pass.state == PassState.FINISHED:
        raise PassIsFinished(
            _("{work} is finished; it cannot be called off.").format(
                work=named_pass(field_pass, language=speaking())
            )
        )
    return field_pass


def take_up_again(*, field_pass: FieldPass) -> FieldPass:
    """Let a pass that was called off wait for a plan again."""
    rows = FieldPass.objects.filter(pk=field_pass.pk)
    changed = rows.filter(state=PassState.CALLED_OFF).update(
        state=PassState.WAITING, called_off_why="", called_off_at=None
    )
    field_pass.refresh_from_db()
    if not changed:
        raise PassIsNotCalledOff(
            _("{work} was not called off; it is {state}.").format(
                work=named_pass(field_pass, language=speaking()), state=_(field_pass.get_state_display())
            )
        )
    return field_pass


def _is_same_work(kept: WorkRecord, facts: dict[str, Any], used: list[UsedInput]) -> bool:
    notes = (facts["note"], _with_note(facts["note"]))
    stored = {(one.input_code, one.quantity, one.unit, one.lot) for one in kept.inputs.all()}
    return (
        kept.note in notes
        and stored == {tuple(one) for one in used}
        and holds(kept, {name: value for name, value in facts.items() if name != "note"})
    )


def _with_note(note: str) -> str:
    return f"{note}\n{CALLED_OFF_NOTE}".strip()


def _settle(ground: FieldPass, *, may_reopen: bool) -> None:
    """Bring a pass's acres and state in line with the records that stand."""
    standing = WorkRecord.objects.filter(field_pass=ground, superseded_by__isnull=True)
    done_ac = standing.aggregate(sum=Sum("done_ac"))["sum"] or Decimal(0)
    row = FieldPass.objects.filter(pk=ground.pk)
    row.update(done_ac=done_ac)
    reopened = [PassState.FINISHED] if may_reopen else []
    if standing.filter(is_finished=True).exists():
        row.update(state=PassState.FINISHED)
    elif standing.filter(Q(done_ac__gt=0) | Q(hand_min__gt=0, not_done_why="")).exists():
        begun_from = [PassState.WAITING, PassState.PLANNED, PassState.SENT, *reopened]
        row.filter(state__in=begun_from).update(state=PassState.UNDER_WAY)
    else:
        row.filter(state__in=[PassState.UNDER_WAY, *reopened]).update(state=PassState.WAITING)
