"""The morning round as plain data: every field and zone in a row, what the model says of it, and what was said."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.problems import DomainError
from farmops.desk.days import KnownDay
from farmops.farms.models import Farm, Field, SoilZone
from farmops.pages import words
from farmops.pages.field_page import said
from farmops.pages.ground import wet_step, wet_word
from farmops.pages.limit_words import limit_words
from farmops.pages.plots.time_strip import instant, odds
from farmops.pages.today_air import air_said
from farmops.weather.selectors.field_readings import gauge_of_days
from scheduling.models import FieldPass, PlannedTask, SaySo, SaySoWord
from scheduling.selectors.day_ground import OUT_FROM_H, out_minutes
from scheduling.selectors.limits import limits_of
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.plans import plans_of_days
from scheduling.services.keeping_ground import ground_of_day

MOST_ROWS = 40
"""Farm judgement: a round of more fields than this is not gone through before breakfast; the others are counted."""
HOURS = range(6, 19)
USUAL_AFTER_H = 10
SURE = 0.95
HALF = 0.5


@dataclass(frozen=True)
class Place:
    """What one row is about: a field, or one zone of a field that has several."""

    field: Field
    zone: SoilZone | None
    is_first: bool

    @property
    def key(self) -> str:
        """Return what the row's boxes are called by."""
        return f"{self.field.pk}" + (f"-{self.zone.pk}" if self.zone else "")


@dataclass(frozen=True)
class Told:
    """What the model says of a field today: a sentence, and the hour it opens at (None: not today, or open already)."""

    says: str
    is_fit: bool
    from_h: int | None = None


@dataclass(frozen=True)
class FieldModel:
    """One field today: its zones' ground as `windows/1` has it, the hours of each zone, and what may be done."""

    zones: list[dict[str, Any]]
    hours: Mapping[str, list[float]]
    told: Told | None


@dataclass(frozen=True)
class Model:
    """What the model says of fields by their row ids, how many of the farm's are fit of those with work, and the air."""

    fields: Mapping[int, FieldModel]
    fit: int
    waiting: int
    air: dict[str, Any]


NO_MODEL = Model({}, 0, 0, {})


def places(*, farm: Farm, only: Collection[int] | None = None) -> list[Place]:
    """Return the rows of a farm's round: each field, or each of its zones where it has more than one.

    `only` are the row ids of the fields in the round, else all.
    """
    found = []
    rows = Field.objects.filter(farm=farm) if only is None else Field.objects.filter(farm=farm, pk__in=only)
    for field in rows.prefetch_related("zones").order_by("name", "id"):
        zones = sorted(field.zones.all(), key=lambda zone: zone.pk)
        if len(zones) > 1:
            found += [Place(field, zone, number == 0) for number, zone in enumerate(zones)]
        else:
            found.append(Place(field, None, True))
    return found


def standing_words(*, farm: Farm, day: dt.date) -> dict[tuple[int, int | None], tuple[str, dt.time | None]]:
    """Return the word that counts on a day, by the ids of field and zone; a word on a field is said of its zones too."""
    found: dict[tuple[int, int | None], tuple[str, dt.time | None]] = {}
    for one in SaySo.objects.filter(farm=farm, day=day, is_taken_back=False).order_by("said_at", "id"):
        if one.zone_id is None:
            for key in [key for key in found if key[0] == one.field_id]:
                del found[key]
        found[one.field_id, one.zone_id] = (one.word, one.after_at)
    return found


def word_of(
    place: Place, standing: Mapping[tuple[int, int | None], tuple[str, dt.time | None]]
) -> tuple[str, dt.time | None]:
    """Return the word that stands on a row, or an empty one."""
    field_id = place.field.pk
    if place.zone is not None and (field_id, place.zone.pk) in standing:
        return standing[field_id, place.zone.pk]
    return standing.get((field_id, None), ("", None))


