"""The weather that may come: dealt as the forecast tells it, and beyond it as it was."""

import datetime as dt
from dataclasses import replace
from itertools import groupby

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.windows.day_weather import Values, WeatherDays
from scheduling.windows.history import BLOCK_DAYS, PastDays, draw_past_days
from scheduling.windows.members import MEMBERS, MemberDays, deal_members, hour_shares, rain_amounts_mm

FIRST = dt.date(2026, 4, 20)


def told_days(
    days: int,
    *,
    first: dt.date = FIRST,
    chance: float = 0.4,
    if_wet_mm: float = 10.0,
    kind: str = "forecast",
    mean_c: float = 20.0,
) -> WeatherDays:
    """Days of one kind, all told alike."""
    missing = np.full(days, np.nan)
    return WeatherDays(
        days=tuple(first + dt.timedelta(days=index) for index in range(days)),
        temp_min_c=np.full(days, mean_c - 6),
        temp_max_c=np.full(days, mean_c + 6),
        rain_mm=np.full(days, chance * if_wet_mm),
        rain_if_wet_mm=np.full(days, if_wet_mm),
        rain_chance=np.full(days, chance),
        solar_mj_m2=missing,
        wind_m_s=np.full(days, 3.0),
        humidity_min_pct=missing,
        humidity_max_pct=missing,
        kind=(kind,) * days,
    )


def dealt(weather: WeatherDays, *, members: int = MEMBERS, past: PastDays | None = None) -> MemberDays:
    ahead = np.arange(1, len(weather.days) + 1)
    return deal_members(weather=weather, days_ahead=ahead, members=members, past=past)


def spring_of_spells(years: int = 6, *, seed: int = 5) -> PastDays:
    """Years of days in which rain comes in spells: wet after wet half the time, wet after dry a sixth of it."""
    rng = np.random.default_rng(seed)
    first = dt.date(FIRST.year - years, 1, 1)
    days = tuple(first + dt.timedelta(days=index) for index in range((FIRST - first).days))
    wet = np.zeros(len(days), dtype=bool)
    for index in range(1, len(days)):
        wet[index] = rng.random() < (0.5 if wet[index - 1] else 1 / 6)
    place = np.array([day.timetuple().tm_yday for day in days])
    mean = 17 - 9 * np.cos(2 * np.pi * (place - 20) / 365) + rng.normal(0, 3, len(days)) - 2 * wet
    missing = np.full(len(days), np.nan)
    return PastDays(
        days=days,
        temp_min_c=mean - np.where(wet, 4.0, 7.0),
        temp_max_c=mean + np.where(wet, 4.0, 7.0),
        rain_mm=np.where(wet, 0.3 + rng.exponential(11.0, len(days)), 0.0),
        solar_mj_m2=np.where(wet, 8.0, 20.0),
        wind_m_s=missing,
        humidity_min_pct=missing,
        humidity_max_pct=missing,
    )


def mean_spell(wet: np.ndarray) -> float:
    """Return the mean length of runs of wet days that both begin and end inside, days first."""
    lengths = []
    for member in wet.T:
        runs = [(is_wet, len(list(run))) for is_wet, run in groupby(member)]
        lengths += [length for is_wet, length in runs[1:-1] if is_wet]
    return float(np.mean(lengths))


@given(
    chance=st.floats(0, 1),
    amount=st.floats(0, 100),
    first=st.dates(dt.date(2020, 1, 1), dt.date(2030, 12, 31)),
    members=st.sampled_from([50, MEMBERS, 333, 500]),
)
def test_as_many_members_are_wet_as_the_chance_says(
    chance: float, amount: float, first: dt.date, members: int
) -> None:
    made = dealt(told_days(3, first=first, chance=chance, if_wet_mm=amount), members=members)
    for day in made.rain_mm:
        assert abs(float((day > 0).mean()) - (chance if amount else 0.0)) <= 0.5 / members + 1e-9
        if (day > 0).any():
            assert day[day > 0].mean() == pytest.approx(amount)


@pytest.mark.parametrize("members", [0, 501])
def test_there_are_up_to_five_hundred_members(members: int) -> None:
    with pytest.raises(ValueError, match=f"{members} members"):
        dealt(told_days(1), members=members)


