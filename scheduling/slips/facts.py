"""What a job slip is made from: plain values, already read, in the farm's own clock. Pure: no Django."""

import datetime as dt
from dataclasses import dataclass

from scheduling.slips.words import Said


@dataclass(frozen=True)
class GroundToday:
    """The wettest part of a field: topsoil water against the most that this work bears, in m3 of water per m3."""

    zone: str
    topsoil_m3_m3: float
    workable_below_m3_m3: float
    soil_temp_8am_f: float | None = None


@dataclass(frozen=True)
class ShutHours:
    """A stretch of the day in which a limit does not hold, with the limit's own sentence."""

    starts_at: dt.datetime
    ends_at: dt.datetime
    says: Said


@dataclass(frozen=True)
class BossWord:
    """The grower's say-so for the field, or for the zone of it that is named, that day: fit, after (an hour), not_today."""

    word: str
    after_at: dt.time | None = None
    zone: str = ""
