"""What the pages of fields show, as plain data."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Max

from farmops.farms.models import Farm, Field
from farmops.farms.operations import WORDS, Operation
from farmops.pages import strips, words
from farmops.pages.board import ground_rows, wet_step
from farmops.science.units import fahrenheit_from_celsius, inches_from_mm
from farmops.weather.models import DailyWeather
from scheduling.models import FieldPass, SaySo, SaySoWord
from scheduling.selectors.passes import open_passes, pass_key
from scheduling.selectors.windows import pass_windows

DAYS_AHEAD = 7


def field_rows(*, farm: Farm) -> list[dict[str, Any]]:
    """Return each field with its season and what waits."""
    waiting: dict[int, list[FieldPass]] = {}
    for one in open_passes(farm=farm):
        waiting.setdefault(one.season.field_id, []).append(one)
    rows = []
    for field in Field.objects.filter(farm=farm).prefetch_related("zones", "seasons"):
        seasons = sorted(field.seasons.all(), key=lambda season: -season.crop_year)
        rows.append(
            {
                "code": field.code,
                "name": field.name,
                "planted_ac": field.planted_ac,
                "texture": ", ".join(zone.texture.replace("_", " ") for zone in field.zones.all()),
                "crop": f"{seasons[0].get_crop_display()} {seasons[0].crop_year}"
                if seasons
                else "no season yet",
                "waits": ", ".join(dict.fromkeys(_said(one) for one in waiting.get(field.pk, [])))
                or "nothing",
            }
        )
    return rows


def weather_known_to(*, farm: Farm) -> dt.date | None:
    """Return the last day with weather that was observed."""
    return DailyWeather.objects.filter(farm=farm).aggregate(last=Max("day"))["last"]


def field_facts(*, farm: Farm, field: Field, today: dt.date) -> dict[str, Any]:
    """Return a field's facts, ground and windows from today on, or from the last day with weather if that is earlier."""
    known_to = weather_known_to(farm=farm)
    waiting = [one for one in open_passes(farm=farm) if one.season.field_id == field.pk]
    facts: dict[str, Any] = {
        "field": field,
        "zones": list(field.zones.all()),
        "known_to": known_to,
        "words": SaySoWord.choices,
        "say_sos": list(
            SaySo.objects.filter(field=field).select_related("zone", "said_by").order_by("-said_at")[:6]
        ),
        "pivot": getattr(field, "pivot", None),
    }
    if known_to is None:
        return {
            **facts,
            "headline": "No weather is known yet, so nothing can be said of the ground.",
            "passes": [],
        }
    first = min(today, known_to + dt.timedelta(days=1))
    as_of = min(today, known_to)
    start = dt.datetime.combine(first, dt.time(), ZoneInfo(farm.zone))
    report = pass_windows(
        farm=farm, passes=waiting, starts_at=start, days=DAYS_AHEAD, as_of=as_of, fields=[field]
    ).to_json()
    days = [first + dt.timedelta(days=count) for count in range(DAYS_AHEAD)]
    by_key = {one["pass"]: one for one in report["passes"]}
    rows = []
    for one in waiting:
        found = by_key.get(pass_key(one), {"open": [], "shut": []})
        laid = strips.of_windows(found, start=start, zone=farm.zone, days=days)
        rows.append(
            {
                "said": _said(one),
                "state": one.get_state_display(),
                "acres": one.area_ac - one.done_ac,
                "due": one.due_on,
                "strips": [(words.short_date(day), laid[day]) for day in days],
                "shut": _reasons(found["shut"], start),
                "advice": _reasons(found.get("advice", []), start),
                "first_open": _first_open(found["open"], start),
            }
        )
    ground = [one for one in report["ground"] if one["field"] in (field.code, field.name)]
    return {
        **facts,
        "headline": _headline(field, rows),
        "first": first,
        "as_of": as_of,
        "is_past": first < today,
        "passes": rows,
        "ground": ground_rows(ground),
        "ground_days": [_zone_days(zone) for zone in ground],
    }


def _zone_days(zone: dict[str, Any]) -> dict[str, Any]:
    return {
        "zone": zone["zone"],
        "texture": zone["texture"].replace("_", " "),
        "days": [
            {
                "day": words.short_date(dt.date.fromisoformat(day["day"])),
                "rain_in": f"{inches_from_mm(x_mm=day['rain_mm']):.2f}",
                "topsoil": f"{day['topsoil_m3_m3']:.2f}",
                "step": wet_step(day["topsoil_m3_m3"], day["workable_below_m3_m3"]),
                "soil_f": f"{fahrenheit_from_celsius(temp_c=day['soil_temp_mean_c']):.0f}",
                "kind": day["kind"],
            }
            for day in zone["days"]
        ],
    }


def _said(field_pass: FieldPass) -> str:
    said = WORDS[Operation(field_pass.operation)].english
    turn = f" {field_pass.turn}" if field_pass.turn > 1 else ""
    return f"{said}{turn}{f' ({field_pass.part})' if field_pass.part else ''}"


def _headline(field: Field, rows: list[dict[str, Any]]) -> str:
    if not rows:
        return f"Nothing waits on {field.name}."
    for row in rows:
        if row["first_open"]:
            return f"{field.name}: {row['said']} may go from {row['first_open']}."
    return f"{field.name} is shut for the next seven days."


def _first_open(stretches: list[dict[str, Any]], start: dt.datetime) -> str:
    if not stretches:
        return ""
    first = stretches[0]
    begins = _instant(start, first["from"])
    return f"{words.long_date(begins.date())}, {words.clock(begins)}, {round(float(first['chance']) * 100)} in 100"


def _reasons(stretches: list[dict[str, Any]], start: dt.datetime) -> list[dict[str, str]]:
    rows: list[dict[str, str]] = []
    for stretch in stretches:
        begins, ends = _instant(start, stretch["from"]), _instant(start, stretch["to"])
        rows.append(
            {
                "when": f"{begins:%a} {words.clock(begins)} to {ends:%a} {words.clock(ends)}",
                "says": stretch["says"],
            }
        )
    return rows


def _instant(start: dt.datetime, minutes: int) -> dt.datetime:
    return (start.astimezone(dt.UTC) + dt.timedelta(minutes=minutes)).astimezone(start.tzinfo)