def test_amounts_of_wet_members_are_spread_exponentially() -> None:
    # of an exponential spread, 63 in 100 lie below the mean, 86 below twice, 95 below three times (1 - 1/e, …)
    amounts = rain_amounts_mm(wet_members=500, mean_mm=10.25) - 0.25
    for times, share in ((1, 0.632), (2, 0.865), (3, 0.950)):
        assert (amounts < times * 10.0).mean() == pytest.approx(share, abs=0.01)


@given(wet=st.integers(1, 200), more=st.integers(0, 50), mean_mm=st.floats(0, 80), extra_mm=st.floats(0, 40))
def test_more_chance_or_more_rain_gives_no_member_less(
    wet: int, more: int, mean_mm: float, extra_mm: float
) -> None:
    less = rain_amounts_mm(wet_members=wet, mean_mm=mean_mm)
    assert (rain_amounts_mm(wet_members=wet + more, mean_mm=mean_mm)[:wet] >= less - 1e-9).all()
    assert (rain_amounts_mm(wet_members=wet, mean_mm=mean_mm + extra_mm) >= less - 1e-9).all()


def test_neighbor_days_hang_together_and_far_ones_do_not() -> None:
    made = dealt(told_days(40), members=500)
    wet = made.rain_mm > 0
    shift = made.temp_min_c

    def alike(values: np.ndarray, apart: int) -> float:
        pairs = [np.corrcoef(values[day], values[day + apart])[0, 1] for day in range(40 - apart)]
        return float(np.mean(pairs))

    assert 0.12 < alike(wet, 1) < 0.35
    assert abs(alike(wet, 6)) < 0.06
    assert 0.6 < alike(shift, 1) < 0.8
    assert alike(shift, 6) < 0.25


def test_members_are_off_by_more_the_further_ahead_and_not_at_all_on_the_whole() -> None:
    made = dealt(told_days(10))
    off = made.temp_max_c - 26.0
    assert off.mean(axis=1) == pytest.approx(np.zeros(10), abs=1e-9)
    assert off[0].std() == pytest.approx(1.2, rel=0.03)
    assert (np.diff(off.std(axis=1)) >= -1e-9).all()
    assert off[-1].std() == pytest.approx(3.5, rel=0.03)
    assert made.wind_m_s.mean(axis=1) == pytest.approx(np.full(10, 3.0))
    assert (made.wind_m_s > 0).all()


def test_a_date_is_dealt_alike_whatever_day_the_run_starts_on() -> None:
    past = spring_of_spells()
    for kind in ("forecast", "climatology"):
        whole, later = (
            dealt(told_days(20 - skipped, first=FIRST + dt.timedelta(days=skipped), kind=kind), past=past)
            for skipped in (0, 3)
        )
        assert (whole.rain_mm[3:] == later.rain_mm).all()
    assert (whole.temp_min_c[3:] == later.temp_min_c).all()


def test_a_day_that_was_read_is_the_same_in_all_members() -> None:
    weather = told_days(4)
    made = deal_members(weather=weather, days_ahead=np.array([0, 0, 1, 2]))
    assert (made.rain_mm[:2] == weather.rain_mm[:2, np.newaxis]).all()
    assert (made.temp_min_c[:2] == 14.0).all()
    assert np.ptp(made.temp_min_c[2]) > 3


def test_beyond_the_forecast_spells_of_rain_are_as_long_as_they_were() -> None:
    past = spring_of_spells()
    made = dealt(told_days(40, kind="climatology"), past=past, members=500)
    wet = made.rain_mm > 0
    of_season = [
        past.rain_mm[begin - 10 : begin + 50] > 0
        for begin in (past.days.index(dt.date(year, FIRST.month, FIRST.day)) for year in range(2020, 2026))
    ]
    was_wet = np.array(of_season).T
    assert mean_spell(wet) == pytest.approx(mean_spell(was_wet), rel=0.1)
    assert wet.mean() == pytest.approx(was_wet.mean(), rel=0.1)
    # were every day dealt alone, a spell of the same chance would last 1 / (1 - chance) days
    assert mean_spell(wet) > 1.2 / (1 - wet.mean())