def round_of(*, farm: Farm, day: dt.date, typed: Collection[str] = ()) -> list[int]:
    """Return the row ids of the fields in a morning's round: all of a small farm, else those with work in this week first.

    A field that somebody typed for on the page (`typed` are names of boxes) stays in.
    """
    every = Field.objects.filter(farm=farm)
    if every.count() <= MOST_ROWS:
        return list(every.values_list("pk", flat=True))
    named = {int(at) for box in typed for at in box.split("-")[1:2] if at.isdecimal() and len(at) < 19}
    kept = list(every.filter(pk__in=named).values_list("pk", flat=True))
    plan = plans_of_days(farm=farm, days=[day])[day]
    begins = dt.datetime.combine(day, dt.time(), ZoneInfo(farm.zone))
    tasks = PlannedTask.objects.filter(plan=plan, ends_at__gt=begins, field_pass__state__in=OPEN_STATES)
    coming = tasks.order_by("starts_at", "id").values_list("field_id", flat=True)[: 4 * MOST_ROWS]
    return list(dict.fromkeys([*kept, *coming]))[: max(MOST_ROWS, len(kept))]


def morning_facts(
    *,
    farm: Farm,
    today: dt.date,
    known: KnownDay,
    now: dt.datetime,
    typed: Mapping[str, str],
    wrong: Mapping[str, str],
) -> dict[str, Any]:
    """Return all that the morning's page shows; `typed` and `wrong` are those of a form that was refused."""
    known_to, day = known.known_to, known.day
    shown = round_of(farm=farm, day=day, typed=list(typed))
    rows, trouble, model = places(farm=farm, only=shown), "", NO_MODEL
    count = Field.objects.filter(farm=farm).count()
    if known_to is not None and count:
        try:
            model = model_of_day(farm=farm, day=day, as_of=known.as_of, now=now, only=shown)
        except DomainError as error:
            trouble = words.dates_said(error.says)
    standing = standing_words(farm=farm, day=day)
    gauges = gauge_of_days(farm=farm, only=shown, days=[day - dt.timedelta(days=1), day])
    rain_days = [
        (day - dt.timedelta(days=1), _("the day before, or overnight")),
        (day, _("today since midnight")),
    ]
    asked = typed.get("rain_on", "")
    return {
        "day": day,
        "known_to": known_to,
        "weather": _weather(known_to, day, today) if known_to is not None else "",
        "is_past": day < today,
        "trouble": trouble,
        "headline": _headline(model, count, day),
        "air": air_said(model.air, day=day, zone=farm.zone) if model.air else "",
        "rows": [
            _row(place, model.fields.get(place.field.pk), word_of(place, standing), typed, wrong)
            | {"gauge": _gauge_said(gauges, place.field.pk, rain_days)}
            for place in rows
        ],
        "more_fields": count - len({place.field.pk for place in rows}),
        "rain_days": rain_days,
        "rain_on": asked
        if asked in {one.isoformat() for one, _said in rain_days}
        else rain_days[0][0].isoformat(),
        "wrong_day": wrong.get("day", ""),
        "words": [(word, words.named(label)) for word, label in SaySoWord.choices if word != SaySoWord.AFTER],
        "hours": [(f"{hour:02d}:00", _hour(hour)) for hour in HOURS],
    }


def _gauge_said(
    gauges: Mapping[tuple[int, dt.date], Decimal], field_id: int, rain_days: Sequence[tuple[dt.date, str]]
) -> str:
    """Return what stands in a field's gauge already, of each day that can be typed for."""
    told = [
        _("{inches} in {day}").format(inches=f"{gauges[field_id, day]:.2f}", day=said_of)
        for day, said_of in rain_days
        if (field_id, day) in gauges
    ]
    return "; ".join(told)


