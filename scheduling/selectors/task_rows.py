"""One pass, or one day part of it, as a task of the problem."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from farmops.farms.operations import ALONE
from scheduling.models import FieldPass
from scheduling.selectors.day_parts import DayPart
from scheduling.selectors.delays import Delay, delay_keys
from scheduling.selectors.fleet import Fleet, place_of
from scheduling.selectors.horizon import Horizon, Stretch, overlap
from scheduling.selectors.outfits import Outfit, minutes_for
from scheduling.selectors.passes import pass_key
from scheduling.windows.pieces import in_pieces
from scheduling.windows.report import OpenStretch, WindowsReport

STEP_MIN = 15
HOLD_LIMIT_MIN = 2_880  # farm judgement: an outfit is not parked in a field for more than two days


@dataclass(frozen=True)
class Task:
    """What a task of the problem stands for."""

    id: str
    field_pass: FieldPass
    part: DayPart


def task_row(
    task: Task,
    *,
    windows: WindowsReport,
    outfits: list[Outfit],
    fleet: Fleet,
    horizon: Horizon,
    light: list[Stretch],
    delay: Delay,
    soonest_min: int,
    is_first: bool,
    is_last: bool,
) -> dict[str, Any]:
    """Return the task as the problem writes it, without what comes before it.

    A fixed hour that is over at `soonest_min`, the first minute that can still be planned, holds nothing any more.
    """
    field_pass = task.field_pass
    modes = [
        outfit.mode(
            minutes_for(field_pass=field_pass, outfit=outfit, area_ac=task.part.area_ac, fleet=fleet),
            area_ac=task.part.area_ac,
        )
        for outfit in outfits
    ]
    row: dict[str, Any] = {
        "id": task.id,
        "place": place_of(field_pass.season.field.code),
        "operation": field_pass.operation,
        "modes": modes,
        "open": _open(field_pass, windows, horizon, light),
        "earliest": 0,
        "leave_cents": _left_cents(field_pass, delay, task.part),
    }
    row |= delay_keys(
        delay,
        share=Fraction(task.part.share),
        is_last=is_last,
        minutes=min(mode["minutes"] for mode in modes),
    )
    if field_pass.earliest_on is not None:
        row["earliest"] = max(0, horizon.midnight(field_pass.earliest_on))
    if field_pass.area_ac and field_pass.operation not in ALONE:
        row["hold_limit"] = HOLD_LIMIT_MIN
    if field_pass.fixed_from is not None and is_first:
        minute = horizon.after(field_pass.fixed_from)
        if minute >= soonest_min and field_pass.fixed_outfit:
            row["fixed"] = {"mode": field_pass.fixed_outfit, "from": minute}
        elif minute >= soonest_min:
            row["earliest"] = row["latest"] = -(-minute // STEP_MIN) * STEP_MIN
    return row


def _open(
    field_pass: FieldPass, windows: WindowsReport, horizon: Horizon, light: list[Stretch]
) -> list[dict[str, Any]]:
    """Return when the field is open; whoever is hired has no shifts here, and comes by daylight (farm judgement)."""
    found = _cut(windows.of(pass_key(field_pass)).open, horizon)
    if field_pass.custom_ac_per_h is not None:
        found = [
            OpenStretch(part.from_min, part.to_min, s.chance)
            for s in found
            for part in overlap([Stretch(s.from_min, s.to_min)], light)
        ]
    return [
        {"from": s.from_min, "to": s.to_min, **({"chance": s.chance} if s.chance < 1 else {})}
        for s in in_pieces(found)
    ]


def _cut(stretches: Sequence[OpenStretch], horizon: Horizon) -> list[OpenStretch]:
    return [
        OpenStretch(s.from_min, min(s.to_min, horizon.minutes), s.chance)
        for s in stretches
        if s.from_min < horizon.minutes
    ]


def _left_cents(field_pass: FieldPass, delay: Delay, part: DayPart) -> int | None:
    if field_pass.leave_cents is None:
        return None
    return round(field_pass.leave_cents * part.share) + round(delay.left_late_cents * Fraction(part.share))
