"""What opens and shuts a pass, on invented ground."""

import datetime as dt
import re
from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from farmops.farms.operations import Operation
from scheduling.windows import WorkAsked, judge
from scheduling.windows.choices import with_choices
from scheduling.windows.limits import Choice
from scheduling.windows.power import PowerCut
from scheduling.windows.sayings import Saying, Word
from scheduling.windows.stops import FieldRecords
from tests.scheduling.windows.scene import (
    FIRST,
    LIMITS,
    ZONE,
    chance_at,
    ground_of,
    horizon,
    open_minutes,
    shut_by,
    soil,
    weather_of,
    windows_of,
)

DAY = 1440


def said(
    word: Word, *, day: dt.date = FIRST, after: dt.time | None = None, zone: str | None = None, hour: int = 5
) -> Saying:
    return Saying(zone, day, word, after, dt.datetime(2026, 4, 20, hour, tzinfo=ZoneInfo(ZONE)))


def test_dry_ground_is_open_day_and_night_and_surely() -> None:
    windows = windows_of(ground_of(weather_of()))
    assert [(one.from_min, one.to_min, one.chance) for one in windows.open] == [(0, 7 * DAY, 1.0)]
    assert windows.shut == ()


def test_wet_ground_is_shut_with_its_numbers_and_opens_when_dry() -> None:
    ground = ground_of(weather_of(rain_mm={-2: 30.0, -1: 30.0}))
    windows = windows_of(ground)
    first = windows.shut[0]
    assert first.limit == "sticks"
    limit = ground.zones[0].workable_below_m3_m3
    assert f"workable below {limit:.2f}" in first.says_en
    assert f"suelo de arriba 0.{round(float(ground.topsoil_m3_m3[0].max()) * 100)}" in first.says_es
    assert "opens" in first.says_en
    assert 0 < open_minutes(windows) < 7 * DAY


def test_the_hour_that_opens_is_the_hour_the_reason_told() -> None:
    windows = windows_of(ground_of(weather_of(rain_mm={-2: 30.0, -1: 30.0})))
    opens = windows.open[0].from_min
    local = dt.datetime.combine(FIRST, dt.time(), ZoneInfo(ZONE)) + dt.timedelta(minutes=opens)
    hour = f"{local:%I}".lstrip("0")
    assert f"opens {local:%A} about {hour} {local:%p}".lower() in windows.shut[0].says_en.lower() or (
        opens < DAY and f"opens about {hour} {local:%p}".lower() in windows.shut[0].says_en.lower()
    )


def test_heavy_ground_rules_the_field_and_is_named() -> None:
    rain = {-4: 30.0, -3: 30.0, -2: 30.0, -1: 30.0}
    both = windows_of(
        ground_of(
            weather_of(rain_mm=rain),
            zones=[soil("loamy_sand", name="hill"), soil("clay_loam", name="low end")],
        )
    )
    heavy = windows_of(ground_of(weather_of(rain_mm=rain), zones=[soil("clay_loam", name="low end")]))
    light = windows_of(ground_of(weather_of(rain_mm=rain), zones=[soil("loamy_sand", name="hill")]))
    assert both.open == heavy.open
    assert open_minutes(light) > open_minutes(heavy)
    assert both.shut[0].says_en.startswith("low end: ")
    assert not heavy.shut[0].says_en.startswith("low end: ")


def test_a_chance_of_rain_leaves_the_window_after_it_uncertain() -> None:
    ground = ground_of(weather_of(rain_mm={1: 30.0}, chance={1: 0.3}))
    windows = windows_of(ground)
    assert chance_at(windows, DAY - 1) == 1.0
    assert 0.7 <= chance_at(windows, 2 * DAY) < 1.0  # seven in ten stay dry, and some of the rest see little


