"""The ground worked out: one balance through days, hours and members, with what is known of each zone in it."""

import datetime as dt
import tracemalloc
from dataclasses import fields, replace
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from scheduling.windows import timeline as timeline_module
from scheduling.windows.columns import GroundRemark, SoilTempRead, ZoneFacts, nothing_known
from scheduling.windows.day_weather import WeatherDays
from scheduling.windows.ground import Ground
from scheduling.windows.ground_table import ground_table
from tests.scheduling.windows.scene import FIRST, ZONE, ground_of, soil, weather_of

WET_WEEKEND = {-3: 25.0, -2: 40.0, -1: 15.0}
SHOWERS = {2: 12.0, 3: 12.0, 5: 20.0}
CHANCES = {2: 0.4, 3: 0.6, 5: 0.3}


def facts_of(weather: WeatherDays, *, rain_mm: dict[int, float] | None = None, **known: object) -> ZoneFacts:
    """Facts of a zone; `rain_mm` (from gauges) and `watered_mm` by days from FIRST, the rest as it is given."""
    bare = nothing_known(len(weather.days))
    at = weather.days.index(FIRST)
    rain, watered, source = bare.rain_mm.copy(), bare.watered_mm.copy(), list(bare.rain_source)
    for offset, amount in (rain_mm or {}).items():
        rain[at + offset], source[at + offset] = amount, "gauge"
    for offset, amount in known.pop("watered_mm", {}).items():  # type: ignore[attr-defined]
        watered[at + offset] = amount
    return replace(bare, rain_mm=rain, watered_mm=watered, rain_source=tuple(source), **known)  # type: ignore[arg-type]


def local(day: int, hour: int) -> dt.datetime:
    return dt.datetime.combine(FIRST + dt.timedelta(days=day), dt.time(hour), tzinfo=ZoneInfo(ZONE))


def at_hour(ground: Ground, instant: dt.datetime, zone: int = 0) -> np.ndarray:
    """Return the topsoil of a zone at the end of the hour that begins at an instant, by member."""
    return ground.topsoil_m3_m3[ground.grid.starts.index(instant.astimezone(dt.UTC)), ground.columns[zone]]


def day_of(ground: Ground, day: int) -> int:
    return ground.weather.days.index(FIRST + dt.timedelta(days=day))


@pytest.mark.parametrize(
    ("low_c", "high_c", "wind_m_s"),
    [(45.0, 57.0, 1.0), (-60.0, -55.0, 1.0), (50.0, 50.0, 1.0), (8.0, 20.0, 40.0)],
)
def test_no_member_goes_beyond_what_can_be_worked_out(low_c: float, high_c: float, wind_m_s: float) -> None:
    """Days as extreme as an import takes them, the members' errors on top."""
    mild = weather_of()
    count = len(mild.days)
    ground = ground_of(
        replace(
            mild,
            temp_min_c=np.full(count, low_c),
            temp_max_c=np.full(count, high_c),
            wind_m_s=np.full(count, wind_m_s),
        )
    )
    assert np.isfinite(ground.topsoil_m3_m3).all()
    assert np.ptp(ground.air_max_c[day_of(ground, 5)]) > 0, "the members still differ"
    assert (ground.air_min_c >= -60).all()
    assert (ground.air_max_c <= 60).all()


def peak_and_held(zones: int) -> tuple[int, int]:
    """Return the most bytes that working out so many zones took, no two alike, and those of what is told of them."""
    weather = weather_of()
    facts = [facts_of(weather, watered_mm={-40: 0.1 + number / 100}) for number in range(zones)]
    tracemalloc.start()
    try:
        ground = ground_of(weather, zones=[soil()] * zones, facts=facts)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    told = (getattr(ground, one.name) for one in fields(ground))
    return peak, sum(one.nbytes for one in told if isinstance(one, np.ndarray))


def test_of_months_before_nothing_is_held_while_other_zones_are_worked_out() -> None:
    """Each further block of zones takes what is told of it and, while it is put together, little beside."""
    (few_peak, few_held), (many_peak, many_held) = peak_and_held(40), peak_and_held(200)
    assert many_peak - few_peak < 1.2 * (many_held - few_held)


def test_a_desert_storm_asks_no_more_of_the_ground_than_the_balance_takes() -> None:
    mild = weather_of()
    told = {"temp_min_c": 28, "temp_max_c": 48, "wind_m_s": 20, "humidity_min_pct": 2, "humidity_max_pct": 15}
    days = {name: np.full(len(mild.days), float(value)) for name, value in told.items()}
    assert ground_of(replace(mild, **days)).et0_mm.max() == 30


