"""Every shipped limit looks at something, and speaks when just that is wrong: ground on which all else is right."""

import datetime as dt
from dataclasses import replace
from functools import cache
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from farmops.farms.operations import PIVOT_WORK, Operation
from farmops.science.units import celsius_from_fahrenheit, m_s_from_mph, mm_from_inches
from scheduling.windows import Judge, PassWindows, WorkAsked
from scheduling.windows.ground import Ground
from scheduling.windows.limits import (
    OF_THE_CLOCK,
    Effect,
    Land,
    Limit,
    LimitKind,
    Quantity,
)
from scheduling.windows.power import PowerCut
from scheduling.windows.report import AdviceStretch, ShutStretch
from scheduling.windows.sayings import Saying, Word
from scheduling.windows.stops import FieldRecords, PivotSeen, Sprayed
from tests.scheduling.windows.scene import FIRST, LIMITS, ZONE, ground_of, horizon, weather_of

NEW_YORK = ZoneInfo(ZONE)
DAYS = 2
NOON = 12 * 60
"""Of the first day: no dew, no inversion, light."""


def at(hour: int, minute: int = 0, *, day: int = 0, second: int = 0) -> dt.datetime:
    return dt.datetime.combine(FIRST + dt.timedelta(days=day), dt.time(hour, minute, second), tzinfo=NEW_YORK)


@cache
def fair_ground() -> Ground:
    """Two days on which every limit holds at noon, in every member."""
    drawn = ground_of(weather_of(mean_c=24.0, days=DAYS))
    texture = drawn.zones[0].texture
    good = 0.8 * drawn.zones[0].workable_below_m3_m3
    hours = drawn.rain_hour_mm.shape
    days = drawn.air_min_c.shape
    return replace(
        drawn,
        topsoil_m3_m3=np.full_like(drawn.topsoil_m3_m3, good),
        subsoil_m3_m3=np.full_like(drawn.subsoil_m3_m3, 0.9 * texture.field_capacity_m3_m3),
        seed_m3_m3=np.full_like(drawn.seed_m3_m3, 0.8 * texture.field_capacity_m3_m3),
        rain_hour_mm=np.zeros(hours),
        air_hour_c=np.full(hours, 25.0),
        humidity_hour_pct=np.full(hours, 50.0),
        wind_hour_m_s=np.full(hours, float(m_s_from_mph(7.0))),
        inversion_hour=np.zeros(hours),
        air_min_c=np.full(days, 20.0),
        dd60_f=np.full(days, 15.0),
        soil_mean_c=np.full_like(drawn.soil_mean_c, 25.0),
        surface_amplitude_c=np.full_like(drawn.surface_amplitude_c, 1.0),
    )


def broken(limit: Limit) -> Ground:
    """Return the fair ground with what one limit looks at on its wrong side, and nothing else."""
    ground, soil_zone = fair_ground(), fair_ground().zones[0]
    over = 0.8 if limit.is_floor else 1.2
    quantity = limit.quantity
    if quantity is Quantity.TRAFFIC:
        return replace(
            ground, topsoil_m3_m3=np.full_like(ground.topsoil_m3_m3, 1.2 * soil_zone.workable_below_m3_m3)
        )
    if quantity is Quantity.TOPSOIL:
        bound = soil_zone.dry_below_m3_m3 if limit.unit == "share_of_dry" else soil_zone.workable_below_m3_m3
        return replace(ground, topsoil_m3_m3=np.full_like(ground.topsoil_m3_m3, over * limit.number * bound))
    if quantity is Quantity.SUBSOIL:
        wet = over * limit.number * soil_zone.texture.field_capacity_m3_m3
        return replace(ground, subsoil_m3_m3=np.full_like(ground.subsoil_m3_m3, wet))
    if quantity is Quantity.SEED_WATER:
        dry = 0.5 * soil_zone.texture.wilting_point_m3_m3
        return replace(ground, seed_m3_m3=np.full_like(ground.seed_m3_m3, dry))
    if quantity in (Quantity.RAIN_HOUR, Quantity.RAIN_AHEAD, Quantity.RAIN_BEHIND):
        return replace(ground, rain_hour_mm=rain_at(ground, limit))
    celsius = float(celsius_from_fahrenheit(limit.number - 3)) if limit.unit == "F" else 0.0
    if quantity in (Quantity.SOIL_MEAN, Quantity.SOIL_HOUR):
        return replace(ground, soil_mean_c=np.full_like(ground.soil_mean_c, celsius))
    if quantity is Quantity.AIR_MIN:
        return replace(ground, air_min_c=np.full_like(ground.air_min_c, celsius))
    if quantity in (Quantity.AIR_AHEAD, Quantity.AIR_BEHIND):
        air = ground.air_hour_c.copy()
        air[30 if quantity is Quantity.AIR_AHEAD else 5] = celsius
        return replace(ground, air_hour_c=air)
    if quantity is Quantity.DD60_SUM:
        return replace(ground, dd60_f=np.full_like(ground.dd60_f, (limit.number - 1) / 5))
    if quantity is Quantity.WIND:
        wind = np.full_like(ground.wind_hour_m_s, float(m_s_from_mph(over * limit.number)))
        return replace(ground, wind_hour_m_s=wind)
    if quantity is Quantity.INVERSION:
        return replace(ground, inversion_hour=np.full_like(ground.inversion_hour, over * limit.number))
    if quantity is Quantity.DEW:
        return replace(ground, humidity_hour_pct=np.full_like(ground.humidity_hour_pct, 95.0))
    assert quantity is Quantity.HUMIDITY
    damp = np.full_like(ground.humidity_hour_pct, limit.number + 2)
    return replace(ground, humidity_hour_pct=damp)


