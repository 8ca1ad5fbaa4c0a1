"""What the grower knows of a field, as the field page lists it: words, remarks, gauge and thermometer readings."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.farms.models import Farm, Field
from farmops.farms.operations import PIVOT_WORK, Operation
from farmops.pages import trade_words, words
from farmops.pages.plots.ground_panels import Reading
from farmops.weather.models import STANDING, GaugeReading, SoilReading
from scheduling.models import Remark, RemarkWord, SaySo, SaySoWord
from scheduling.selectors.ground import USUAL_SOIL_DEPTH_IN

MOST_LISTED = 8
LOOKED_BACK = dt.timedelta(days=21)
"""Farm judgement: three weeks later nothing of a remark or a reading is left in the ground."""
SEEN_SHIFT = 0.0015
MORNING = "08:00"
FORMS = ("say", "gauge", "remark", "thermometer")
"""The forms in which something is told, each sent with an id of its own."""
UNJUDGED = {*PIVOT_WORK, Operation.DEBRIS_WALK}


def remark_choices() -> dict[str, Any]:
    """Return what a remark can say, and of which work."""
    return {
        "whats": [(value, words.named(label)) for value, label in RemarkWord.choices],
        "operations": [(one.value, trade_words.work(one)) for one in Operation if one not in UNJUDGED],
    }


def blank_forms(*, today: dt.date, hour: str, operation: str) -> dict[str, dict[str, str]]:
    """Return what stands in the boxes of the page's forms before somebody types: a gauge is read the morning after."""
    day = today.isoformat()
    return {
        "say": {"day": day},
        "gauge": {"day": (today - dt.timedelta(days=1)).isoformat()},
        "remark": {"day": day, "hour": hour, "operation": operation},
        "thermometer": {"day": day, "hour": hour, "depth_in": f"{USUAL_SOIL_DEPTH_IN:g}"},
    }


def known_of(
    *, farm: Farm, field: Field, until: dt.date | None, ground: Sequence[Mapping[str, Any]]
) -> dict[str, Any]:
    """Return what was said and read on a field in the three weeks up to a day, the newest first; None: of any time."""
    zone = ZoneInfo(farm.zone)
    remarks = Remark.objects.filter(field=field, superseded_by__isnull=True, is_taken_back=False)
    gauges = GaugeReading.objects.filter(field=field, is_taken_back=False)
    soils = SoilReading.objects.filter(field=field, is_taken_back=False)
    if until is not None:
        first = until - LOOKED_BACK
        begins = dt.datetime.combine(first, dt.time(), zone)
        remarks, gauges = remarks.filter(said_at__gte=begins), gauges.filter(day__gte=first)
        soils = soils.filter(read_at__gte=begins)
    counted: set[dt.date] = set()
    rain = []
    for one in gauges.select_related("read_by", "superseded_by").order_by("-day", "-recorded_at", "-id")[
        :MOST_LISTED
    ]:
        rain.append(
            {
                "day": words.short_date(one.day),
                "rain": _("{inches} in").format(inches=f"{one.rain_in:.2f}"),
                "by": one.read_by,
                "is_replaced": one.day in counted,
                "id": one.pk,
                "is_taken_back": (is_back := hasattr(one, "superseded_by")),
            }
        )
        counted |= set() if is_back else {one.day}
    return {
        "say_sos": _words(field),
        "remarks": [
            _remark(one, zone, until, ground)
            for one in remarks.select_related("zone", "said_by").order_by("-said_at", "-id")[:MOST_LISTED]
        ],
        "gauges": rain,
        "thermometer": [
            {
                "when": _moment(one.read_at.astimezone(zone)),
                "zone": one.zone.name if one.zone else "",
                "says": _("{degrees} °F at {depth} in").format(
                    degrees=f"{one.temp_f.normalize():f}", depth=f"{one.depth_in.normalize():f}"
                ),
                "by": one.recorded_by,
                "id": one.pk,
                "is_taken_back": hasattr(one, "superseded_by"),
            }
            for one in soils.select_related("zone", "recorded_by", "superseded_by").order_by(
                "-read_at", "-id"
            )[:MOST_LISTED]
        ],
    }


