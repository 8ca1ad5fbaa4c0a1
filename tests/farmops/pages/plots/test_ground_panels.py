"""What is drawn of the ground, and what the drawing says in words."""

import datetime as dt
import math
from dataclasses import replace
from typing import Any

from farmops.pages.plots.ground_panels import (
    DayNumbers,
    Reading,
    Span,
    rain_panel,
    root_panel,
    topsoil_panel,
    warmth_panel,
)

MONDAY = dt.date(2026, 4, 13)
DRY = DayNumbers(
    day=MONDAY,
    rain_in=0.0,
    rain_chance=0.0,
    rain_from="station",
    watered_in=0.0,
    topsoil_8am=0.15,
    topsoil_end=0.14,
    topsoil_low=0.13,
    topsoil_high=0.16,
    workable_below=0.18,
    dry_below=0.08,
    root_short_in=math.nan,
    root_allowed_in=math.nan,
    root_total_in=math.nan,
    soil_f=60.0,
    soil_low_f=56.0,
    soil_high_f=64.0,
    soil_8am_f=55.0,
)
DAYS = [replace(DRY, day=MONDAY + dt.timedelta(days=count), soil_f=60.0 + count) for count in range(10)]
SPAN = Span(tuple(one.day for one in DAYS), today=3, first_ahead=4)


def test_rain_is_told_with_where_it_is_from() -> None:
    days = list(DAYS)
    days[1] = replace(days[1], rain_in=0.62, rain_from="gauge")
    days[5] = replace(days[5], rain_in=0.3, rain_from="forecast")
    panel = rain_panel(days, SPAN, key="rain")
    assert panel.desc == "Tue Apr 14 0.62 in (the field's gauge); Sat Apr 18 0.30 in (forecast)"
    assert [(bar.kind, bar.says) for bar in panel.bars] == [("gauge read", ".6"), ("told", ".3")]
    heights = [float(bar.height) for bar in panel.bars]
    assert heights[0] > heights[1] > 0
    assert panel.ahead_x == "40.00%"


def test_dry_days_say_so() -> None:
    assert rain_panel(DAYS, SPAN, key="rain").desc == "No rain in these days."


def test_topsoil_stands_between_its_limits() -> None:
    days = [*DAYS[:6], replace(DAYS[6], topsoil_end=0.22, topsoil_high=0.24), *DAYS[7:]]
    panel = topsoil_panel(days, SPAN, key="top", zone="low end")
    assert "0.15 at 8 am on Thu Apr 16" in panel.desc
    assert "wettest 0.22 at the end of Sun Apr 19" in panel.desc
    assert "fit for tillage below 0.18" in panel.desc
    wet, dry = panel.levels
    assert (wet.says, dry.says) == ("fit below 0.18", "dry below 0.08")
    assert 0 <= float(wet.y) < float(dry.y) <= panel.height
    assert len(panel.lines) == len(panel.bands) == 1
    assert len(panel.lines[0].split()) == 2 * len(days)


def test_a_zone_without_a_dry_limit_has_one_line_less() -> None:
    days = [replace(one, dry_below=math.nan) for one in DAYS]
    assert [one.kind for one in topsoil_panel(days, SPAN, key="top", zone="all").levels] == ["wet"]


def test_the_root_zone_is_drawn_only_where_a_crop_stands() -> None:
    assert root_panel(DAYS, SPAN, key="root", zone="all") is None
    grown = [replace(one, root_short_in=0.4, root_allowed_in=0.75) for one in DAYS]
    panel = root_panel([*DAYS[:2], *grown[2:]], SPAN, key="root", zone="all")
    assert panel is not None
    assert panel.desc == "0.40 in short of full on Wed Apr 22, 0.75 in allowed; never more than allowed."
    (short,), (allowed,) = panel.lines, panel.limits
    assert len(short.split()) == len(allowed.split()) == 8
    assert float(allowed.split(",")[1].split()[0]) > float(short.split(",")[1].split()[0])
    dry = [*grown[:4], replace(grown[4], root_short_in=0.8), *grown[5:]]
    told = root_panel(dry, SPAN, key="root", zone="all")
    assert told is not None
    assert told.desc.endswith("more than allowed first on Fri Apr 17.")


def test_warmth_says_when_the_crops_threshold_is_reached() -> None:
    told: dict[str, Any] = {"key": "warm", "zone": "all", "depth_in": 4.0, "wants": "cotton wants"}
    panel = warmth_panel(DAYS, SPAN, threshold_f=65.0, readings=[Reading(2, 8.0, 61.0)], **told)
    assert panel.desc == (
        "63 °F on Thu Apr 16 at 4 in, from 56 to 64; cotton wants 65 °F: reached first on Sat Apr 18."
    )
    assert panel.levels[0].says == "cotton wants 65 °F"
    assert panel.marks[0].says == "thermometer: 61 °F"
    assert "not in these days" in warmth_panel(DAYS, SPAN, threshold_f=80.0, **told).desc
    assert warmth_panel(DAYS, SPAN, threshold_f=None, **told).levels == ()