def rain_at(ground: Ground, limit: Limit) -> np.ndarray:
    """Rain in the hour of noon, in one soon after it, or in one before it."""
    rain = np.zeros_like(ground.rain_hour_mm)
    hour = {Quantity.RAIN_HOUR: 12, Quantity.RAIN_AHEAD: 14, Quantity.RAIN_BEHIND: 10}[limit.quantity]
    rain[hour] = float(mm_from_inches(limit.number * 1.5))
    return rain


RECORDS = {
    Quantity.RE_ENTRY: FieldRecords(sprayings=(Sprayed(at(8), "a fungicide", 24.0),)),
    Quantity.PLANT_BACK: FieldRecords(sprayings=(Sprayed(at(8, day=-3), "a burndown", 4.0, 30),)),
    Quantity.POWER_SHUT: FieldRecords(
        power_cuts=(PowerCut(FIRST.weekday(), dt.time(11), dt.time(14)),), pump="Well 2"
    ),
    Quantity.PIVOT_RUNS: FieldRecords(pivot=PivotSeen(at(6), True, 10.0, 90.0)),
    Quantity.PIVOT_OFF: FieldRecords(pivot=PivotSeen(at(6), False, 60.0, 90.0)),
}


def work(limit: Limit, **asked: object) -> WorkAsked:
    operation = sorted(limit.operations)[0]
    return WorkAsked(
        field="pond-40",
        operation=operation,
        crop=limit.crop or "cotton",
        zones=(0,),
        is_watered=limit.land is not Land.DRY,
        **asked,  # type: ignore[arg-type]
    )


def judged(ground: Ground, asked: WorkAsked, limits: tuple[Limit, ...] = LIMITS) -> PassWindows:
    return Judge(ground=ground, horizon=horizon(days=DAYS)).windows(asked=asked, limits=limits)


def speaking_at(windows: PassWindows, minute: int) -> set[str]:
    """Return the limits that shut a minute or speak against it."""
    stretches: list[ShutStretch | AdviceStretch] = [*windows.shut, *windows.advice]
    return {one.limit for one in stretches if one.from_min <= minute < one.to_min}


ALIKE = ({Quantity.TOPSOIL, Quantity.TRAFFIC}, {Quantity.SOIL_MEAN, Quantity.SOIL_HOUR}, {Quantity.DD60_SUM})
"""What cannot be wrong for one limit alone: a heavy wheel sinks where a planter smears."""


def switched_on(limit: Limit) -> tuple[Limit, ...]:
    """Return the shipped limits with this one in use, and without others that look at the same."""
    same = next((group for group in ALIKE if limit.quantity in group), set())
    return tuple(
        replace(one, is_used=one.key == limit.key) if one.key == limit.key or one.quantity in same else one
        for one in LIMITS
    )


OF_WEATHER = [one for one in LIMITS if one.quantity not in {*OF_THE_CLOCK, Quantity.MEMBER_SHARE}]


@pytest.mark.parametrize("operation", list(Operation))
@pytest.mark.parametrize("is_watered", [True, False])
def test_on_fair_ground_every_kind_of_work_is_open_at_noon_and_nothing_speaks(
    operation: Operation, is_watered: bool
) -> None:
    for crop in ("cotton", "peanuts", "corn", "soybeans"):
        asked = WorkAsked("pond-40", operation, crop, (0,), is_watered=is_watered)
        windows = judged(fair_ground(), asked)
        assert speaking_at(windows, NOON) == set()
        assert any(one.from_min <= NOON < one.to_min and one.chance == 1 for one in windows.open)


