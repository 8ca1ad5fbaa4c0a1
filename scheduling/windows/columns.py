"""The soil zones of a farm and what is known of each; zones of which the same is known share a column of the ground."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from farmops.science.crops import CropWater
from farmops.science.textures import Texture
from scheduling.windows.day_weather import Values


@dataclass(frozen=True)
class ZoneSoil:
    """One soil zone of a field: its texture, the water between which it is worked, and the depths that matter in it."""

    field: str
    name: str
    texture: Texture
    workable_below_m3_m3: float
    dry_below_m3_m3: float
    soil_depth_in: float
    seed_depth_in: float


@dataclass(frozen=True)
class GroundRemark:
    """What a grower said of a zone's ground at an instant: `what` is too_wet, too_dry or fits."""

    said_at: dt.datetime
    what: str


@dataclass(frozen=True)
class SoilTempRead:
    """What a soil thermometer showed."""

    read_at: dt.datetime
    depth_in: float
    temp_c: float


@dataclass(frozen=True)
class RainSoFar:
    """Rain that a field's gauge showed on a day that was not over: from midnight to `until_h` of the clock, 0 to 24."""

    day: dt.date
    rain_mm: float
    until_h: float


@dataclass(frozen=True)
class Planting:
    """The crop that stands on a zone, and when it was planted."""

    crop: CropWater
    planted_on: dt.date


@dataclass(frozen=True, eq=False)
class ZoneFacts:
    """What is known of one zone alone, by the days of the weather.

    `rain_mm` is nan where nothing was read for the field; `rain_source` says gauge or station, or nothing. `so_far`
    are days that were read before they were over: where no weather of such a day is in yet, the forecast's rest adds.
    """

    rain_mm: Values
    rain_source: tuple[str, ...]
    watered_mm: Values
    planting: Planting | None = None
    remarks: tuple[GroundRemark, ...] = field(default=())
    readings: tuple[SoilTempRead, ...] = field(default=())
    so_far: tuple[RainSoFar, ...] = field(default=())

    @property
    def key(self) -> tuple[object, ...]:
        """Return what two zones must have alike to share a column."""
        return (
            self.rain_mm.tobytes(),
            self.rain_source,
            self.watered_mm.tobytes(),
            self.planting,
            self.remarks,
            self.readings,
            self.so_far,
        )


@dataclass(frozen=True)
class Column:
    """A column of the ground: the soil and the facts that its zones have in common."""

    soil: ZoneSoil
    facts: ZoneFacts


def nothing_known(days: int) -> ZoneFacts:
    """Return the facts of a bare zone of which nobody said, read or did anything."""
    return ZoneFacts(rain_mm=np.full(days, np.nan), rain_source=("",) * days, watered_mm=np.zeros(days))


def share_columns(
    zones: Sequence[ZoneSoil], facts: Sequence[ZoneFacts]
) -> tuple[tuple[Column, ...], tuple[int, ...]]:
    """Return the columns, and each zone's place among them.

    A zone's own limits matter to its water only where a remark is held against them. Bare columns come first, so that
    those with a crop are worked on together.
    """
    columns: dict[tuple[object, ...], Column] = {}
    keys: list[tuple[object, ...]] = []
    for soil, known in zip(zones, facts, strict=True):
        limits = (soil.workable_below_m3_m3, soil.dry_below_m3_m3) if known.remarks else ()
        key = (soil.texture, limits, known.key)
        keys.append(key)
        columns.setdefault(key, Column(soil, known))
    in_order = sorted(columns, key=lambda key: columns[key].facts.planting is not None)
    places = {key: place for place, key in enumerate(in_order)}
    return tuple(columns[key] for key in in_order), tuple(places[key] for key in keys)
