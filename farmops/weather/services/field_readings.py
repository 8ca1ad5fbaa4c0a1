"""Keeping what somebody read at a field: rain in its gauge, warmth on a thermometer in the ground.

Each row carries an id made by its sender: the same row sent again is the same row. Rows are never changed; the newest
gauge reading of a field and day counts.
"""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any, TypeVar

import numpy as np
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.clock import local_date
from farmops.core.keeping import holds, keep_once
from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field, SoilZone
from farmops.science.units import fahrenheit_from_celsius
from farmops.weather.models import GaugeReading, SoilReading
from farmops.weather.selectors.observed import observed_days
from farmops.weather.sources.rows import QUANTITIES

FIRST_YEAR = 1980
RAIN_BELOW_IN = 20
"""Farm judgement: more in a day has fallen in few places ever; a field's gauge does not hold it."""
DEEPEST_IN = 12
COLDEST_F, HOTTEST_BELOW_F = 0, 130
"""Farm judgement: bare ground an inch down stays within these."""
FROZEN_BELOW_F, MILD_DAY_F = 28, 50
"""Farm judgement: ground that thaws stays near 32 °F; far below on a mild day, it was read in °C."""
FARTHEST_FROM_AIR_F = 50
"""Farm judgement: bare ground at noon is warmer than the day's mean air, but not by that much; nor is it so much colder."""
CLOCK_SLACK = dt.timedelta(hours=1)
Reading = TypeVar("Reading", GaugeReading, SoilReading)


class ReadingRefused(DomainError):
    """A reading at a field that cannot be."""

    code = "reading_refused"


