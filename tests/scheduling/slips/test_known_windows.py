"""One day of a pass, read out of a `windows/1` document."""

import datetime as dt
from dataclasses import fields, replace
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from scheduling.slips.known_windows import KnownWindows, PassDay
from scheduling.slips.words import Said
from scheduling.windows.report import (
    GroundDay,
    OpenStretch,
    PassWindows,
    ShutStretch,
    WindowsReport,
    ZoneGround,
)
from tests.farmops.digests.planned import MONDAY, at

ZONE = ZoneInfo("America/New_York")
HOUR = 60
NUMBERS = [one.name for one in fields(GroundDay) if one.name not in {"day", "kind"}]


def shut(first_h: int, last_h: int, says: str = "too wet") -> ShutStretch:
    return ShutStretch(first_h * HOUR, last_h * HOUR, "sticks", says, f"es {says}")


def document(
    *, start: dt.datetime | None = None, ground: tuple[ZoneGround, ...] = (), **stretches: Any
) -> KnownWindows:
    windows = PassWindows("pond/disk", "pond", "disk", stretches.get("open", ()), stretches.get("shut", ()))
    start = start or at(MONDAY, 0)
    report = WindowsReport(
        start, "America/New_York", 2, MONDAY - dt.timedelta(days=1), 2880, (windows,), ground
    )
    return KnownWindows(report.to_json())


def pass_day(known: KnownWindows, *, key: str = "pond/disk", hours: tuple[int, int] = (7, 12)) -> PassDay:
    return known.pass_day(
        pass_key=key,
        starts_at=at(MONDAY, hours[0]),
        ends_at=at(MONDAY, hours[1]),
        zone=ZONE,
    )


def test_only_what_shuts_the_work_between_its_start_and_the_evening_is_told() -> None:
    known = document(shut=(shut(0, 6, "dawn"), shut(15, 40, "rain")))
    [told] = pass_day(known).shut
    assert (told.starts_at, told.ends_at, told.says.en) == (at(MONDAY, 15), at(MONDAY, 20), "rain")


def test_an_hour_that_is_already_shut_is_told_from_the_start_of_the_task() -> None:
    [told] = pass_day(document(shut=(shut(0, 9),))).shut
    assert (told.starts_at, told.ends_at) == (at(MONDAY, 7), at(MONDAY, 9))


def test_stretches_that_touch_and_say_the_same_are_told_once_and_two_reasons_are_enough() -> None:
    known = document(shut=(shut(8, 9), shut(9, 10), shut(11, 12, "b"), shut(13, 14, "c")))
    assert [(told.starts_at.hour, told.ends_at.hour, told.says.en) for told in pass_day(known).shut] == [
        (8, 10, "too wet"),
        (11, 12, "b"),
    ]


def test_the_reason_is_told_in_both_languages() -> None:
    assert pass_day(document(shut=(shut(8, 9),))).shut[0].says == Said("too wet", "es too wet")


def test_the_chance_is_the_least_one_while_the_task_lasts() -> None:
    known = document(open=(OpenStretch(0, 480, 0.9), OpenStretch(480, 600, 0.6), OpenStretch(720, 900, 0.1)))
    assert pass_day(known).open_chance == pytest.approx(0.6)
    assert pass_day(known, hours=(1, 2)).open_chance == pytest.approx(0.9)


def test_a_task_that_is_shut_for_a_part_of_its_hours_has_a_reason_and_no_chance() -> None:
    open_stretches = (OpenStretch(480, 1440, 0.9),)
    assert pass_day(document(open=open_stretches, shut=(shut(0, 8),))).open_chance is None
    assert pass_day(document(open=open_stretches, shut=(shut(13, 14),))).open_chance == pytest.approx(0.9)


def test_a_pass_that_the_windows_do_not_hold_says_nothing() -> None:
    assert pass_day(document(shut=(shut(8, 9),)), key="pond/plant") == PassDay()
    assert pass_day(KnownWindows({})) == PassDay()


def test_minutes_are_elapsed_ones_so_a_change_of_clocks_does_not_move_them() -> None:
    """On March 8, 2026 the US clocks go from 2:00 to 3:00: eight elapsed hours after midnight it is 9:00."""
    day = dt.date(2026, 3, 8)
    known = document(start=at(day, 0), shut=(shut(8, 10),))
    told = known.pass_day(pass_key="pond/disk", starts_at=at(day, 7), ends_at=at(day, 12), zone=ZONE)
    assert [(hours.starts_at.hour, hours.ends_at.hour) for hours in told.shut] == [(9, 11)]


def zone_ground(name: str, *wet: float, below: float = 0.2) -> ZoneGround:
    days = tuple(
        GroundDay(
            day=MONDAY - dt.timedelta(days=1 - index),
            **dict.fromkeys(NUMBERS, 0.0),
            kind="observed",
        )
        for index in range(len(wet))
    )
    told = [
        replace(day, topsoil_8am_m3_m3=water, workable_below_m3_m3=below, soil_temp_8am_c=20.0 + index)
        for index, (day, water) in enumerate(zip(days, wet, strict=True))
    ]
    return ZoneGround("pond", name, "loam", 4.0, tuple(told))


def test_the_wettest_zone_rules_by_its_water_and_warmth_at_8_am_of_the_day() -> None:
    known = document(ground=(zone_ground("hill", 0.30, 0.10), zone_ground("low", 0.15, 0.19)))
    ground = known.ground(field_code="pond", day=MONDAY, with_soil_temp=True)
    assert ground is not None
    assert (ground.zone, ground.topsoil_m3_m3) == ("low", 0.19)
    assert ground.soil_temp_8am_f == pytest.approx(69.8)  # 21 °C of the day itself


def test_wettest_is_measured_by_what_each_zone_bears() -> None:
    known = document(
        ground=(zone_ground("sand", 0.14, 0.14, below=0.12), zone_ground("clay", 0.2, 0.2, below=0.3))
    )
    ground = known.ground(field_code="pond", day=MONDAY, with_soil_temp=False)
    assert ground is not None
    assert ground.zone == "sand"
    assert ground.soil_temp_8am_f is None


def test_ground_that_is_not_in_the_windows_is_not_known() -> None:
    known = document(ground=(zone_ground("low", 0.19, 0.15),))
    assert known.ground(field_code="other", day=MONDAY, with_soil_temp=False) is None
    assert known.ground(field_code="pond", day=MONDAY + dt.timedelta(days=9), with_soil_temp=False) is None