def _words(field: Field) -> list[dict[str, Any]]:
    """Return the words on a field, the newest first; of one part and day the newest counts, and on all of it for each part."""
    counted: set[tuple[dt.date, int | None]] = set()
    found = []
    rows = SaySo.objects.filter(field=field).select_related("zone", "said_by")
    for one in rows.order_by("-said_at", "-id")[:MOST_LISTED]:
        found.append(
            {
                "id": one.pk,
                "day": _short(one.day),
                "zone": one.zone.name if one.zone is not None else pgettext("a field", "all"),
                "says": say_so_said(one.word, one.after_at),
                "by": one.said_by,
                "is_taken_back": one.is_taken_back,
                "is_replaced": not counted.isdisjoint({(one.day, None), (one.day, one.zone_id)}),
            }
        )
        counted |= set() if one.is_taken_back else {(one.day, one.zone_id)}
    return found


def readings_by_zone(
    *, farm: Farm, field: Field, days: Sequence[dt.date], depth_in: Mapping[str, float]
) -> dict[str, list[Reading]]:
    """Return the thermometer's readings at about each zone's planting depth, by the zone's name, for the drawings."""
    zone = ZoneInfo(farm.zone)
    found: dict[str, list[Reading]] = {name: [] for name in depth_in}
    begins = dt.datetime.combine(days[0], dt.time(), zone)
    for one in SoilReading.objects.filter(STANDING, field=field, read_at__gte=begins).select_related("zone"):
        at = one.read_at.astimezone(zone)
        if at.date() not in days:
            continue
        reading = Reading(days.index(at.date()), at.hour + at.minute / 60, float(one.temp_f))
        for name, depth in depth_in.items():
            if (one.zone is None or one.zone.name == name) and abs(float(one.depth_in) - depth) <= 1:
                found[name].append(reading)
    return found


def _remark(
    one: Remark, zone: ZoneInfo, today: dt.date | None, ground: Sequence[Mapping[str, Any]]
) -> dict[str, Any]:
    at = one.said_at.astimezone(zone)
    return {
        "id": one.pk,
        "when": _moment(at),
        "says": _remark_said(one),
        "note": one.note,
        "effect": _effect(one, at.date(), today, ground),
        "by": one.said_by,
        "is_from_work": one.work_record_id is not None,
    }


def _remark_said(one: Remark) -> str:
    match RemarkWord(one.what):
        case RemarkWord.TOO_WET:
            told = _("too wet to {work}")
        case RemarkWord.TOO_DRY:
            told = _("too dry to {work}")
        case RemarkWord.FITS:
            told = _("fit to {work}")
    told = told.format(work=trade_words.work(one.operation))
    if one.zone is None or one.zone.name == "all":
        return told
    return _("{remark} at {zone}").format(remark=told, zone=one.zone.name)


def _effect(one: Remark, said_on: dt.date, today: dt.date | None, ground: Sequence[Mapping[str, Any]]) -> str:
    """Return by how much remarks had moved a zone's topsoil when the day ended, and how much of it is left today."""
    told = []
    for zone in ground:
        if one.zone is not None and zone["zone"] != one.zone.name:
            continue
        shift = {
            dt.date.fromisoformat(day["day"]): float(day.get("remark_shift_m3_m3") or 0.0)
            for day in zone["days"]
        }
        if said_on not in shift:
            continue
        put = shift[said_on]
        place = f"{zone['zone']}: " if one.zone is None and len(ground) > 1 else ""
        if abs(put) < SEEN_SHIFT:
            told.append(place + _("the model agreed already, nothing was moved"))
            continue
        moved = (_("topsoil put up by {share}") if put > 0 else _("topsoil put down by {share}")).format(
            share=f"{abs(put):.3f}"
        )
        left = shift.get(today, 0.0) if today is not None and today > said_on else put
        if left != put:
            moved += ", " + (
                _("{share} of it is left").format(share=f"{abs(left):.3f}")
                if abs(left) >= SEEN_SHIFT
                else _("nothing of it is left")
            )
        told.append(place + moved)
    return "; ".join(told)


def _moment(at: dt.datetime) -> str:
    return f"{words.short_date(at.date())} {words.clock(at)}"


def say_so_said(word: str, after_at: dt.time | None = None) -> str:
    """Return the grower's word on a field, with its hour where it has one."""
    if after_at is None:
        return words.named(SaySoWord(word).label)
    hour = words.clock(dt.datetime.combine(dt.date.min, after_at))
    return _("not before {hour}").format(hour=hour)


def _short(day: dt.date) -> str:
    return _("{weekday}, {date}").format(weekday=words.short_weekday(day), date=words.tick_date(day))
