"""The morning round as plain data: every field and zone in a row, what the model says of it, and what was said."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.problems import DomainError
from farmops.desk.days import observed_to, weather_as_of, working_day
from farmops.farms.models import Farm, Field, SoilZone
from farmops.farms.operations import PIVOT_WORK
from farmops.pages import words
from farmops.pages.field_page import said, waits_for
from farmops.pages.ground import wet_step, wet_word
from farmops.pages.limit_words import limit_words
from farmops.pages.plots.time_strip import instant, odds
from scheduling.models import FieldPass, SaySo, SaySoWord
from scheduling.selectors.ground import farm_ground
from scheduling.selectors.limits import limits_of
from scheduling.selectors.passes import open_passes, pass_key
from scheduling.selectors.windows import pass_windows
from scheduling.windows import PassWindows
from scheduling.windows.report import ZoneGround

OUT_FROM_H, OUT_TO_H = 6, 20
"""Farm judgement: between these hours somebody may be in the field; nights are not told of."""
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


def places(*, farm: Farm) -> list[Place]:
    """Return the rows of a farm's round: each field, or each of its zones where it has more than one."""
    found = []
    for field in Field.objects.filter(farm=farm).prefetch_related("zones").order_by("name", "id"):
        zones = sorted(field.zones.all(), key=lambda zone: zone.pk)
        if len(zones) > 1:
            found += [Place(field, zone, number == 0) for number, zone in enumerate(zones)]
        else:
            found.append(Place(field, None, True))
    return found


def standing_words(*, farm: Farm, day: dt.date) -> dict[tuple[int, int | None], tuple[str, dt.time | None]]:
    """Return the word that counts on a day, by the ids of field and zone; a word on a field is said of its zones too."""
    found: dict[tuple[int, int | None], tuple[str, dt.time | None]] = {}
    for one in SaySo.objects.filter(farm=farm, day=day).order_by("said_at", "id"):
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


def morning_facts(
    *, farm: Farm, today: dt.date, typed: Mapping[str, str], wrong: Mapping[str, str]
) -> dict[str, Any]:
    """Return all that the morning's page shows; `typed` and `wrong` are those of a form that was refused."""
    known_to = observed_to(farm=farm)
    day = working_day(farm=farm, today=today)
    rows, trouble = places(farm=farm), ""
    ground: dict[tuple[str, str], ZoneGround] = {}
    told: dict[int, Told] = {}
    hours: dict[tuple[str, str], str] = {}
    if known_to is not None and rows:
        try:
            as_of = weather_as_of(farm=farm, today=today)
            ground, told = model_of_day(farm=farm, day=day, as_of=as_of)
            hours = _zone_hours(farm, rows, day, as_of)
        except DomainError as error:
            trouble = words.dates_said(error.says)
    standing = standing_words(farm=farm, day=day)
    made = [
        _row(place, ground, told, word_of(place, standing), typed, wrong)
        | {"hours": hours.get((place.field.code, place.zone.name), "") if place.zone else ""}
        for place in rows
    ]
    count = len({place.field.pk for place in rows})
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
        "headline": _headline(told, count, day),
        "rows": made,
        "rain_days": rain_days,
        "rain_on": asked
        if asked in {one.isoformat() for one, _said in rain_days}
        else rain_days[0][0].isoformat(),
        "wrong_day": wrong.get("day", ""),
        "words": [(word, words.named(label)) for word, label in SaySoWord.choices if word != SaySoWord.AFTER],
        "hours": [(f"{hour:02d}:00", _hour(hour)) for hour in HOURS],
    }


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
    *, farm: Farm, day: dt.date, as_of: dt.date, only: Collection[int] | None = None
) -> tuple[dict[tuple[str, str], ZoneGround], dict[int, Told]]:
    """Return the ground of each zone on a day by the codes of field and zone, and what may be done by the field's row id.

    `only` are the row ids of the fields asked for, else all. Raises what working the ground out raises.
    """
    waiting = [one for one in open_passes(farm=farm) if one.operation not in PIVOT_WORK]
    described = Field.objects.filter(farm=farm, zones__isnull=False).distinct()
    fields = list(described if only is None else described.filter(pk__in=only))
    if not fields and only is not None:
        return {}, {}
    known = {field.pk for field in fields}
    first = _first_of_each([one for one in waiting if one.season.field_id in known])
    start = dt.datetime.combine(day, dt.time(), ZoneInfo(farm.zone))
    report = pass_windows(farm=farm, passes=first, starts_at=start, days=1, as_of=as_of, fields=fields)
    short = limit_words(limits_of(farm=farm).everywhere)
    told = {one.season.field_id: _told(one, report.of(pass_key(one)), start, short) for one in first}
    return {(zone.field, zone.zone): zone for zone in report.ground}, told


