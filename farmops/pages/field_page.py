"""What the pages of fields show, as plain data."""

import datetime as dt
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from farmops.desk.days import first_day, observed_to
from farmops.farms.models import Farm, Field
from farmops.farms.operations import PIVOT_MOVES
from farmops.pages import strips, words
from farmops.pages.ground import ground_rows, wet_step, wet_word
from farmops.science.units import fahrenheit_from_celsius, inches_from_mm
from scheduling.models import FieldPass, PassLink, PassState, SaySo, SaySoWord
from scheduling.selectors.passes import open_passes, pass_key, spoken_key
from scheduling.selectors.windows import pass_windows

DAYS_AHEAD = 7
KINDS = {
    "observed": "measured",
    "filled": "filled in between neighbors",
    "forecast": "forecast",
    "climatology": "the usual, no forecast",
}
MIDNIGHT = dt.time()


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
                "waits": ", ".join(
                    dict.fromkeys(
                        _said(one) for one in waiting.get(field.pk, []) if one.operation not in PIVOT_MOVES
                    )
                ),
            }
        )
    return rows


def list_headline(rows: list[dict[str, Any]]) -> str:
    """Return the sentence that sums the list of fields up."""
    if not rows:
        return "No field is described yet."
    waiting = sum(1 for row in rows if row["waits"])
    if not waiting:
        return f"No work waits on {'the one field' if len(rows) == 1 else f'the {words.count_word(len(rows))} fields'}."
    verb = "waits" if waiting == 1 else "wait"
    count = words.count_word(waiting).capitalize()
    return f"{count} of {words.count_word(len(rows))} field{'s' if len(rows) > 1 else ''} {verb} for work."


def field_facts(*, farm: Farm, field: Field, today: dt.date) -> dict[str, Any]:
    """Return a field's facts, ground and windows from today on, or from the last day with weather if that is earlier."""
    known_to = observed_to(farm=farm)
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
    first = first_day(farm=farm, today=today)
    as_of = min(today, known_to)
    start = dt.datetime.combine(first, dt.time(), ZoneInfo(farm.zone))
    report = pass_windows(
        farm=farm, passes=waiting, starts_at=start, days=DAYS_AHEAD, as_of=as_of, fields=[field]
    ).to_json()
    before = _waits_for(waiting)
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
                "acres": max(one.area_ac - one.done_ac, Decimal(0)),
                "after": before.get(one.pk, ""),
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
        "last": days[-1],
        "notes": [words.dates_said(note) for note in report["notes"]],
        "ground": ground_rows(ground, names={field.code: field.name}),
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
                "word": wet_word(day["topsoil_m3_m3"], day["workable_below_m3_m3"]),
                "kind": KINDS.get(day["kind"], day["kind"]),
            }
            for day in zone["days"]
        ],
    }


def _said(field_pass: FieldPass) -> str:
    return spoken_key(pass_key(field_pass), names={})[1]


def _waits_for(passes: list[FieldPass]) -> dict[int, str]:
    """Return, by pass, what must be finished on the ground before it."""
    found: dict[int, list[str]] = {}
    links = PassLink.objects.filter(after__in=passes).select_related("before__season__field")
    for link in links.exclude(before__state__in=(PassState.FINISHED, PassState.CALLED_OFF)):
        found.setdefault(link.after_id, []).append(_said(link.before))
    return {key: " and ".join(said) for key, said in found.items()}


def _headline(field: Field, rows: list[dict[str, Any]]) -> str:
    if not rows:
        return f"Nothing waits on {field.name}."
    ready = [row for row in rows if not row["after"]] or rows
    for row in ready:
        if row["first_open"]:
            return f"{field.name}: {row['said']} may go {row['first_open']}."
    return f"{field.name} is shut for the next seven days."


def _first_open(stretches: list[dict[str, Any]], start: dt.datetime) -> str:
    """Return from when on a pass may go; an opening at midnight is the day itself, a sure one needs no odds."""
    if not stretches:
        return ""
    first = stretches[0]
    begins = _instant(start, first["from"])
    day = words.long_date(begins.date())
    said = f"on {day}" if begins.time() == MIDNIGHT else f"from {words.clock(begins)} on {day}"
    tenths = round(float(first["chance"]) * 10)
    return said if tenths >= 10 else f"{said}, {tenths} in 10"


def _reasons(stretches: list[dict[str, Any]], start: dt.datetime) -> list[dict[str, str]]:
    """Return when and why, each reason once for stretches that follow on each other."""
    joined: list[tuple[int, int, str]] = []
    for stretch in stretches:
        if joined and joined[-1][1] == stretch["from"] and joined[-1][2] == stretch["says"]:
            joined[-1] = (joined[-1][0], stretch["to"], stretch["says"])
        else:
            joined.append((stretch["from"], stretch["to"], stretch["says"]))
    return [{"when": _span(start, begins, ends), "says": says} for begins, ends, says in joined]


def _span(start: dt.datetime, from_min: int, to_min: int) -> str:
    """Return a stretch in words; whole days are named without a clock."""
    begins, ends = _instant(start, from_min), _instant(start, to_min)
    if begins.time() == ends.time() == MIDNIGHT:
        last = ends.date() - dt.timedelta(days=1)
        if last == begins.date():
            return f"all {begins:%A}"
        return f"{begins:%A} to {last:%A}"
    return f"{begins:%a} {words.clock(begins)} to {ends:%a} {words.clock(ends)}"


def _instant(start: dt.datetime, minutes: int) -> dt.datetime:
    return (start.astimezone(dt.UTC) + dt.timedelta(minutes=minutes)).astimezone(start.tzinfo)
