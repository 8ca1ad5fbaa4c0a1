"""The ground of a field's zones as the field page shows it: drawings, and the same numbers as a table."""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.pages import words
from farmops.pages.ground import texture_said, wet_step, wet_word
from farmops.pages.plots.ground_panels import (
    SOURCE_WORDS,
    DayNumbers,
    Reading,
    Span,
    rain_panel,
    root_panel,
    topsoil_panel,
    warmth_panel,
)
from farmops.science.units import fahrenheit_from_celsius, inches_from_mm

KIND_SOURCES = {
    "observed": "station",
    "filled": "filled",
    "forecast": "forecast",
    "climatology": "usual",
}
READ_KINDS = {"observed", "filled"}
STAGES = {
    "bare": gettext_noop("bare ground"),
    "young": gettext_noop("a young crop"),
    "growing": gettext_noop("a growing crop"),
    "full cover": gettext_noop("full cover"),  # not said
    "ripening": gettext_noop("a ripening crop"),
    "done": gettext_noop("a crop that is done"),
}


@dataclass(frozen=True)
class Wanted:
    """What a crop wants of the soil before it is planted."""

    temp_f: float
    says: str


def zone_name(zone: Mapping[str, Any]) -> str:
    """Return what a zone is called on the page: its name, or the field where it is all of it."""
    return _("the field") if zone["zone"] in ("", "all") else str(zone["zone"])


def day_numbers(zone: Mapping[str, Any]) -> list[DayNumbers]:
    """Return a zone's days of `windows/1` in the units of the page; what an older document lacks is nan."""
    return [
        DayNumbers(
            day=dt.date.fromisoformat(day["day"]),
            rain_in=_inches(day, "rain_mm"),
            rain_chance=_number(day, "rain_chance"),
            rain_from=day.get("rain_source") or KIND_SOURCES.get(day["kind"], day["kind"]),
            watered_in=_inches(day, "watered_mm"),
            topsoil_8am=_number(day, "topsoil_8am_m3_m3"),
            topsoil_end=_number(day, "topsoil_m3_m3"),
            topsoil_low=_number(day, "topsoil_low_m3_m3"),
            topsoil_high=_number(day, "topsoil_high_m3_m3"),
            workable_below=_number(day, "workable_below_m3_m3"),
            dry_below=_number(day, "dry_below_m3_m3"),
            root_short_in=_inches(day, "rootzone_depletion_mm"),
            root_allowed_in=_inches(day, "rootzone_allowed_mm"),
            root_total_in=_inches(day, "rootzone_total_mm"),
            soil_f=_fahrenheit(day, "soil_temp_mean_c"),
            soil_low_f=_fahrenheit(day, "soil_temp_low_c"),
            soil_high_f=_fahrenheit(day, "soil_temp_high_c"),
            soil_8am_f=_fahrenheit(day, "soil_temp_8am_c"),
        )
        for day in zone["days"]
    ]


def drawn_ground(
    zones: Sequence[Mapping[str, Any]],
    *,
    today: dt.date,
    wanted: Wanted | None,
    readings: Mapping[str, Sequence[Reading]],
) -> dict[str, Any]:
    """Return the drawings of a field's zones and the table under each; readings are those of each zone's name."""
    if not zones:
        return {"rain": None, "zones": []}
    first = day_numbers(zones[0])
    days = tuple(one.day for one in first)
    span = Span(
        days=days,
        today=days.index(today) if today in days else None,
        first_ahead=next(
            (index for index, day in enumerate(zones[0]["days"]) if day["kind"] not in READ_KINDS), None
        ),
    )
    return {
        "rain": rain_panel(first, span, key="rain"),
        "zones": [
            _zone(number, zone, span, wanted, readings.get(zone["zone"], ()))
            for number, zone in enumerate(zones)
        ],
    }


def _zone(
    number: int,
    zone: Mapping[str, Any],
    span: Span,
    wanted: Wanted | None,
    readings: Sequence[Reading],
) -> dict[str, Any]:
    days, name = day_numbers(zone), zone_name(zone)
    now = days[span.today or 0]
    root = root_panel(days, span, key=f"root-{number}", zone=name)
    stage = zone["days"][span.today or 0].get("stage", "bare")
    return {
        "name": "" if zone["zone"] in ("", "all") else zone["zone"],
        "texture": texture_said(zone["texture"]),
        "depth_in": f"{zone['soil_depth_in']:g}",
        "is_bare": stage == "bare",
        "stage": words.named(STAGES.get(stage, stage)),
        "now": {
            "topsoil": f"{now.topsoil_8am:.2f}",
            "step": wet_step(now.topsoil_8am, now.workable_below),
            "word": wet_word(now.topsoil_8am, now.workable_below),
            "soil_f": f"{now.soil_8am_f:.0f}",
        },
        "topsoil": topsoil_panel(days, span, key=f"topsoil-{number}", zone=name),
        "root": root,
        "warmth": warmth_panel(
            days,
            span,
            key=f"warmth-{number}",
            zone=name,
            depth_in=float(zone["soil_depth_in"]),
            threshold_f=wanted.temp_f if wanted else None,
            wants=wanted.says if wanted else "",
            readings=readings,
        ),
        "has_root": root is not None,
        "has_water": any(one.watered_in > 0 for one in days),
        "rows": [_row(one, index == span.today) for index, one in enumerate(days)],
    }


def _row(one: DayNumbers, is_today: bool) -> dict[str, Any]:
    chance = ""
    if one.rain_from in ("forecast", "usual"):
        chance = _("{share} in 100").format(share=round(one.rain_chance * 100))
    return {
        "day": words.short_date(one.day),
        "is_today": is_today,
        "rain": _decimals(one.rain_in, 2),
        "chance": chance,
        "source": words.named(SOURCE_WORDS.get(one.rain_from, one.rain_from)),
        "watered": _decimals(one.watered_in, 2) if one.watered_in > 0 else "",
        "morning": _decimals(one.topsoil_8am, 2),
        "end": _decimals(one.topsoil_end, 2),
        "band": _pair(one.topsoil_low, one.topsoil_high, 2),
        "step": wet_step(one.topsoil_end, one.workable_below),
        "word": wet_word(one.topsoil_end, one.workable_below),
        "short": _decimals(one.root_short_in, 2),
        "allowed": _decimals(one.root_allowed_in, 2),
        "soil": _decimals(one.soil_f, 0),
        "soil_band": _pair(one.soil_low_f, one.soil_high_f, 0),
        "soil_8am": _decimals(one.soil_8am_f, 0),
    }


def _decimals(value: float, places: int) -> str:
    return f"{value:.{places}f}" if math.isfinite(value) else "–"


def _pair(low: float, high: float, places: int) -> str:
    if not math.isfinite(low + high):
        return "–"
    return _("{least} to {most}").format(least=f"{low:.{places}f}", most=f"{high:.{places}f}")


def _number(day: Mapping[str, Any], name: str) -> float:
    value = day.get(name)
    return math.nan if value is None else float(value)


def _inches(day: Mapping[str, Any], name: str) -> float:
    return float(inches_from_mm(x_mm=_number(day, name)))


def _fahrenheit(day: Mapping[str, Any], name: str) -> float:
    return float(fahrenheit_from_celsius(temp_c=_number(day, name)))
