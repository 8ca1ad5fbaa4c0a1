"""Limits as data: what must hold before work may go on, with its number, unit and source.

A farm may choose its own number for a limit, leave it out or take it up (`choices`); what a label says it may only
make stricter.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from farmops.farms.operations import Operation

CROPS = frozenset({"cotton", "peanuts", "corn", "soybeans"})


class LimitsError(ValueError):
    """Limits that cannot be used; the sentence names the file, line and column, or the key of a choice."""


class Quantity(StrEnum):
    """What a limit looks at."""

    MEMBER_SHARE = "member_share"
    RE_ENTRY = "re_entry"
    PLANT_BACK = "plant_back"
    POWER_SHUT = "power_shut"
    PIVOT_RUNS = "pivot_runs"
    PIVOT_OFF = "pivot_off"
    DAYLIGHT = "daylight"
    RAIN_HOUR = "rain_hour"
    RAIN_AHEAD = "rain_ahead"
    RAIN_BEHIND = "rain_behind"
    TOPSOIL = "topsoil"
    TRAFFIC = "traffic"
    SUBSOIL = "subsoil"
    SEED_WATER = "seed_water"
    SOIL_MEAN = "soil_mean"
    SOIL_HOUR = "soil_hour"
    AIR_MIN = "air_min"
    AIR_AHEAD = "air_ahead"
    AIR_BEHIND = "air_behind"
    DD60_SUM = "dd60_sum"
    WIND = "wind"
    INVERSION = "inversion"
    DEW = "dew"
    HUMIDITY = "humidity"


class LimitKind(StrEnum):
    """Which part of the world a limit is about: the grower's say-so outranks the wetness and dryness ones."""

    CERTAINTY = "certainty"
    LABEL = "label"
    POWER = "power"
    PIVOT = "pivot"
    LIGHT = "light"
    RAIN = "rain"
    WETNESS = "wetness"
    WARMTH = "warmth"
    DRYNESS = "dryness"
    DRIFT = "drift"
    DAMP = "damp"


class Effect(StrEnum):
    """Whether a limit shuts the hour or only speaks against the work."""

    SHUTS = "shuts"
    ADVICE = "advice"


class Land(StrEnum):
    """Whether a limit is for every field, or for those with or without a pivot."""

    ANY = ""
    DRY = "dry"
    PIVOT = "pivot"


@dataclass(frozen=True)
class Measure:
    """How a quantity is told: its units, and the least and greatest number that make sense in them."""

    units: frozenset[str]
    least: float
    most: float


def _told(units: str, least: float, most: float) -> Measure:
    return Measure(frozenset(units.split()), least, most)


