"""Crops of a region and how they grow: regional practice, stages by their clock, coefficients in humid air."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farmops.science.crop_growth import (
    STAGES,
    climate_adjusted_coefficient,
    crop_days,
    ground_cover_share,
    kc_max_by_day,
    stage_word,
)
from farmops.science.crop_water import (
    kc_max,
    readily_available_water_mm,
    total_available_water_mm,
)
from farmops.science.crops import CROP_WATER, DD60, CropWater
from farmops.science.heat_units import dd60_f
from farmops.science.ranges import OutOfRange
from farmops.science.soil_column import (
    CropDays,
    at_field_capacity,
    bare_days,
    column_soils,
    run_column,
    side_by_side,
)
from farmops.science.textures import TEXTURES
from farmops.science.units import fahrenheit_from_celsius, mm_from_inches
from tests.published.packaged_data import greensboro

COTTON = CROP_WATER["southeast", "cotton"]
ROWS = list(CROP_WATER.values())


def season(
    crop: CropWater, *, days: int = 200, heat_a_day: float = 18, humidity: float = 45, wind: float = 2
) -> CropDays:
    """Grow a crop from ten days before planting on."""
    since = np.arange(days) - 10
    return crop_days(
        crop=crop,
        days_since_planting=since,
        dd60_sum=np.maximum(since + 1, 0) * heat_a_day,
        humidity_min_pct=np.full(days, humidity),
        wind_2m_m_s=np.full(days, wind),
    )


def usable_mm(region: str, crop: str, texture: str) -> float:
    """Return the water that a full-grown crop may use before it suffers."""
    row, soil = CROP_WATER[region, crop], TEXTURES[texture]
    total = total_available_water_mm(
        field_capacity_m3_m3=soil.field_capacity_m3_m3,
        wilting_point_m3_m3=soil.wilting_point_m3_m3,
        root_depth_m=row.root_most_m,
    )
    return float(
        readily_available_water_mm(total_available_mm=total, depletion_fraction=row.depletion_fraction)
    )


def test_georgia_practice_lets_cotton_use_three_quarters_of_an_inch() -> None:
    # University of Georgia Extension, July 2020: 18 in of roots, 1.0 in/ft, half usable: 0.75 in = 19 mm
    assert COTTON.root_most_m == pytest.approx(0.457, abs=0.001)
    assert usable_mm("southeast", "cotton", "loamy_sand") == pytest.approx(mm_from_inches(x_in=0.75), abs=0.5)


def test_georgia_cotton_at_bloom_wants_water_every_three_to_four_days() -> None:
    # University of Georgia Extension, July 2020: "every 3-4 days at bloom"; July days there have an ET0 of 5 to 6 mm
    soils = column_soils([TEXTURES["loamy_sand"]])
    days = np.arange(60, 70)
    crop = side_by_side(
        [
            crop_days(
                crop=COTTON,
                days_since_planting=days,
                dd60_sum=np.full(10, 950.0),
                humidity_min_pct=np.full(10, 55.0),
                wind_2m_m_s=np.full(10, 1.5),
            )
        ]
    )
    same = np.ones(10)
    result = run_column(
        soils=soils,
        start=at_field_capacity(soils=soils, members=1),
        day_index=np.arange(10),
        share_of_day=same,
        daylight_share=same,
        rain_mm=0 * same,
        et0_mm=5.5 * same,
        kc_max=kc_max_by_day(crop=crop, humidity_min_pct=55 * same, wind_2m_m_s=1.5 * same),
        crop=crop,
    )
    lacks = result.rootzone_depletion_mm[:, 0, 0]
    allowed = usable_mm("southeast", "cotton", "loamy_sand")
    assert 3 <= int(np.argmax(lacks > allowed)) + 1 <= 4


def test_fao_lets_cotton_use_105_mm_on_a_sandy_loam() -> None:
    # FAO-56 table 22: 1.0 to 1.7 m of roots (middle 1.35), 0.65; table 19: 0.12 m³/m³ on a sandy loam
    assert usable_mm("fao", "cotton", "sandy_loam") == pytest.approx(105, abs=0.5)


@pytest.mark.parametrize(
    # a public reprint of extension figures, DD60 from emergence; planting to emergence takes 50 to 60
    ("low", "high", "before", "after"),
    [
        (425, 475, "young", "growing"),
        (825, 875, "growing", "full cover"),
        (1700, 1750, "full cover", "ripening"),
        (2180, 2230, "ripening", "done"),
    ],
)
def test_cotton_passes_from_stage_to_stage_within_the_printed_heat_units(
    low: int, high: int, before: str, after: str
) -> None:
    def word(heat: float) -> str:
        return stage_word(crop=COTTON, days_since_planting=50, dd60_sum=heat)

    assert word(low + 50) == before
    assert word(high + 60) == after


def test_cotton_planted_in_may_in_carolina_blooms_in_about_nine_weeks() -> None:
    # University of Georgia Extension: bloom about 9 weeks after planting, in a warmer place
    year = greensboro()
    heat = dd60_f(
        temp_max_f=fahrenheit_from_celsius(year.temp_max_c),
        temp_min_f=fahrenheit_from_celsius(year.temp_min_c),
    )
    planted = int(np.flatnonzero(np.asarray(year.day_of_year) == 130)[0])
    sums = np.cumsum(heat[planted:])
    in_bloom = int(np.argmax(sums >= COTTON.mid_at))
    assert 8 * 7 <= in_bloom <= 12 * 7


def test_soybeans_are_as_the_book_has_them() -> None:
    # fao56 tables 11 (central United States, May: 20, 35, 60 and 25 days), 17 and 22, middles of its ranges
    row = CROP_WATER["fao", "soybeans"]
    assert (row.basal_first, row.basal_mid, row.basal_last) == (0.15, 1.10, 0.30)
    assert (row.develops_at, row.mid_at, row.late_at, row.ends_at) == (20, 20 + 35, 20 + 35 + 60, 140)
    assert (row.root_most_m, row.depletion_fraction) == ((0.6 + 1.3) / 2, 0.50)


def test_rows_are_sound_and_say_where_they_come_from() -> None:
    assert {row.region for row in ROWS} == {"southeast", "fao"}
    assert len(ROWS) == 8
    for row in ROWS:
        assert CROP_WATER[row.region, row.crop] is row
        assert 0 < row.develops_at < row.mid_at < row.late_at < row.ends_at
        assert 0.1 <= row.root_first_m < row.root_most_m <= 1.7
        assert row.source
    # FAO-56 tables 11, 17 and 22, as quoted elsewhere: cotton 30/50/55/45 days
    fao = CROP_WATER["fao", "cotton"]
    assert (fao.develops_at, fao.mid_at, fao.late_at, fao.ends_at) == (30, 80, 135, 180)
    assert (fao.basal_first, fao.basal_mid, fao.basal_last, fao.depletion_fraction) == (
        0.15,
        1.12,
        0.45,
        0.65,
    )


@pytest.mark.parametrize("crop", ROWS, ids=lambda row: f"{row.region} {row.crop}")
def test_a_crop_is_bare_then_grows_then_ripens_then_is_gone(crop: CropWater) -> None:
    days = season(crop)
    planted, done = 10, int(np.flatnonzero(days.root_depth_m > 0)[-1]) + 1
    bare = bare_days(days=200, columns=1)
    for name in ("basal_coefficient", "cover_share", "height_m", "root_depth_m", "depletion_fraction"):
        table = getattr(days, name)
        assert (table[:planted] == getattr(bare, name)[:planted, 0]).all()
        assert (table[done:] == getattr(bare, name)[done:, 0]).all()
        assert (table >= 0).all()
    assert days.basal_coefficient[planted] == pytest.approx(crop.basal_first)
    assert days.basal_coefficient.max() == pytest.approx(crop.basal_mid)
    assert days.basal_coefficient[done - 1] == pytest.approx(crop.basal_last, abs=0.045)
    assert (np.diff(days.root_depth_m[planted:done]) >= 0).all()
    assert days.root_depth_m[done - 1] == pytest.approx(crop.root_most_m)
    assert days.height_m.max() == crop.height_most_m
    assert 0.7 < days.cover_share.max() <= 0.99


def test_warmer_days_bring_cotton_on_sooner_and_leave_the_crop_by_days_alone() -> None:
    cool, warm = (season(COTTON, heat_a_day=heat).basal_coefficient for heat in (14, 20))
    assert np.argmax(warm >= 1.1) < np.argmax(cool >= 1.1) - 10
    by_days = CROP_WATER["fao", "cotton"]
    assert (
        season(by_days, heat_a_day=14).basal_coefficient == season(by_days, heat_a_day=20).basal_coefficient
    ).all()


@pytest.mark.parametrize(("humidity", "wind"), [(60, 1.5), (65, 2.0), (60, 1.0)])
def test_humid_still_air_lowers_cottons_middle_coefficient_by_a_twentieth_to_a_tenth(
    humidity: float, wind: float
) -> None:
    # the range that extension engineers of the Southeast would expect, common practice, no source
    lowered = 1.17 - climate_adjusted_coefficient(
        table_coefficient=1.17, wind_2m_m_s=wind, humidity_min_pct=humidity, height_m=1.35
    )
    assert 0.045 <= lowered <= 0.1
    highest = season(COTTON, humidity=humidity, wind=wind).basal_coefficient.max()
    assert COTTON.basal_mid - highest == pytest.approx(lowered)


def test_a_last_coefficient_below_0_45_is_left_alone_in_any_climate() -> None:
    # FAO-56, chapter 6, on eq. 65
    dry, wet = (
        season(CROP_WATER["fao", "corn"], humidity=humidity, wind=3).basal_coefficient
        for humidity in (25, 75)
    )
    last = int(np.flatnonzero(dry)[-1])
    assert dry[100] > wet[100] + 0.1
    assert dry[last] == pytest.approx(wet[last], abs=0.01)


def test_wind_and_humidity_count_within_the_equations_bounds() -> None:
    at = {"table_coefficient": 1.15, "height_m": 2.0}
    assert climate_adjusted_coefficient(
        **at, wind_2m_m_s=9, humidity_min_pct=5
    ) == climate_adjusted_coefficient(**at, wind_2m_m_s=6, humidity_min_pct=20)


@given(basal=st.floats(0, 1.3), more=st.floats(0, 0.2), height=st.floats(0, 3))
def test_cover_grows_with_the_basal_coefficient_from_bare_to_nearly_closed(
    basal: float, more: float, height: float
) -> None:
    less, greater = (
        ground_cover_share(basal_coefficient=coefficient, kc_max=1.35, height_m=height)
        for coefficient in (basal, basal + more)
    )
    assert 0 <= less <= greater <= 0.99
    assert ground_cover_share(basal_coefficient=0.15, kc_max=1.2, height_m=height) == 0
    assert ground_cover_share(basal_coefficient=1.2, kc_max=1.2, height_m=height) == 0.99


def test_the_upper_limit_by_day_is_eq_72_and_knows_bare_ground() -> None:
    crop = season(COTTON)
    humidity, wind = np.full(200, 60.0), np.full(200, 0.5)
    alone = kc_max_by_day(crop=crop, humidity_min_pct=humidity, wind_2m_m_s=wind)
    both = kc_max_by_day(crop=side_by_side([crop, crop]), humidity_min_pct=humidity, wind_2m_m_s=wind)
    assert (both == alone[:, np.newaxis]).all()
    assert alone[0] == kc_max(wind_2m_m_s=1, humidity_min_pct=60, height_m=0.10)
    full = int(np.argmax(crop.basal_coefficient))
    assert alone[full] == kc_max(
        wind_2m_m_s=1, humidity_min_pct=60, height_m=1.35, basal_coefficient=crop.basal_coefficient[full]
    )
    assert (alone >= crop.basal_coefficient + 0.05 - 1e-12).all()


def test_stages_have_words_from_planting_to_ripe() -> None:
    peanuts = CROP_WATER["southeast", "peanuts"]
    said = [
        stage_word(crop=peanuts, days_since_planting=day, dd60_sum=0.0) for day in (-1, 0, 40, 90, 120, 140)
    ]
    assert tuple(said) == STAGES
    assert COTTON.clock == DD60


def test_a_farms_own_roots_and_fraction_take_the_rows_place() -> None:
    own = replace(COTTON, root_most_m=0.6, depletion_fraction=0.4)
    assert season(own).root_depth_m.max() == 0.6
    assert season(own).depletion_fraction[100] == 0.4


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"dd60_sum": np.full(3, -1.0)}, "dd60_sum"),
        ({"dd60_sum": np.zeros(4)}, "number of days"),
        ({"humidity_min_pct": np.full(3, 110.0)}, "humidity_min_pct"),
        ({"wind_2m_m_s": np.full(3, -1.0)}, "wind_2m_m_s"),
    ],
)
def test_bad_input_is_refused_by_name(change: dict[str, object], name: str) -> None:
    arguments: dict[str, object] = {
        "crop": COTTON,
        "days_since_planting": np.arange(3),
        "dd60_sum": np.zeros(3),
        "humidity_min_pct": np.full(3, 50.0),
        "wind_2m_m_s": np.full(3, 2.0),
    }
    with pytest.raises(OutOfRange) as caught:
        crop_days(**arguments | change)  # type: ignore[arg-type]
    assert caught.value.name == name