def _weather(known_to: dt.date, day: dt.date, today: dt.date) -> str:
    """Return until when weather is known, and which day the round is of where that is not today."""
    if day >= today:
        says = _("Weather is known to {known}, {year}.")
    else:
        says = _(
            "Weather is known to {known}, {year}: the round is that of the day after, {day}, not of today."
        )
    return says.format(known=words.long_date(known_to), year=known_to.year, day=words.long_date(day))


def model_of_day(
    *, farm: Farm, day: dt.date, as_of: dt.date, now: dt.datetime, only: Collection[int]
) -> Model:
    """Return what the model says of some fields on a day, by their row ids; what is kept of it counts if nothing changed.

    Raises what working the ground out raises.
    """
    kept = ground_of_day(farm=farm, day=day, as_of=as_of, now=now)
    start = dt.datetime.combine(day, dt.time(), ZoneInfo(farm.zone))
    short = limit_words(limits_of(farm=farm).everywhere)
    rows = list(kept.fields.filter(field__in=only).values_list("field_id", "told"))
    whole = FieldPass.objects.select_related("season__field").defer("season__field__boundary")
    passes = whole.in_bulk([told["pass_id"] for _id, told in rows])
    found = {
        field_id: FieldModel(
            zones=told["ground"],
            hours=told["hours"],
            told=_told(passes[told["pass_id"]], told["windows"], start, short)
            if told["pass_id"] in passes
            else None,
        )
        for field_id, told in rows
    }
    counts = kept.fields.aggregate(fit=Count("pk", filter=Q(is_fit=True)), waiting=Count("is_fit"))
    return Model(found, counts["fit"], counts["waiting"], kept.air)


def fields_fit(*, farm: Farm, day: dt.date, as_of: dt.date, now: dt.datetime) -> set[int]:
    """Return the row ids of the fields that can be worked at some hour of a day."""
    kept = ground_of_day(farm=farm, day=day, as_of=as_of, now=now)
    return set(kept.fields.filter(is_fit=True).values_list("field_id", flat=True))


def hours_said(odds_by_hour: Sequence[float]) -> str:
    """Return from when the topsoil of a zone bears tillage today, by the odds of each hour from `OUT_FROM_H` on."""
    fit = [at for at, share in enumerate(odds_by_hour) if share >= HALF]
    if not fit:
        return _("too wet all day")
    if fit[0] == 0:
        return _("fit all day") if len(fit) == len(odds_by_hour) else _("fit early")
    says = _("fit from {hour}").format(hour=_hour(OUT_FROM_H + fit[0]))
    return says + _sure(odds_by_hour[fit[0]])


def _told(one: FieldPass, windows: dict[str, Any], start: dt.datetime, short: Mapping[str, str]) -> Told:
    work = said(one)
    begins, ends = out_minutes(start)
    opens = [stretch for stretch in windows["open"] if stretch["to"] > begins and stretch["from"] < ends]
    if not opens:
        shut = next((s for s in windows["shut"] if s["to"] > begins), None)
        says = shut["says_es" if words.speaking() == "es" else "says"] if shut else _("shut")
        why = says.partition(";")[0]
        return Told(_("{work}: not today: {why}").format(work=work, why=why), is_fit=False)
    first = opens[0]
    if first["from"] <= begins:
        says = _until(work, windows, first["to"], ends, start, short)
        return Told(says + _sure(first["chance"]), is_fit=True)
    at = instant(start, first["from"])
    says = _("{work}: fit from {hour}").format(work=work, hour=words.clock(at))
    return Told(says + _sure(first["chance"]), is_fit=True, from_h=at.hour + (1 if at.minute else 0))


def _until(
    work: str, windows: dict[str, Any], to_min: int, ends: int, start: dt.datetime, short: Mapping[str, str]
) -> str:
    """Return until when an open morning lasts, where it is shut again before the evening."""
    shut = next((s for s in windows["shut"] if to_min <= s["from"] < ends), None)
    if shut is None:
        return _("{work}: fit all day").format(work=work)
    return _("{work}: fit until {hour} ({limit})").format(
        work=work, hour=words.clock(instant(start, shut["from"])), limit=short.get(shut["limit"]) or _("shut")
    )