def test_zones_of_which_the_same_is_known_share_a_column() -> None:
    weather = weather_of(rain_mm=WET_WEEKEND)
    plain, gauged = facts_of(weather), facts_of(weather, rain_mm={-1: 3.0})
    zones = [soil(name="a"), soil(name="b"), soil("clay_loam", name="c"), soil(name="d"), soil(name="e")]
    ground = ground_of(weather, zones=zones, facts=[plain, facts_of(weather), plain, gauged, gauged])
    assert ground.columns == (0, 0, 1, 2, 2)
    assert ground.topsoil_m3_m3.shape[1] == 3


def test_zones_with_limits_of_their_own_part_only_where_a_remark_is_held_against_them() -> None:
    weather = weather_of()
    own = replace(soil(name="own"), workable_below_m3_m3=0.15)
    assert ground_of(weather, zones=[soil(), own]).columns == (0, 0)
    said = facts_of(weather, remarks=(GroundRemark(local(0, 6), "too_wet"),))
    assert ground_of(weather, zones=[soil(), own], facts=[said, said]).columns == (0, 1)


def test_a_gauge_at_the_field_outranks_what_the_farm_read() -> None:
    weather = weather_of(rain_mm={-2: 40.0, -1: 40.0})
    dry_here = facts_of(weather, rain_mm={-2: 0.0, -1: 0.0})
    ground = ground_of(
        weather, zones=[soil(name="wet"), soil(name="dry")], facts=[facts_of(weather), dry_here]
    )
    wet, dry = (at_hour(ground, local(0, 8), zone).mean() for zone in (0, 1))
    assert wet > 0.22
    assert dry < 0.15
    told = ground_table(ground, first=FIRST - dt.timedelta(days=0), last=FIRST)
    assert [zone.days[0].topsoil_8am_m3_m3 > 0.22 for zone in told] == [True, False]
    dry_column = ground.columns[1]
    assert ground.field_rain_mm[day_of(ground, -1), dry_column] == 0.0
    assert ground.rain_source[dry_column][day_of(ground, -1)] == "gauge"
    assert ground.field_rain_mm[day_of(ground, -1), ground.columns[0]] == 40.0


def test_a_gauge_counts_on_a_day_whose_weather_is_not_in_yet() -> None:
    weather = weather_of(rain_mm={-1: 20.0}, chance={-1: 0.5})
    unread = replace(
        weather,
        kind=tuple("forecast" if day >= FIRST - dt.timedelta(days=1) else "observed" for day in weather.days),
    )
    gauged = facts_of(weather, rain_mm={-1: 20.0})
    ground = ground_of(unread, zones=[soil(name="a"), soil(name="b")], facts=[facts_of(weather), gauged])
    nobody, somebody = (at_hour(ground, local(0, 0), zone) for zone in (0, 1))
    assert np.quantile(nobody, 0.9) - np.quantile(nobody, 0.1) > 0.05
    assert np.quantile(somebody, 0.9) - np.quantile(somebody, 0.1) < 0.01
    assert somebody.mean() > nobody.mean()


def test_days_that_nobody_read_part_the_members_before_the_day_itself() -> None:
    weather = weather_of(rain_mm={-2: 15.0, -1: 15.0}, chance={-2: 0.5, -1: 0.5})
    unread = replace(
        weather,
        rain_mm=np.where(weather.rain_chance == 0.5, 7.5, weather.rain_mm),
        kind=tuple("forecast" if day >= FIRST - dt.timedelta(days=2) else "observed" for day in weather.days),
    )
    ground = ground_of(unread)
    water = at_hour(ground, local(0, 0))
    assert 0.2 < (water > 0.2).mean() < 0.8
    assert np.ptp(ground.soil_mean_c[day_of(ground, -1), 0]) > 1


def test_a_day_in_the_past_that_nobody_read_has_its_mean_rain() -> None:
    weather = weather_of(rain_mm={-5: 30.0}, chance={-5: 0.2})
    guessed = replace(
        weather,
        rain_mm=np.where(weather.rain_chance == 0.2, 6.0, 0.0),
        kind=tuple(
            "forecast" if day >= FIRST or day == FIRST - dt.timedelta(days=5) else "observed"
            for day in weather.days
        ),
    )
    light = weather_of(rain_mm={-5: 6.0})
    assert at_hour(ground_of(guessed), local(0, 0)) == pytest.approx(at_hour(ground_of(light), local(0, 0)))