def test_rain_more_likely_than_not_shuts_the_day_after_it() -> None:
    ground = ground_of(weather_of(rain_mm={1: 60.0}, chance={1: 0.8}))
    windows = windows_of(ground)
    assert shut_by(windows, DAY + 10 * 60) == ""  # rain that only an amount is told of comes as a shower
    assert shut_by(windows, DAY + 16 * 60) == "rain_now"
    assert shut_by(windows, 2 * DAY) == "sticks"


def test_days_that_were_read_leave_no_doubt() -> None:
    as_of = FIRST + dt.timedelta(days=6)
    weather = weather_of(as_of=as_of, rain_mm={1: 30.0})
    windows = windows_of(ground_of(weather, as_of=as_of))
    assert {one.chance for one in windows.open} == {1.0}


def test_rain_falls_in_the_hours_the_forecast_tells() -> None:
    noon = dt.datetime.combine(FIRST + dt.timedelta(days=1), dt.time(12), ZoneInfo(ZONE)).astimezone(dt.UTC)
    ground = ground_of(weather_of(rain_mm={1: 35.0}), rain_weight_at={noon: 1.0})
    windows = windows_of(ground)
    assert chance_at(windows, DAY + 11 * 60 + 59) == 1.0
    assert shut_by(windows, DAY + 12 * 60) == "rain_now"
    assert shut_by(windows, DAY + 13 * 60) == "sticks"


def test_ripping_waits_longer_than_disking_for_the_layer_below() -> None:
    ground = ground_of(weather_of(rain_mm={-3: 40.0, -2: 40.0}))
    disk, rip = windows_of(ground, "disk"), windows_of(ground, "rip_bed")
    assert open_minutes(rip) < open_minutes(disk)
    assert "pan_wet" in {one.limit for one in rip.shut}
    assert any("6 to 16 in" in one.says_en for one in rip.shut)


@pytest.mark.parametrize(
    ("crop", "limit"),
    [
        ("cotton", "cotton_soil"),
        ("peanuts", "peanut_soil"),
        ("corn", "corn_soil"),
        ("soybeans", "soybean_soil"),
    ],
)
def test_cold_soil_shuts_planting_of_each_crop_by_its_own_number(crop: str, limit: str) -> None:
    windows = windows_of(ground_of(weather_of(mean_c=9.0)), "plant", crop=crop, is_watered=True)
    assert windows.open == ()
    assert {one.limit for one in windows.shut} == {limit}
    assert windows.shut[-1].says_en.endswith("shut as far as we look")


def test_corn_goes_in_where_cotton_must_wait() -> None:
    ground = ground_of(weather_of(mean_c=16.0))
    assert open_minutes(windows_of(ground, "plant", crop="corn", is_watered=True)) == 7 * DAY
    assert open_minutes(windows_of(ground, "plant", crop="cotton", is_watered=True)) == 0


def test_little_heat_ahead_is_told_for_cotton() -> None:
    windows = windows_of(ground_of(weather_of(mean_c=20.0)), "plant", crop="cotton", is_watered=True)
    told = {one.limit: one.says_en for one in windows.advice}
    # 20 C is 68 F: 8 DD60 a day, 40 in five days
    assert "a slow start: 40 DD60 in five days, cotton likes 50 DD60" in told["cotton_vigor"]


def test_the_growers_fit_outranks_wet_ground_for_the_day() -> None:
    ground = ground_of(weather_of(rain_mm={-2: 30.0, -1: 30.0}))
    assert shut_by(windows_of(ground), 0) == "sticks"
    windows = windows_of(ground, sayings=(said(Word.FIT),))
    assert chance_at(windows, 0) == 1.0
    assert chance_at(windows, DAY - 1) == 1.0


def test_the_growers_word_is_for_its_day_only() -> None:
    ground = ground_of(weather_of(rain_mm={-2: 60.0, -1: 60.0}))
    windows = windows_of(ground, sayings=(said(Word.FIT),))
    assert shut_by(windows, DAY) == shut_by(windows_of(ground), DAY) == "sticks"


