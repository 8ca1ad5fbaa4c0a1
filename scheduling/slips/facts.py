"""What a job slip is made from: plain values, already read, in the farm's own clock. Pure: no Django.

Instants are on the farm's clock; a length of work is in whole minutes. Names are said in both languages.
"""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from scheduling.slips.words import Said


@dataclass(frozen=True)
class GroundToday:
    """The wettest part of a field: topsoil water against the most that this work bears, in m3 of water per m3."""

    zone: str
    topsoil_m3_m3: float
    workable_below_m3_m3: float
    soil_temp_8am_f: float | None = None

    @property
    def share(self) -> float:
        """Return the topsoil water as a share of the most that a disk bears."""
        return self.topsoil_m3_m3 / self.workable_below_m3_m3


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


@dataclass(frozen=True)
class Zone:
    """A part of a field with one soil texture, a key of `farmops.science.textures`."""

    id: int
    name: str
    texture: str
    share_pct: Decimal


@dataclass(frozen=True)
class FieldPlace:
    """Where the work is; `boundary` is an RFC 7946 geometry (see `scheduling.slips.shape`)."""

    code: str
    name: str
    boundary: dict[str, object]
    entrance: str
    road_address: str
    latitude_deg: Decimal
    longitude_deg: Decimal
    zones: tuple[Zone, ...] = ()


@dataclass(frozen=True)
class Fetch:
    """The machine, or else the implement, that stands on another field, or in the yard (an empty name)."""

    place_name: str
    is_machine: bool = True


@dataclass(frozen=True)
class WayThere:
    """The way from the place before: minutes as the planner counts them, miles along roads (a detour over the straight way).

    `from_name` is the name of a field, empty where the hand comes from the yard. `fetch` is what is fetched on the way, in
    this order. No minutes: the hand is there already. Where the plan leaves too little time for the way and for
    `hitch_min`, `leave_at` is when to leave, or `there_at` when the hand is there at the soonest.
    """

    from_name: str
    minutes: int
    miles: float
    fetch: tuple[Fetch, ...] = ()
    hitch_min: int = 0
    leave_at: dt.datetime | None = None
    there_at: dt.datetime | None = None


@dataclass(frozen=True)
class Tool:
    """A machine or an implement by its code, and what people call it."""

    code: str
    name: Said


@dataclass(frozen=True)
class ImplementFacts:
    """What an implement is like: the farm's range of speeds, and of a tillage tool its pull, depth, angles and bearings.

    `draft_kind` is a key of `farmops.science.work_rate.DRAFT`, or empty.
    """

    width_ft: float
    speed_min_mph: float
    speed_mph: float
    speed_max_mph: float
    efficiency_pct: float
    draft_kind: str = ""
    depth_in: float | None = None
    tool_count: int | None = None
    gang_angle_min_deg: float | None = None
    gang_angle_max_deg: float | None = None
    bearings_front: int | None = None
    bearings_back: int | None = None


@dataclass(frozen=True)
class Hours:
    """The hours of the day in which the work is planned, and what may shut it meanwhile and after, up to the evening."""

    starts_at: dt.datetime
    ends_at: dt.datetime
    work_min: int
    open_chance: float | None = None
    shut: tuple[ShutHours, ...] = ()
    boss_words: tuple[BossWord, ...] = ()
    ground: GroundToday | None = None
    known_on: dt.date | None = None


@dataclass(frozen=True)
class Effort:
    """What the work takes: acres an hour at the usual speed, and fuel for the hours of the day, None where nobody knows.

    `is_by_draft` fuel is worked out from the pull in this soil, otherwise from the year's average of the machine.
    `power_share` is what the work asks of the machine's power while it pulls; above 1 it is too heavy at that speed.
    """

    work_rate_ac_per_h: float | None = None
    fuel_gal: float | None = None
    is_by_draft: bool = False
    power_share: float | None = None


NOT_KNOWN = Effort()
"""The effort of work of which nothing is known."""


@dataclass(frozen=True)
class StartSetting:
    """One setting to start with: a range in its unit (none for a level), and why; for one zone, or for all of them."""

    key: str
    low: Decimal | None
    high: Decimal | None
    why: Said
    zone: str = ""


@dataclass(frozen=True)
class LastTime:
    """What was set when this work last looked right here: setting keys with a number or a word.

    `wetness` is a key of `scheduling.slips.wetness.WETNESS` for the zone that was wettest that day; empty: not known.
    """

    work_on: dt.date
    hand_name: str
    zone: str
    wetness: str
    settings: tuple[tuple[str, Decimal | None, str], ...]


@dataclass(frozen=True)
class SlipCheck:
    """Something to look at before going out; `check_key` names it in the record of what was ticked."""

    check_key: str
    says: Said
    machine_code: str = ""
    implement_code: str = ""
    is_ticked: bool = False


@dataclass(frozen=True)
class StayOut:
    """Nobody goes into the field until then, by the label of what was or will be sprayed there; `is_planned`: will be."""

    until_at: dt.datetime
    products: str
    is_planned: bool = False
    products_es: str = ""


@dataclass(frozen=True)
class HeatToday:
    """How hot it may feel in the hours of the work: `level` is one of `farmops.science.exposure.HEAT_LEVELS`."""

    level: str
    heat_index_f: float


@dataclass(frozen=True)
class NewHand:
    """A hand's first days at this work: which day it is, and the most of the usual time that is to be spent in heat."""

    day_no: int
    most_share_pct: int


@dataclass(frozen=True)
class CallFor:
    """Whom to call, and where help is to come to."""

    emergency_number: str
    road_address: str
    latitude_deg: Decimal
    longitude_deg: Decimal
    boss_name: str
    boss_phone: str