@pytest.mark.parametrize("operation_day", [0, 3])
def test_water_put_on_is_in_the_ground_and_in_the_table(operation_day: int) -> None:
    weather = weather_of()
    watered = facts_of(weather, watered_mm={operation_day: 15.0})
    ground = ground_of(
        weather, zones=[soil(name="dry"), soil(name="wet")], facts=[facts_of(weather), watered]
    )
    dry, wet = (at_hour(ground, local(operation_day + 1, 0), zone).mean() for zone in (0, 1))
    assert wet == pytest.approx(dry + 0.015 / 0.15, abs=0.035)
    before, after = (
        (at_hour(ground, local(operation_day, 0) - dt.timedelta(hours=1), zone) for zone in (0, 1))
        if (operation_day)
        else (np.zeros(1), np.zeros(1))
    )
    assert (before == after).all()
    told = ground_table(ground, first=FIRST, last=FIRST + dt.timedelta(days=6))
    assert [day.watered_mm for day in told[1].days][operation_day] == 15.0
    assert sum(day.watered_mm for day in told[0].days) == 0.0


@pytest.mark.parametrize(
    ("what", "rain_mm", "is_wetter"), [("too_wet", {}, True), ("too_dry", {-1: 12.0}, False)]
)
def test_a_remark_moves_its_own_zone_and_fades(what: str, rain_mm: dict[int, float], is_wetter: bool) -> None:
    weather = weather_of(days=14, rain_mm=rain_mm)
    said = facts_of(weather, remarks=(GroundRemark(local(0, 9), what),))
    ground = ground_of(
        weather, zones=[soil(name="hill"), soil(name="low end")], facts=[facts_of(weather), said]
    )
    sign = 1 if is_wetter else -1
    assert (at_hour(ground, local(0, 8), 0) == at_hour(ground, local(0, 8), 1)).all()
    moved = sign * (at_hour(ground, local(0, 9), 1) - at_hour(ground, local(0, 9), 0))
    assert (moved > 0.03).all()
    assert (moved <= 0.015 / 0.15 + 1e-4).all()  # fifteen millimeters in fifteen centimeters
    shift = sign * ground.remark_shift_m3_m3[:, ground.columns[1]]
    today = day_of(ground, 0)
    assert shift[today - 1] == 0
    assert shift[today] > 0.02
    assert (np.abs(shift[today + 4 : today + 13]) < 0.6 * shift[today]).all()
    assert np.abs(shift[today + 12]) < 0.15 * shift[today]
    assert (ground.remark_shift_m3_m3[:, ground.columns[0]] == 0).all()
    table = ground_table(ground, first=FIRST, last=FIRST)
    assert table[0].days[0].remark_shift_m3_m3 == 0
    assert sign * table[1].days[0].to_json()["remark_shift_m3_m3"] > 0.02


def test_ground_said_to_be_too_wet_is_above_its_limit_and_ground_said_to_fit_is_not() -> None:
    zone = soil()
    near = weather_of(rain_mm={-2: 18.0})
    unsaid = at_hour(ground_of(near), local(0, 9))
    assert (unsaid < zone.workable_below_m3_m3).all()
    said = facts_of(near, remarks=(GroundRemark(local(0, 9), "too_wet"),))
    wet = at_hour(ground_of(near, facts=[said]), local(0, 9))
    assert (wet > zone.workable_below_m3_m3).all()
    assert wet == pytest.approx(np.full(len(wet), zone.workable_below_m3_m3 + 0.03), abs=0.006)
    soaked = weather_of(rain_mm={-1: 30.0})
    assert (at_hour(ground_of(soaked), local(0, 9)) > zone.workable_below_m3_m3).all()
    fits = facts_of(soaked, remarks=(GroundRemark(local(0, 9), "fits"),))
    assert (at_hour(ground_of(soaked, facts=[fits]), local(0, 9)) <= zone.workable_below_m3_m3 + 1e-6).all()


@pytest.mark.parametrize("texture", ["loamy_sand", "sandy_loam", "clay_loam"])
def test_ground_said_to_be_too_wet_in_the_morning_is_not_open_an_hour_later(texture: str) -> None:
    # common practice, no source: who finds it too wet at 8 looks again in the afternoon at the soonest
    near = weather_of(rain_mm={-2: 18.0})
    said = facts_of(near, remarks=(GroundRemark(local(0, 8), "too_wet"),))
    ground = ground_of(near, zones=[soil(texture)], facts=[said])
    limit = ground.zones[0].workable_below_m3_m3
    assert (at_hour(ground, local(0, 7)) < limit).all()
    for hour in range(8, 11):
        assert (at_hour(ground, local(0, hour)) > limit).all()
    assert (at_hour(ground, local(3, 15)) < limit).all()