def test_beyond_the_forecast_a_days_quantities_stay_together() -> None:
    made = dealt(told_days(20, kind="climatology"), past=spring_of_spells())
    wet = made.rain_mm > 0
    assert (made.solar_mj_m2[wet] == 8.0).all()
    assert (made.solar_mj_m2[~wet] == 20.0).all()
    width = made.temp_max_c - made.temp_min_c
    assert width[wet] == pytest.approx(np.full(wet.sum(), 8.0))
    assert (
        made.wind_m_s[:3] != 3.0
    ).any()  # never read in the past: the usual day's wind stays, with its error


def test_beyond_the_forecast_warmth_is_on_the_whole_what_is_usual() -> None:
    made = dealt(told_days(20, kind="climatology", mean_c=25.0), past=spring_of_spells())
    mean = (made.temp_min_c + made.temp_max_c) / 2
    assert mean.mean(axis=1) == pytest.approx(np.full(20, 25.0))
    assert mean.std(axis=1).min() > 1.5


def test_blocks_come_from_the_same_weeks_of_other_years() -> None:
    past = spring_of_spells()
    days = told_days(20, kind="climatology").days
    drawn = draw_past_days(days=days, past=past, members=200)
    assert drawn is not None
    apart = [
        abs(past.days[place].timetuple().tm_yday - day.timetuple().tm_yday)
        for day, row in zip(days, drawn, strict=True)
        for place in row
    ]
    assert max(apart) <= 11  # ten days and a leap day
    steps = np.diff(drawn, axis=0)
    assert (steps == 1).mean() > 1 - 1.5 / BLOCK_DAYS
    assert len({past.days[place].year for place in drawn[0]}) >= 5


def test_a_farm_of_two_months_goes_through_those_and_one_of_a_week_deals_days_alone() -> None:
    known = spring_of_spells()
    short = replace_days(known, last=60)
    drawn = draw_past_days(days=told_days(12).days, past=short, members=100)
    assert drawn is not None
    assert len(np.unique(drawn)) > 40
    assert draw_past_days(days=told_days(12).days, past=replace_days(known, last=7), members=100) is None
    week = dealt(told_days(12, kind="climatology"), past=replace_days(known, last=7))
    assert (week.rain_mm > 0).mean() == pytest.approx(0.4)


def test_no_block_runs_over_a_gap() -> None:
    known = replace_days(spring_of_spells(), last=40)
    holed = replace(known, rain_mm=np.where(np.arange(40) == 20, np.nan, known.rain_mm))
    missing = PastDays(
        days=known.days[:15] + known.days[18:],
        **{
            name: np.delete(getattr(known, name), slice(15, 18))
            for name in PastDays.__dataclass_fields__
            if name != "days"
        },
    )
    for past in (holed, missing):
        made = dealt(told_days(15, kind="climatology"), past=past, members=100)
        assert not np.isnan(made.rain_mm).any()
    drawn = draw_past_days(days=told_days(10).days, past=missing, members=100)
    assert drawn is not None
    ordinals = np.array([day.toordinal() for day in missing.days])[drawn]
    steps = np.diff(ordinals, axis=0)
    at = FIRST.toordinal() + 1 + np.arange(9)[:, np.newaxis] + np.arange(100) % BLOCK_DAYS
    assert (steps[at % BLOCK_DAYS != 0] == 1).all()


def replace_days(past: PastDays, *, last: int) -> PastDays:
    def cut(values: Values) -> Values:
        return values[-last:]

    parts = {name: cut(getattr(past, name)) for name in PastDays.__dataclass_fields__ if name != "days"}
    return PastDays(days=past.days[-last:], **parts)


def test_days_share_their_rain_out_whole() -> None:
    day_index = np.repeat([0, 1, 2], [24, 23, 25])
    weight = np.zeros(72)
    weight[30:33] = [1.0, 2.0, np.nan]
    shares = hour_shares(day_index=day_index, minutes=np.full(72, 60.0), weight=weight, days=3)
    assert np.bincount(day_index, weights=shares) == pytest.approx(np.ones(3))
    assert shares[30] == pytest.approx(1 / 3)
    assert shares[0] == pytest.approx(1 / 24)
