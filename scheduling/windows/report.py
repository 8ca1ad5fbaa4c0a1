"""What the windows of a farm look like from outside: open and shut stretches with reasons, and the ground behind them.

Minutes are whole elapsed minutes from `start` (a day that loses or gains an hour has 1,380 or 1,500 of them). Every
minute of the horizon stands in exactly one open or one shut stretch of each pass.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from scheduling.windows.limits import Choice

FORMAT = "windows/1"


class UnknownPass(ValueError):
    """The report holds no pass of this key."""


@dataclass(frozen=True)
class OpenStretch:
    """Minutes in which every limit holds; `chance` (0 to 1, two decimals) is the share of weather members that say so."""

    from_min: int
    to_min: int
    chance: float


@dataclass(frozen=True)
class ShutStretch:
    """Minutes in which a limit shuts the pass, with its reason in words and numbers."""

    from_min: int
    to_min: int
    limit: str
    says_en: str
    says_es: str


@dataclass(frozen=True)
class AdviceStretch:
    """Minutes in which something speaks against the work without shutting it."""

    from_min: int
    to_min: int
    limit: str
    says_en: str
    says_es: str


@dataclass(frozen=True)
class PassWindows:
    """When one pass may be worked."""

    key: str
    field: str
    operation: str
    open: tuple[OpenStretch, ...]
    shut: tuple[ShutStretch, ...]
    advice: tuple[AdviceStretch, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the pass's part of `windows/1`."""
        return {
            "pass": self.key,
            "field": self.field,
            "operation": self.operation,
            "open": [{"from": s.from_min, "to": s.to_min, "chance": s.chance} for s in self.open],
            "shut": [_reason(s) for s in self.shut],
            "advice": [_reason(s) for s in self.advice],
        }


@dataclass(frozen=True)
class GroundDay:
    """The ground of a zone on one day: water at 8 am and at the day's end, soil warmth at planting depth.

    Of days ahead these are the members' middle, with tenths where a low and a high stand beside: of the topsoil at 8
    am, and of the day's mean warmth, that never less than 1 °C about the middle. `seed_m3_m3` is the water where the
    seed lies at 8 am. Root zone numbers are None and `stage` is bare without a crop. `rain_mm` is the field's own,
    `rain_source` says gauge or station, or nothing for a day ahead. `remark_shift_m3_m3` is what remarks add to the
    topsoil. `soil_temp_three_days_c` is the mean of the day and the two before it, `dd60_five_days_f` cotton's heat of
    the day and the four after it.
    """

    day: dt.date
    topsoil_8am_m3_m3: float
    topsoil_low_m3_m3: float
    topsoil_high_m3_m3: float
    topsoil_m3_m3: float
    workable_below_m3_m3: float
    dry_below_m3_m3: float
    subsoil_m3_m3: float
    seed_m3_m3: float
    rootzone_depletion_mm: float | None
    rootzone_allowed_mm: float | None
    rootzone_total_mm: float | None
    root_depth_in: float | None
    stage: str
    soil_temp_mean_c: float
    soil_temp_low_c: float
    soil_temp_high_c: float
    soil_temp_8am_c: float
    soil_temp_three_days_c: float
    rain_mm: float
    rain_chance: float
    rain_source: str
    watered_mm: float
    et0_mm: float
    remark_shift_m3_m3: float
    dd60_five_days_f: float
    kind: str

    def to_json(self) -> dict[str, Any]:
        """Return the day's row of `windows/1`; null for a number that the day does not have."""
        return {
            "day": self.day.isoformat(),
            **{name: _number(getattr(self, name), decimals) for name, decimals in DECIMALS.items()},
            "stage": self.stage,
            "rain_source": self.rain_source,
            "kind": self.kind,
        }


DECIMALS: Mapping[str, int] = {
    "topsoil_8am_m3_m3": 4,
    "topsoil_low_m3_m3": 4,
    "topsoil_high_m3_m3": 4,
    "topsoil_m3_m3": 4,
    "workable_below_m3_m3": 4,
    "dry_below_m3_m3": 4,
    "subsoil_m3_m3": 4,
    "seed_m3_m3": 4,
    "rootzone_depletion_mm": 2,
    "rootzone_allowed_mm": 2,
    "rootzone_total_mm": 2,
    "root_depth_in": 1,
    "soil_temp_mean_c": 2,
    "soil_temp_low_c": 2,
    "soil_temp_high_c": 2,
    "soil_temp_8am_c": 2,
    "soil_temp_three_days_c": 2,
    "rain_mm": 2,
    "rain_chance": 4,
    "watered_mm": 2,
    "et0_mm": 2,
    "remark_shift_m3_m3": 4,
    "dd60_five_days_f": 1,
}
"""The numbers of a day in the order in which they are told, with their decimals."""


@dataclass(frozen=True)
class ZoneGround:
    """The ground of one soil zone, day by day."""

    field: str
    zone: str
    texture: str
    soil_depth_in: float
    days: tuple[GroundDay, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the zone's part of `windows/1`."""
        return {
            "field": self.field,
            "zone": self.zone,
            "texture": self.texture,
            "soil_depth_in": self.soil_depth_in,
            "days": [day.to_json() for day in self.days],
        }


@dataclass(frozen=True)
class WindowsReport:
    """The windows of a list of passes over some days, and the ground they were judged on."""

    start: dt.datetime
    zone: str
    days: int
    as_of: dt.date
    horizon_min: int
    passes: tuple[PassWindows, ...]
    ground: tuple[ZoneGround, ...] = ()
    notes: tuple[str, ...] = field(default=())
    choices: tuple[Choice, ...] = ()

    def choice_of(self, field_code: str, limit: str) -> Choice | None:
        """Return the farm's own choice that a limit follows on a field; None where it stands as it ships."""
        mine = [one for one in self.choices if one.key == limit and one.field in ("", field_code)]
        return max(mine, key=lambda one: one.field != "", default=None)

    @cached_property
    def _by_key(self) -> Mapping[str, PassWindows]:
        return {windows.key: windows for windows in self.passes}

    def of(self, pass_key: str) -> PassWindows:
        """Return the windows of one pass."""
        try:
            return self._by_key[pass_key]
        except KeyError as error:
            raise UnknownPass(f"These windows hold no pass {pass_key!r}.") from error

    def to_json(self) -> dict[str, Any]:
        """Return the report as `windows/1`: the same report gives the same JSON."""
        return {
            "format": FORMAT,
            "start": self.start.isoformat(),
            "zone": self.zone,
            "days": self.days,
            "as_of": self.as_of.isoformat(),
            "horizon": self.horizon_min,
            "notes": list(self.notes),
            "choices": [_choice(one) for one in self.choices],
            "passes": [windows.to_json() for windows in self.passes],
            "ground": [zone.to_json() for zone in self.ground],
        }


def _choice(one: Choice) -> dict[str, Any]:
    return {
        "limit": one.key,
        "field": one.field,
        "number": one.number,
        "is_used": one.is_used,
        "effect": one.effect.value if one.effect is not None else None,
        "source": one.source,
        "set_by": one.set_by,
        "set_at": one.set_at,
    }


def _number(value: float | None, decimals: int) -> float | None:
    return None if value is None else round(value, decimals)


def _reason(stretch: ShutStretch | AdviceStretch) -> dict[str, Any]:
    return {
        "from": stretch.from_min,
        "to": stretch.to_min,
        "limit": stretch.limit,
        "says": stretch.says_en,
        "says_es": stretch.says_es,
    }