def test_a_remark_that_the_model_agrees_with_moves_nothing() -> None:
    for what, rain_mm in (("fits", {}), ("too_wet", {-1: 40.0})):
        weather = weather_of(rain_mm=rain_mm)
        said = facts_of(weather, remarks=(GroundRemark(local(0, 1), what),))
        ground = ground_of(weather, facts=[said])
        assert ground.remark_shift_m3_m3 == pytest.approx(np.zeros_like(ground.remark_shift_m3_m3), abs=1e-7)


@pytest.mark.parametrize("days_ago", [3, 30])
def test_remarks_of_the_past_count_by_the_hour_and_by_the_day(days_ago: int) -> None:
    weather = weather_of()
    said = facts_of(weather, remarks=(GroundRemark(local(-days_ago, 9), "too_wet"),))
    ground = ground_of(
        weather, facts=[said], first=FIRST - dt.timedelta(days=days_ago), as_of=FIRST - dt.timedelta(days=1)
    )
    shift = ground.remark_shift_m3_m3[:, 0]
    on_the_day = ground.weather.days.index(FIRST - dt.timedelta(days=days_ago))
    assert shift[on_the_day] > 0.02
    assert (shift[:on_the_day] == 0).all()
    assert shift[-1] < 0.3 * shift[on_the_day]


def test_a_thermometer_moves_the_soil_and_fades_by_half_in_three_days() -> None:
    weather = weather_of(mean_c=20.0)
    cold = facts_of(weather, readings=(SoilTempRead(local(0, 8), 4.0, 14.0),))
    ground = ground_of(weather, zones=[soil(name="a"), soil(name="b")], facts=[facts_of(weather), cold])
    today = day_of(ground, 0)
    apart = np.median(ground.soil_mean_c[:, 1], axis=1) - np.median(ground.soil_mean_c[:, 0], axis=1)
    assert apart[today - 1] == 0
    assert -4.5 < apart[today] < -2.5
    assert apart[today + 3] == pytest.approx(apart[today] / 2, abs=0.05)
    assert ground.thermometer_c[today, 1] == pytest.approx(apart[today], abs=1e-6)
    read = np.median(ground.soil_at_hour(4.0, 8.0)[today, 1])
    assert read == pytest.approx(14.0, abs=0.1)
    assert ground.soil_mean_at(2.0, column=1)[today].mean() - ground.soil_mean_at(2.0, column=0)[
        today
    ].mean() == pytest.approx(apart[today], abs=0.05)


def test_wet_ground_warms_later_and_swings_less() -> None:
    weather = weather_of(rain_mm={-1: 45.0, -2: 30.0}, mean_c=12.0)
    warm_end = replace(
        weather,
        temp_min_c=np.where([day >= FIRST for day in weather.days], 16.0, 6.0),
        temp_max_c=np.where([day >= FIRST for day in weather.days], 28.0, 18.0),
    )
    dry = facts_of(weather, rain_mm={-1: 0.0, -2: 0.0})
    ground = ground_of(warm_end, zones=[soil(name="wet"), soil(name="dry")], facts=[facts_of(weather), dry])
    today = day_of(ground, 1)
    assert ground.soil_mean_c[today, 0].mean() < ground.soil_mean_c[today, 1].mean() - 0.1
    assert ground.surface_amplitude_c[today, 0].mean() < ground.surface_amplitude_c[today, 1].mean() - 0.3


def test_the_sun_warms_bare_soil_without_a_step_where_the_forecast_lacks_it() -> None:
    plain = weather_of(mean_c=20.0)
    sunny = replace(plain, solar_mj_m2=np.where([day < FIRST for day in plain.days], 24.0, np.nan))
    means = np.median(ground_of(sunny).soil_mean_c[:, 0], axis=1)
    assert means[day_of(ground_of(sunny), -1)] > 20.5
    assert np.abs(np.diff(means)[-12:]).max() < 0.6
    assert means[-1] > 20.4  # without sun in the days ahead it would fall back to the air's 20 °C


def test_soil_that_a_cold_spell_left_cold_starts_cold_into_the_days_ahead() -> None:
    weather = weather_of(mean_c=20.0)
    spell = np.array([FIRST - dt.timedelta(days=6) <= day < FIRST for day in weather.days])
    low, high = (np.where(spell, temps - 12, temps) for temps in (weather.temp_min_c, weather.temp_max_c))
    ground = ground_of(replace(weather, temp_min_c=low, temp_max_c=high))
    means = np.median(ground.soil_mean_c[:, 0], axis=1)
    yesterday = day_of(ground, -1)
    assert means[yesterday] < 11.5
    # bare soil closes a quarter of the gap to the air in a day, dry soil a little more (zheng1993)
    assert means[yesterday + 1] == pytest.approx(means[yesterday] + 0.27 * (20 - means[yesterday]), abs=0.4)