MEASURES: Mapping[Quantity, Measure] = {
    Quantity.MEMBER_SHARE: _told("share", 0.01, 1),
    Quantity.RE_ENTRY: _told("h", 0, 720),
    Quantity.PLANT_BACK: _told("days", 0, 730),
    Quantity.POWER_SHUT: _told("yes_no", 0, 0),
    Quantity.PIVOT_RUNS: _told("h", 0, 240),
    Quantity.PIVOT_OFF: _told("degrees", 0, 180),
    Quantity.DAYLIGHT: _told("h", -1, 4),
    Quantity.RAIN_HOUR: _told("in", 0, 10),
    Quantity.RAIN_AHEAD: _told("in", 0, 20),
    Quantity.RAIN_BEHIND: _told("in", 0, 20),
    Quantity.TOPSOIL: _told("share_of_workable share_of_dry share_of_field_capacity", 0, 2),
    Quantity.TRAFFIC: _told("lb", 100, 60_000),
    Quantity.SUBSOIL: _told("share_of_field_capacity", 0, 2),
    Quantity.SEED_WATER: _told("share_of_plant_water share_of_evaporable_water", 0, 1),
    Quantity.SOIL_MEAN: _told("F", 0, 120),
    Quantity.SOIL_HOUR: _told("F", 0, 140),
    Quantity.AIR_MIN: _told("F", -40, 120),
    Quantity.AIR_AHEAD: _told("F", -40, 120),
    Quantity.AIR_BEHIND: _told("F", -40, 120),
    Quantity.DD60_SUM: _told("DD60", 0, 500),
    Quantity.WIND: _told("mph", 0, 60),
    Quantity.INVERSION: _told("share", 0, 1),
    Quantity.DEW: _told("F", 0, 20),
    Quantity.HUMIDITY: _told("pct", 1, 100),
}
BY_DAY = frozenset({Quantity.SOIL_MEAN, Quantity.SOIL_HOUR, Quantity.AIR_MIN, Quantity.DD60_SUM})
"""Taken over `days_back` and `days_ahead`."""
BY_HOURS_AHEAD = frozenset({Quantity.RAIN_AHEAD, Quantity.AIR_AHEAD})
BY_HOURS_BACK = frozenset({Quantity.RAIN_BEHIND, Quantity.AIR_BEHIND})
OF_A_DEPTH = frozenset({Quantity.SOIL_MEAN, Quantity.SOIL_HOUR})
OF_THE_CLOCK = frozenset(
    {
        Quantity.RE_ENTRY,
        Quantity.PLANT_BACK,
        Quantity.POWER_SHUT,
        Quantity.PIVOT_RUNS,
        Quantity.PIVOT_OFF,
        Quantity.DAYLIGHT,
    }
)
"""Certain from facts and the clock alone: no weather, no chance."""
OUTRANKED_BY_SAY_SO = frozenset({LimitKind.WETNESS, LimitKind.DRYNESS})


@dataclass(frozen=True)
class Choice:
    """What a farm has chosen about a limit, for all its fields (`field` empty) or one; None stays as it was."""

    key: str
    field: str = ""
    number: float | None = None
    is_used: bool | None = None
    effect: Effect | None = None
    source: str = ""
    set_by: str = ""
    set_at: str = ""

    @property
    def is_empty(self) -> bool:
        """Return whether nothing is chosen: the limit stands as if nobody had spoken."""
        return self.number is None and self.is_used is None and self.effect is None


@dataclass(frozen=True)
class Limit:
    """One row: `quantity` over its days or hours must be on the right side of `number`.

    A quantity by the day is taken over `days_back` days (1 is the day itself) and `days_ahead` days after it: the
    lowest of them for `>=`, the highest for `<=`, the sum for a heat sum. `hour` is the clock hour of a quantity at an
    hour of the day. `choice` is the farm's own choice that the row follows, if any.
    """

    key: str
    operations: frozenset[Operation]
    crop: str
    land: Land
    quantity: Quantity
    depth_in: float | None
    hour: float | None
    days_back: int
    days_ahead: int
    hours_back: int
    hours_ahead: int
    is_floor: bool
    number: float
    unit: str
    kind: LimitKind
    effect: Effect
    is_used: bool
    says_en: str
    says_es: str
    source: str
    choice: Choice | None = None

    def applies_to(self, operation: Operation, crop: str, *, is_watered: bool = False) -> bool:
        """Return whether the limit is about this work in this crop on this land, used or not."""
        land = Land.PIVOT if is_watered else Land.DRY
        return operation in self.operations and self.crop in ("", crop) and self.land in (Land.ANY, land)


def refuse_number(limit: Limit, number: float) -> None:
    """Raise LimitsError for a number that makes no sense in the limit's unit."""
    measure = MEASURES[limit.quantity]
    if not measure.least <= number <= measure.most:
        raise LimitsError(
            f"{limit.key}: the number is {number:g}; {limit.quantity} is told from {measure.least:g} to "
            f"{measure.most:g} {limit.unit}."
        )


def needed_share(limits: Sequence[Limit]) -> float:
    """Return the share of weather members from which an hour counts as open (0.5 where no row says so)."""
    rows = (limit.number for limit in limits if limit.quantity is Quantity.MEMBER_SHARE)
    return next(rows, 0.5)