def test_after_an_hour_opens_at_that_minute() -> None:
    ground = ground_of(weather_of(rain_mm={-2: 30.0, -1: 30.0}))
    windows = windows_of(ground, sayings=(said(Word.AFTER, after=dt.time(10, 20)),))
    assert shut_by(windows, 10 * 60 + 19) == "say_so"
    assert chance_at(windows, 10 * 60 + 20) == 1.0
    assert windows.shut[0].says_en == "the grower says: after 10:20 am; opens at 10:20 am"
    assert windows.shut[0].says_es == (
        "dice el patrón: después de las 10:20 de la mañana; se abre a las 10:20 de la mañana"
    )


def test_not_today_shuts_dry_ground_for_the_day() -> None:
    windows = windows_of(ground_of(weather_of()), sayings=(said(Word.NOT_TODAY),))
    assert (windows.shut[0].from_min, windows.shut[0].to_min) == (0, DAY)
    assert windows.shut[0].says_en == "the grower says: not today; opens Tuesday"
    assert chance_at(windows, DAY) == 1.0


def test_not_today_at_the_low_end_shuts_the_whole_field() -> None:
    zones = [soil("loamy_sand", name="hill"), soil("clay_loam", name="low end")]
    windows = windows_of(
        ground_of(weather_of(), zones=zones), sayings=(said(Word.NOT_TODAY, zone="low end"),)
    )
    assert shut_by(windows, 600) == "say_so"
    assert windows.shut[0].says_en.startswith("the grower says of low end: not today")


def test_fit_for_one_zone_leaves_the_other_to_the_model() -> None:
    zones = [soil("clay_loam", name="hill"), soil("clay_loam", name="low end")]
    ground = ground_of(weather_of(rain_mm={-2: 30.0, -1: 30.0}), zones=zones)
    windows = windows_of(ground, sayings=(said(Word.FIT, zone="hill"),))
    assert shut_by(windows, 0) == "sticks"
    assert windows.shut[0].says_en.startswith("low end: ")


def test_the_newest_word_of_the_day_counts() -> None:
    early, late = said(Word.NOT_TODAY, hour=5), said(Word.FIT, hour=9)
    for order in ((early, late), (late, early)):
        assert chance_at(windows_of(ground_of(weather_of()), sayings=order), 600) == 1.0


def test_fit_does_not_warm_the_soil_or_stop_the_rain() -> None:
    cold = windows_of(ground_of(weather_of(mean_c=9.0)), "plant", sayings=(said(Word.FIT),))
    assert shut_by(cold, 600) == "cotton_soil"
    wet = windows_of(ground_of(weather_of(rain_mm={0: 40.0})), sayings=(said(Word.FIT),))
    assert shut_by(wet, 16 * 60) == "rain_now"


def test_a_pivot_walks_by_night_on_wet_ground_unless_the_power_is_shut() -> None:
    ground = ground_of(weather_of(rain_mm={-1: 60.0, 0: 60.0}))
    cut = PowerCut(weekday=0, starts_at=dt.time(14), ends_at=dt.time(19, 30))
    windows = windows_of(
        ground,
        "pivot_walk",
        records=FieldRecords(power_cuts=(cut,), pump="Well 2"),
        sayings=(said(Word.NOT_TODAY),),
    )
    assert [(one.from_min, one.to_min) for one in windows.shut] == [(14 * 60, 19 * 60 + 30)]
    assert windows.shut[0].says_en == "the power supplier shuts Well 2; opens at 7:30 pm"
    assert windows.shut[0].says_es == "la compañía de luz para Well 2; se abre a las 7:30 de la noche"
    assert open_minutes(windows) == 7 * DAY - 330