@pytest.mark.parametrize("limit", OF_WEATHER, ids=lambda one: one.key)
def test_a_limit_speaks_when_what_it_looks_at_is_wrong(limit: Limit) -> None:
    windows = judged(broken(limit), work(limit), switched_on(limit))
    kinds = windows.shut if limit.effect is Effect.SHUTS else windows.advice
    said = [one for one in kinds if one.limit == limit.key and one.from_min <= NOON < one.to_min]
    assert said, speaking_at(windows, NOON)
    assert any(letter.isdigit() for letter in said[0].says_en)
    assert any(letter.isdigit() for letter in said[0].says_es)
    assert speaking_at(windows, NOON) == {limit.key}


@pytest.mark.parametrize("limit", OF_WEATHER, ids=lambda one: one.key)
def test_a_limit_that_is_off_does_not_speak(limit: Limit) -> None:
    off = tuple(replace(one, is_used=False) if one.key == limit.key else one for one in LIMITS)
    assert limit.key not in speaking_at(judged(broken(limit), work(limit), off), NOON)


@pytest.mark.parametrize("limit", OF_WEATHER, ids=lambda one: one.key)
def test_a_limit_says_nothing_to_work_it_does_not_name(limit: Limit) -> None:
    others = set(Operation) - limit.operations
    asked = replace(work(limit), operation=sorted(others)[0])
    assert limit.key not in speaking_at(judged(broken(limit), asked, switched_on(limit)), NOON)


@pytest.mark.parametrize("limit", OF_WEATHER, ids=lambda one: one.key)
@pytest.mark.parametrize("word", [Word.FIT, Word.NOT_TODAY])
def test_the_growers_word_outranks_wet_and_dry_ground_and_nothing_else(limit: Limit, word: Word) -> None:
    saying = Saying(None, FIRST, word, None, at(5))
    windows = judged(broken(limit), work(limit, sayings=(saying,)), switched_on(limit))
    if word is Word.FIT:
        is_ground = limit.kind in (LimitKind.WETNESS, LimitKind.DRYNESS)
        assert (limit.key in speaking_at(windows, NOON)) is not is_ground
    else:
        is_on_the_ground = work(limit).operation not in PIVOT_WORK
        assert ("say_so" in speaking_at(windows, NOON)) is is_on_the_ground


@pytest.mark.parametrize("quantity", RECORDS)
def test_what_is_recorded_of_a_field_speaks_without_a_chance(quantity: Quantity) -> None:
    (limit,) = [one for one in LIMITS if one.quantity is quantity]
    windows = judged(fair_ground(), work(limit, records=RECORDS[quantity]))
    assert speaking_at(windows, NOON) == {limit.key}
    assert speaking_at(judged(fair_ground(), work(limit)), NOON) == set()
    assert all(one.chance == 1 for one in windows.open if limit.quantity is not Quantity.DAYLIGHT)


@pytest.mark.parametrize("operation", list(Operation))
@pytest.mark.parametrize("word", [None, Word.FIT, Word.NOT_TODAY])
def test_nobody_enters_before_the_label_lets_them_whatever_the_grower_says(
    operation: Operation, word: Word | None
) -> None:
    sayings = (Saying(None, FIRST, word, None, at(5)),) if word else ()
    sprayed = Sprayed(at(6, 20, second=30), "a fungicide", 12.0)
    asked = WorkAsked(
        "pond-40", operation, "cotton", (0,), sayings=sayings, records=FieldRecords(sprayings=(sprayed,))
    )
    windows = judged(fair_ground(), asked)
    # half a minute into 6:20 pm the twelve hours end: the first minute that may be entered is 6:21 pm
    last = 18 * 60 + 20
    assert all("re_entry" in speaking_at(windows, minute) for minute in (6 * 60 + 20, NOON, last))
    assert "re_entry" not in speaking_at(windows, 6 * 60 + 19)
    assert "re_entry" not in speaking_at(windows, last + 1)
    told = next(one for one in windows.shut if one.limit == "re_entry")
    assert told.says_en.startswith(
        "sprayed with a fungicide: stay out until Monday 6:21 pm, 12 h on the label"
    )
    assert told.says_es.startswith(
        "se fumigó con a fungicide: no entrar hasta el lunes a las 6:21 de la tarde, 12 horas según la etiqueta"
    )


def test_of_several_sprayings_the_one_that_lasts_longest_is_told() -> None:
    records = FieldRecords(sprayings=(Sprayed(at(8), "the longer", 48.0), Sprayed(at(9), "the shorter", 4.0)))
    windows = judged(fair_ground(), WorkAsked("pond-40", Operation.DISK, "cotton", (0,), records=records))
    assert {one.says_en.split(":")[0] for one in windows.shut} == {"sprayed with the longer"}
    assert (windows.shut[0].from_min, windows.shut[-1].to_min) == (8 * 60, 2 * 1440)