def _sure(chance: float) -> str:
    """Return the odds behind a sentence, or nothing where it is sure."""
    return "" if chance >= SURE else f", {odds(float(chance))}"


def _row(
    place: Place,
    model: FieldModel | None,
    word: tuple[str, dt.time | None],
    typed: Mapping[str, str],
    wrong: Mapping[str, str],
) -> dict[str, Any]:
    key, field = place.key, place.field
    zones = model.zones if model else []
    zone = next((one for one in zones if place.zone is None or one["zone"] == place.zone.name), None)
    told = model.told if model else None
    odds_by_hour = model.hours.get(place.zone.name) if model and place.zone else None
    said_word, after_at = word
    usual_h = told.from_h if told and told.from_h in HOURS else USUAL_AFTER_H
    was = f"{after_at:%H:%M}" if after_at else f"{usual_h:02d}:00"
    return {
        "key": key,
        "name": field.name,
        "code": field.code,
        "zone": place.zone.name if place.zone else "",
        "hours": hours_said(odds_by_hour) if odds_by_hour else "",
        "place": ", ".join([field.name, *([place.zone.name] if place.zone else [])]),
        "is_first": place.is_first,
        "model": f"{told.says.removesuffix('.')}." if told and place.is_first else "",
        "waits": told is not None,
        **wetness(zone),
        "standing": said_word,
        "word": typed.get(f"word-{key}", said_word),
        "was": was,
        "hour": typed.get(f"hour-{key}", was),
        "rain": typed.get(f"rain-{field.pk}", ""),
        "rain_key": f"rain-{field.pk}",
        "word_key": f"word-{key}",
        "wrong_word": wrong.get(f"word-{key}", ""),
        "wrong_rain": wrong.get(f"rain-{field.pk}", "") if place.is_first else "",
    }


def wetness(zone: Mapping[str, Any] | None) -> dict[str, Any]:
    """Return a zone's topsoil of the morning with its limit, its step of the scale and its word."""
    if zone is None or not zone["days"]:
        return {"topsoil": ""}
    today = zone["days"][0]
    wet = today["workable_below_m3_m3"]
    return {
        "topsoil": f"{today['topsoil_8am_m3_m3']:.2f}",
        "limit": f"{wet:.2f}",
        "step": wet_step(today["topsoil_8am_m3_m3"], wet),
        "wetness": wet_word(today["topsoil_8am_m3_m3"], wet),
    }


def _headline(model: Model, count: int, day: dt.date) -> str:
    if not count:
        return _("No field is described yet.")
    weekday = words.capital(words.weekday(day))
    if not model.waiting:
        return _("{day}: go through the fields and say how they are.").format(day=weekday)
    fit, total = model.fit, model.waiting
    if fit == total:
        says = ngettext(
            "{day}: the model has the one field with work fit at some hour. What do you say?",
            "{day}: the model has all {total} fields with work fit at some hour. What do you say?",
            total,
        )
    else:
        says = ngettext(
            "{day}: the model has no field with work fit at some hour. What do you say?",
            "{day}: the model has {fit} of {total} fields with work fit at some hour. What do you say?",
            total,
        )
    return says.format(day=weekday, fit=words.count_word(fit), total=words.count_word(total))


def _hour(hour: int) -> str:
    at = _("{hour} pm") if hour >= 12 else _("{hour} am")
    return at.format(hour=hour % 12 or 12)


def unchanged(word: str, hour: str, standing: tuple[str, dt.time | None]) -> bool:
    """Return whether a row says what stands already."""
    said_word, after_at = standing
    return word == said_word and (
        word != SaySoWord.AFTER or hour == (f"{after_at:%H:%M}" if after_at else "")
    )