def record_gauge(
    *,
    farm: Farm,
    field: Field,
    day: dt.date,
    rain_in: Decimal,
    client_id: uuid.UUID,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[GaugeReading, bool]:
    """Keep the inches of rain that fell on a day at a field; return the reading and False if it was kept before.

    0 is a reading: no rain fell. Raises ReadingRefused for rain that is negative, of 20 in or more or finer than
    hundredths, a day that has not come yet or lies before 1980, and another farm's field.
    """
    _refuse_other_farm(farm, field)
    where = _("{field} on {day}").format(field=field, day=day)
    _refuse_day("day", day, farm, now, where)
    _refuse_fine("rain_in", rain_in, 2, where)
    if rain_in < 0:
        raise ReadingRefused(
            _("{where}: {amount} in of rain; rain cannot be negative.").format(where=where, amount=rain_in),
            fields={"rain_in": "less than 0"},
        )
    if rain_in >= RAIN_BELOW_IN:
        raise ReadingRefused(
            _("{where}: {amount} in of rain in a day; a gauge shows less than {most}. Is it mm?").format(
                where=where, amount=rain_in, most=RAIN_BELOW_IN
            ),
            fields={"rain_in": f"{RAIN_BELOW_IN} in and more"},
        )
    facts: dict[str, Any] = {"field": field, "day": day, "rain_in": rain_in.quantize(Decimal("0.01"))}

    def make() -> GaugeReading:
        return GaugeReading.objects.create(
            farm=farm, client_id=client_id, read_by=recorded_by, recorded_at=now, **facts
        )

    return keep_once(
        GaugeReading.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def take_back_gauge(*, reading: GaugeReading, by: User | None, now: dt.datetime) -> tuple[GaugeReading, bool]:
    """Keep that a gauge reading counts no more, as a row of its own; return that row and False if it was kept before."""
    facts = {"field": reading.field, "day": reading.day, "rain_in": reading.rain_in}
    return _taken_back(reading, read_by=by, recorded_at=now, **facts)


def take_back_soil_reading(
    *, reading: SoilReading, by: User | None, now: dt.datetime
) -> tuple[SoilReading, bool]:
    """Keep that a thermometer's reading counts no more, as `take_back_gauge` does."""
    names = ("field", "zone", "read_at", "depth_in", "temp_f")
    facts = {name: getattr(reading, name) for name in names}
    return _taken_back(reading, recorded_by=by, recorded_at=now, **facts)


def _taken_back(reading: Reading, **facts: Any) -> tuple[Reading, bool]:
    rows = type(reading)._default_manager
    client_id = uuid.uuid5(reading.client_id, "taken back")

    def make() -> Reading:
        return rows.create(
            farm=reading.farm, client_id=client_id, is_taken_back=True, supersedes=reading, **facts
        )

    return keep_once(rows.filter(supersedes=reading), client_id, make, lambda _kept: True)


def record_soil_reading(
    *,
    farm: Farm,
    field: Field,
    zone: SoilZone | None = None,
    read_at: dt.datetime,
    depth_in: Decimal,
    temp_f: Decimal,
    client_id: uuid.UUID,
    recorded_by: User | None,
    now: dt.datetime,
) -> tuple[SoilReading, bool]:
    """Keep what a thermometer showed in the ground; return the reading and False if it was kept before.

    Raises ReadingRefused for a depth that is not more than 0 and at most 12 in, warmth below 0 °F, of 130 °F or more,
    far below freezing on a day whose mean air temperature was mild, or more than 50 °F from it, numbers finer than
    tenths, an instant to come or before 1980, and another farm's field or another field's zone.
    """
    _refuse_other_farm(farm, field)
    if zone is not None and zone.field_id != field.pk:
        raise ReadingRefused(
            _("The field {field} has no zone {zone}.").format(field=repr(field.code), zone=repr(zone.name)),
            fields={"zone": "is not this field's"},
        )
    day = local_date(read_at, farm.zone)
    where = _("{field} on {day}").format(field=field, day=day)
    if read_at > now + CLOCK_SLACK:
        says = _("{where}: this hour has not come yet.").format(where=where)
        raise ReadingRefused(says, fields={"read_at": "in the future"})
    _refuse_old("read_at", day, where)
    _refuse_fine("depth_in", depth_in, 1, where)
    _refuse_fine("temp_f", temp_f, 1, where)
    if not 0 < depth_in <= DEEPEST_IN:
        raise ReadingRefused(
            _("{where}: a thermometer {depth} in deep; it is more than 0 and at most {most}.").format(
                where=where, depth=depth_in, most=DEEPEST_IN
            ),
            fields={"depth_in": f"more than 0, at most {DEEPEST_IN}"},
        )
    _refuse_warmth(farm, day, depth_in, temp_f, where)
    facts: dict[str, Any] = {
        "field": field,
        "zone": zone,
        "read_at": read_at,
        "depth_in": depth_in.quantize(Decimal("0.1")),
        "temp_f": temp_f.quantize(Decimal("0.1")),
    }

    def make() -> SoilReading:
        return SoilReading.objects.create(
            farm=farm, client_id=client_id, recorded_by=recorded_by, recorded_at=now, **facts
        )

    return keep_once(
        SoilReading.objects.filter(farm=farm, client_id=client_id),
        client_id,
        make,
        lambda kept: holds(kept, facts),
    )


def _refuse_warmth(farm: Farm, day: dt.date, depth_in: Decimal, temp_f: Decimal, where: str) -> None:
    if not COLDEST_F <= temp_f < HOTTEST_BELOW_F:
        raise ReadingRefused(
            _("{where}: {temp} °F in the ground; possible is {least} to less than {most}.").format(
                where=where, temp=temp_f, least=COLDEST_F, most=HOTTEST_BELOW_F
            ),
            fields={"temp_f": f"{COLDEST_F} to less than {HOTTEST_BELOW_F}"},
        )
    read = observed_days(farm=farm, first=day, last=day).get(day)
    if read is None:
        return
    low_c, high_c = (read.values[QUANTITIES.index(name)] for name in ("temp_min_c", "temp_max_c"))
    if not np.isfinite(low_c + high_c):
        return
    air_f = float(fahrenheit_from_celsius((low_c + high_c) / 2))
    seen = _("{where}: {temp} °F {depth} in deep, while the air was {air} °F in the mean.").format(
        where=where, temp=temp_f, depth=depth_in, air=f"{air_f:.0f}"
    )
    if temp_f < FROZEN_BELOW_F and air_f > MILD_DAY_F:
        celsius = _("Was it read in °C?")
        raise ReadingRefused(f"{seen} {celsius}", fields={"temp_f": "frozen ground on a mild day"})
    if abs(float(temp_f) - air_f) > FARTHEST_FROM_AIR_F:
        again = _("Ground is not so far from it: read it once more.")
        raise ReadingRefused(
            f"{seen} {again}",
            fields={"temp_f": f"more than {FARTHEST_FROM_AIR_F} °F from the day's air"},
        )


def _refuse_other_farm(farm: Farm, field: Field) -> None:
    if field.farm_id != farm.pk:
        raise ReadingRefused(
            _("{farm} has no field {field}.").format(farm=farm.name, field=repr(field.code)),
            fields={"field": "is not this farm's"},
        )


def _refuse_day(name: str, day: dt.date, farm: Farm, now: dt.datetime, where: str) -> None:
    if day > local_date(now, farm.zone):
        says = _("{where}: this day has not come yet.").format(where=where)
        raise ReadingRefused(says, fields={name: "in the future"})
    _refuse_old(name, day, where)


def _refuse_old(name: str, day: dt.date, where: str) -> None:
    if day.year < FIRST_YEAR:
        says = _("{where}: is the year right?").format(where=where)
        raise ReadingRefused(says, fields={name: f"before {FIRST_YEAR}"})


def _refuse_fine(name: str, value: Decimal, decimals: int, where: str) -> None:
    exponent = value.normalize().as_tuple().exponent if value.is_finite() else None
    if not isinstance(exponent, int):
        says = _("{where}: {fact} is {value}; it is no number.").format(where=where, fact=name, value=value)
        raise ReadingRefused(says, fields={name: "no number"})
    if -exponent > decimals:
        raise ReadingRefused(
            ngettext(
                "{where}: {fact} is {value}; it has at most {count} decimal.",
                "{where}: {fact} is {value}; it has at most {count} decimals.",
                decimals,
            ).format(where=where, fact=name, value=value, count=decimals),
            fields={name: "too many decimals"},
        )