def test_planting_waits_the_days_of_the_label_after_burndown() -> None:
    # sprayed on the 1st with 20 days to wait: planting from the 21st on, whatever the hour
    sprayed = Sprayed(at(16, day=-19), "a burndown", 4.0, 20)
    limit = next(one for one in LIMITS if one.key == "plant_back")
    windows = judged(fair_ground(), work(limit, records=FieldRecords(sprayings=(sprayed,))))
    assert (windows.shut[0].from_min, windows.shut[0].to_min) == (0, 1440)
    assert windows.shut[0].says_en == (
        "sprayed with a burndown: no planting until Tuesday 12 am, 20 days on the label; opens Tuesday"
    )
    disk = WorkAsked("pond-40", Operation.DISK, "cotton", (0,), records=FieldRecords(sprayings=(sprayed,)))
    assert judged(fair_ground(), disk).shut == ()


def test_a_pivot_seen_running_keeps_machines_out_for_a_day_and_pivot_work_never() -> None:
    records = RECORDS[Quantity.PIVOT_RUNS]
    disk = judged(fair_ground(), WorkAsked("pond-40", Operation.DISK, "cotton", (0,), records=records))
    assert [(one.from_min, one.to_min) for one in disk.shut] == [(6 * 60, 1440), (1440, 1440 + 6 * 60)]
    assert disk.shut[0].says_en.startswith("the pivot was running Monday 6 am: stop and park it first")
    walk = WorkAsked("pond-40", Operation.PIVOT_WALK, "cotton", (0,), records=records, is_watered=True)
    assert judged(fair_ground(), walk).shut == ()


@pytest.mark.parametrize(
    ("angle_deg", "speaks"), [(90.0, False), (99.0, False), (101.0, True), (270.0, True), (351.0, True)]
)
def test_a_pivot_beside_its_parking_line_is_told(angle_deg: float, speaks: bool) -> None:
    records = FieldRecords(pivot=PivotSeen(at(6), False, angle_deg, 90.0))
    windows = judged(fair_ground(), WorkAsked("pond-40", Operation.DISK, "cotton", (0,), records=records))
    assert ("pivot_in_way" in speaking_at(windows, NOON)) is speaks


def test_sprayers_and_walkers_go_by_daylight_and_a_disk_goes_at_night() -> None:
    ground = replace(
        fair_ground(),
        sunrise_h=np.full(len(fair_ground().grid.days), 6.75),
        sunset_h=np.full(len(fair_ground().grid.days), 20.0),
    )
    for operation, key in ((Operation.SPRAY, "spray_light"), (Operation.DEBRIS_WALK, "walk_light")):
        windows = judged(ground, WorkAsked("pond-40", operation, "cotton", (0,)))
        assert [(one.from_min, one.to_min) for one in windows.open] == [
            (405, 1200),
            (1440 + 405, 1440 + 1200),
        ]
        assert {one.limit for one in windows.shut} == {key}
        assert windows.shut[0].says_en.startswith("dark until 6:45 am: ")
        assert windows.shut[0].says_en.endswith("; opens at 6:45 am")
    assert judged(ground, WorkAsked("pond-40", Operation.DISK, "cotton", (0,))).shut == ()


def test_wind_that_is_not_known_shuts_nothing_and_says_look() -> None:
    ground = replace(fair_ground(), wind_hour_m_s=np.full_like(fair_ground().wind_hour_m_s, np.nan))
    windows = judged(ground, WorkAsked("pond-40", Operation.SPRAY, "cotton", (0,)))
    told = [
        one.says_en
        for one in windows.advice
        if one.limit == "wind_most" and one.from_min <= NOON < one.to_min
    ]
    assert told == ["wind not known: look on the spot before you start"]
    assert speaking_at(windows, NOON) == {"wind_most"}


def test_a_chance_is_the_share_of_members_in_which_all_limits_hold() -> None:
    ground = fair_ground()
    wet, windy = ground.topsoil_m3_m3.copy(), ground.wind_hour_m_s.copy()
    wet[:, :, :20] = 0.5
    windy[:, 10:40] = 20.0
    both = replace(ground, topsoil_m3_m3=wet, wind_hour_m_s=windy)
    windows = judged(both, WorkAsked("pond-40", Operation.SPRAY, "cotton", (0,)))
    noon = [one.chance for one in windows.open if one.from_min <= NOON < one.to_min]
    assert noon == [round(1 - 40 / ground.members, 4)]