def _zone_hours(
    farm: Farm, rows: Sequence[Place], day: dt.date, as_of: dt.date
) -> dict[tuple[str, str], str]:
    """Return from when the topsoil of each zone bears tillage today, where a field has several, by field and zone."""
    fields = list({place.field.pk: place.field for place in rows if place.zone is not None}.values())
    if not fields:
        return {}
    ground = farm_ground(farm=farm, first=day, last=day, as_of=as_of, fields=fields).ground
    hours = [
        index
        for index, (at, clock_h) in enumerate(zip(ground.grid.day_index, ground.grid.clock_h, strict=True))
        if ground.grid.days[at] == day and OUT_FROM_H <= clock_h < OUT_TO_H
    ]
    found = {}
    for zone, column in zip(ground.zones, ground.columns, strict=True):
        chance = (ground.topsoil_m3_m3[hours, column, :] < zone.workable_below_m3_m3).mean(axis=1)
        fit = [at for at, share in enumerate(chance) if share >= HALF]
        if not fit:
            found[zone.field, zone.name] = _("too wet all day")
        elif fit[0] == 0:
            found[zone.field, zone.name] = _("fit all day") if len(fit) == len(hours) else _("fit early")
        else:
            hour = _hour(round(ground.grid.clock_h[hours[fit[0]]]))
            found[zone.field, zone.name] = _("fit from {hour}").format(hour=hour) + _sure(chance[fit[0]])
    return found


def _first_of_each(waiting: Sequence[FieldPass]) -> list[FieldPass]:
    """Return the first pass of each field that waits for no other; where all wait, the first."""
    behind = waits_for(waiting)
    found: dict[int, FieldPass] = {}
    for one in sorted(waiting, key=lambda one: one.pk in behind):
        found.setdefault(one.season.field_id, one)
    return list(found.values())


def _told(one: FieldPass, windows: PassWindows, start: dt.datetime, short: Mapping[str, str]) -> Told:
    work = said(one)
    midnight = start.astimezone(dt.UTC)
    begins, ends = (
        round((start.replace(hour=hour).astimezone(dt.UTC) - midnight).total_seconds() / 60)
        for hour in (OUT_FROM_H, OUT_TO_H)
    )
    opens = [stretch for stretch in windows.open if stretch.to_min > begins and stretch.from_min < ends]
    if not opens:
        shut = next((s for s in windows.shut if s.to_min > begins), None)
        says = (shut.says_es if words.speaking() == "es" else shut.says_en) if shut else _("shut")
        why = says.partition(";")[0]
        return Told(_("{work}: not today: {why}").format(work=work, why=why), is_fit=False)
    first = opens[0]
    if first.from_min <= begins:
        says = _until(work, windows, first.to_min, ends, start, short)
        return Told(says + _sure(first.chance), is_fit=True)
    at = instant(start, first.from_min)
    says = _("{work}: fit from {hour}").format(work=work, hour=words.clock(at))
    return Told(says + _sure(first.chance), is_fit=True, from_h=at.hour + (1 if at.minute else 0))


def _until(
    work: str, windows: PassWindows, to_min: int, ends: int, start: dt.datetime, short: Mapping[str, str]
) -> str:
    """Return until when an open morning lasts, where it is shut again before the evening."""
    shut = next((s for s in windows.shut if to_min <= s.from_min < ends), None)
    if shut is None:
        return _("{work}: fit all day").format(work=work)
    return _("{work}: fit until {hour} ({limit})").format(
        work=work, hour=words.clock(instant(start, shut.from_min)), limit=short.get(shut.limit) or _("shut")
    )


def _sure(chance: float) -> str:
    """Return the odds behind a sentence, or nothing where it is sure."""
    return "" if chance >= SURE else f", {odds(float(chance))}"


def _row(
    place: Place,
    ground: Mapping[tuple[str, str], ZoneGround],
    told: Mapping[int, Told],
    word: tuple[str, dt.time | None],
    typed: Mapping[str, str],
    wrong: Mapping[str, str],
) -> dict[str, Any]:
    key, field = place.key, place.field
    zones = [zone for (code, _name), zone in ground.items() if code == field.code]
    zone = next((one for one in zones if place.zone is None or one.zone == place.zone.name), None)
    model = told.get(field.pk)
    said_word, after_at = word
    usual_h = model.from_h if model and model.from_h in HOURS else USUAL_AFTER_H
    was = f"{after_at:%H:%M}" if after_at else f"{usual_h:02d}:00"
    return {
        "key": key,
        "name": field.name,
        "code": field.code,
        "zone": place.zone.name if place.zone else "",
        "place": ", ".join([field.name, *([place.zone.name] if place.zone else [])]),
        "is_first": place.is_first,
        "model": f"{model.says.removesuffix('.')}." if model and place.is_first else "",
        "waits": model is not None,
        **_wetness(zone),
        "standing": said_word,
        "word": typed.get(f"word-{key}", said_word),
        "was": was,
        "hour": typed.get(f"hour-{key}", was),
        "rain": typed.get(f"rain-{field.pk}", ""),
        "rain_key": f"rain-{field.pk}",
        "wrong_word": wrong.get(f"word-{key}", ""),
        "wrong_rain": wrong.get(f"rain-{field.pk}", "") if place.is_first else "",
    }


def _wetness(zone: ZoneGround | None) -> dict[str, Any]:
    if zone is None or not zone.days:
        return {"topsoil": ""}
    today = zone.days[0]
    wet = today.workable_below_m3_m3
    return {
        "topsoil": f"{today.topsoil_8am_m3_m3:.2f}",
        "limit": f"{wet:.2f}",
        "step": wet_step(today.topsoil_8am_m3_m3, wet),
        "wetness": wet_word(today.topsoil_8am_m3_m3, wet),
    }


def _headline(told: Mapping[int, Told], count: int, day: dt.date) -> str:
    if not count:
        return _("No field is described yet.")
    weekday = words.capital(words.weekday(day))
    if not told:
        return _("{day}: go through the fields and say how they are.").format(day=weekday)
    fit, total = sum(1 for one in told.values() if one.is_fit), len(told)
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