def test_of_words_on_several_zones_the_one_that_waits_longest_is_told() -> None:
    ground = ground_of(weather_of(), zones=[soil(name="hill"), soil(name="low end"), soil(name="rest")])
    windows = windows_of(
        ground,
        sayings=(said(Word.AFTER, after=dt.time(10), zone="hill"), said(Word.NOT_TODAY, zone="low end")),
    )
    (shut,) = windows.shut
    assert (shut.from_min, shut.to_min) == (0, DAY)
    assert shut.says_en == "the grower says of low end: not today; opens Tuesday"
    both = (
        said(Word.AFTER, after=dt.time(8), zone="hill"),
        said(Word.AFTER, after=dt.time(10), zone="low end"),
    )
    (shut,) = windows_of(ground, sayings=both).shut
    assert shut.says_en == "the grower says of low end: after 10 am; opens about 10 am"


def test_power_hours_say_nothing_to_a_disk() -> None:
    cut = PowerCut(weekday=0, starts_at=dt.time(14), ends_at=dt.time(19))
    assert windows_of(ground_of(weather_of()), "disk", records=FieldRecords(power_cuts=(cut,))).shut == ()


def test_too_many_maybes_shut_an_hour_with_the_odds() -> None:
    # each of two rains leaves six in ten; together they leave about a third
    ground = ground_of(weather_of(rain_mm={1: 25.0, 2: 25.0}, chance={1: 0.4, 2: 0.4}))
    windows = windows_of(ground)
    uncertain = [one for one in windows.shut if one.says_en.startswith("only ")]
    told = {chance_at(windows, one.from_min) for one in uncertain}
    assert told <= {0.0}
    assert all(" in 10 that it holds: " in one.says_en for one in uncertain)


def test_a_farm_that_wants_to_be_surer_is_told_the_odds_and_numbers_that_shut() -> None:
    """Seven in ten are dry enough: not enough for nine, and the middle member's water would be told as if it shut."""
    ground = ground_of(weather_of(rain_mm={1: 30.0}, chance={1: 0.3}))
    windows = judge(
        asked=WorkAsked("pond-40", Operation.DISK, "cotton", (0,)),
        limits=with_choices(LIMITS, [Choice("certainty", number=0.9)]),
        ground=ground,
        horizon=horizon(),
    )
    assert shut_by(windows, 2 * DAY + 480) == "sticks"
    sticks = [one.says_en for one in windows.shut if one.limit == "sticks"]
    told = [
        re.match(r"only \d in 10 that it holds: .* topsoil (0\.\d+), workable below (0\.\d+)", one)
        for one in sticks
    ]
    assert sticks
    assert all(one is not None and float(one[1]) > float(one[2]) for one in told)


def test_zones_that_shut_only_together_are_told_with_the_odds() -> None:
    """Six in ten members spare each zone, but they are not the same six: neither zone's middle member is too wet."""
    ground = ground_of(weather_of(), zones=[soil(name="hill"), soil("clay_loam", name="low end")])
    members, hours = ground.members, len(ground.grid.starts)
    wet = [np.arange(members) < 0.4 * members, np.arange(members) >= 0.6 * members]
    limits = [zone.workable_below_m3_m3 for zone in ground.zones]
    water = [np.where(flags, limit + 0.03, limit - 0.03) for flags, limit in zip(wet, limits, strict=True)]
    ground = replace(ground, topsoil_m3_m3=np.broadcast_to(np.array(water), (hours, 2, members)))
    says = {one.says_en for one in windows_of(ground).shut}
    assert len(says) == 1
    told = re.match(
        r"only 2 in 10 that it holds: hill: .* topsoil (0\.\d+), workable below (0\.\d+)", says.pop()
    )
    assert told is not None
    assert float(told[1]) > float(told[2])


def test_the_balance_of_members_is_the_chance() -> None:
    ground = ground_of(weather_of(rain_mm={1: 30.0}, chance={1: 0.3}))
    windows = windows_of(ground)
    limit = ground.zones[0].workable_below_m3_m3
    hour = int(np.flatnonzero(ground.grid.day_index == 2)[8])  # the evening's rain is no longer fresh
    share = float((ground.topsoil_m3_m3[hour, 0] <= limit).mean())
    assert share < 1
    assert chance_at(windows, 2 * DAY + 480) == round(share, 4)