def test_blocks_of_columns_of_any_size_give_the_same_ground(monkeypatch: pytest.MonkeyPatch) -> None:
    weather = weather_of(rain_mm=WET_WEEKEND | SHOWERS, chance=CHANCES)
    zones = [soil(key, name=key) for key in ("sand", "loam", "clay_loam", "silt_loam", "clay")]
    said = facts_of(weather, remarks=(GroundRemark(local(-2, 9), "fits"),), rain_mm={-1: 3.0})
    facts = [facts_of(weather), said, facts_of(weather), said, facts_of(weather, watered_mm={1: 12.0})]
    whole = ground_of(weather, zones=zones, facts=facts)
    monkeypatch.setattr("scheduling.windows.ground.BLOCK_CELLS", 1)
    single = ground_of(weather, zones=zones, facts=facts)
    for name in ("topsoil_m3_m3", "subsoil_m3_m3", "seed_m3_m3", "soil_mean_c", "remark_shift_m3_m3"):
        assert getattr(single, name) == pytest.approx(getattr(whole, name), abs=1e-6), name


def test_daily_steps_long_ago_leave_the_water_of_today_as_hours_would(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rain = dict.fromkeys(range(-80, 0, 6), 14.0) | WET_WEEKEND
    weather = weather_of(rain_mm=rain)
    zones = [soil("sandy_loam"), soil("clay_loam", name="low end")]
    usual = ground_of(weather, zones=zones)
    monkeypatch.setattr(timeline_module, "HOURLY_DAYS_BEFORE", 90)
    hourly = ground_of(weather, zones=zones)
    assert usual.topsoil_m3_m3 == pytest.approx(hourly.topsoil_m3_m3, abs=0.004)
    assert usual.subsoil_m3_m3 == pytest.approx(hourly.subsoil_m3_m3, abs=0.004)


def test_days_beyond_the_last_one_are_near_what_hours_would_give() -> None:
    weather = weather_of(days=7, rain_mm=WET_WEEKEND | SHOWERS, chance=CHANCES)
    closely, coarsely = ground_of(weather), ground_of(weather, last=FIRST + dt.timedelta(days=6))
    assert closely.topsoil_m3_m3.shape == coarsely.topsoil_m3_m3.shape
    hours = 8 * 24
    assert (closely.topsoil_m3_m3[:hours] == coarsely.topsoil_m3_m3[:hours]).all()
    assert coarsely.topsoil_day_m3_m3 == pytest.approx(closely.topsoil_day_m3_m3, abs=0.01)
    assert coarsely.soil_mean_c == pytest.approx(closely.soil_mean_c, abs=0.1)


@pytest.mark.parametrize(("first", "hours"), [(dt.date(2026, 3, 2), 167), (dt.date(2026, 10, 26), 169)])
def test_a_week_that_changes_the_clock_has_an_hour_less_or_more_and_the_same_rain(
    first: dt.date, hours: int
) -> None:
    # US clocks change on 8 March and 1 November 2026
    weather = weather_of(first=first, days=7, rain_mm={6: 10.0})
    ground = ground_of(weather, first=first)
    week = ground.grid.day_index < 7
    assert int(week.sum()) == hours
    by_day = np.array([ground.rain_hour_mm[ground.grid.day_index == day].sum(axis=0) for day in range(7)])
    assert by_day[6].mean() == pytest.approx(10.0)
    assert (by_day[:6] == 0).all()
    rise = ground.sunrise_h[:7]
    assert abs(rise[6] - rise[5]) == pytest.approx(1.0, abs=0.05)
    assert np.abs(np.diff(np.median(ground.topsoil_m3_m3[week, 0], axis=1))).max() < 0.06


def test_days_looked_back_on_are_the_same_in_all_members_whatever_came_after() -> None:
    weather = weather_of(days=14, rain_mm=WET_WEEKEND | {2: 30.0, 9: 20.0})
    read = replace(weather, kind=("observed",) * len(weather.days))
    known = FIRST + dt.timedelta(days=13)
    looked_back = ground_of(read, as_of=known, last=FIRST + dt.timedelta(days=6))
    closely = ground_of(read, as_of=known)
    week = looked_back.grid.day_index < 7
    assert np.ptp(looked_back.topsoil_m3_m3[week], axis=2).max() == 0
    assert (looked_back.topsoil_m3_m3[week] == closely.topsoil_m3_m3[week]).all()
    assert len(looked_back.topsoil_day_m3_m3) == len(looked_back.weather.days)
