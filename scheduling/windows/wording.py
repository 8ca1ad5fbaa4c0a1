"""The sentences of a window, in English and in Spanish, with their numbers and a 12-hour clock."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from zoneinfo import ZoneInfo

from scheduling.windows.limits import OF_THE_CLOCK, Choice, Limit, Quantity

WEEKDAYS_EN = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
WEEKDAYS_ES = ("lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo")
WEEK_DAYS = 7
DECIMALS: dict[Quantity, int] = {
    Quantity.RAIN_HOUR: 2,
    Quantity.RAIN_AHEAD: 1,
    Quantity.RAIN_BEHIND: 1,
    Quantity.TOPSOIL: 2,
    Quantity.TRAFFIC: 2,
    Quantity.SUBSOIL: 2,
    Quantity.INVERSION: 1,
    Quantity.DEW: 1,
}
FAHRENHEIT = (" °F", " °F")
INCHES = (" in", " pulgadas")
UNITS_AFTER: dict[Quantity, tuple[str, str]] = {
    Quantity.RE_ENTRY: (" h", " horas"),
    Quantity.PLANT_BACK: (" days", " días"),
    Quantity.PIVOT_RUNS: (" h", " horas"),
    Quantity.RAIN_HOUR: INCHES,
    Quantity.RAIN_AHEAD: INCHES,
    Quantity.RAIN_BEHIND: INCHES,
    Quantity.SOIL_MEAN: FAHRENHEIT,
    Quantity.SOIL_HOUR: FAHRENHEIT,
    Quantity.AIR_MIN: FAHRENHEIT,
    Quantity.AIR_AHEAD: FAHRENHEIT,
    Quantity.AIR_BEHIND: FAHRENHEIT,
    Quantity.DD60_SUM: (" DD60", " DD60"),
    Quantity.DEW: FAHRENHEIT,
    Quantity.WIND: (" mph", " mph"),
    Quantity.HUMIDITY: (" %", " %"),
    Quantity.SEED_WATER: (" %", " %"),
}
IN_HUNDREDTHS = frozenset({Quantity.SEED_WATER})
"""Kept as a share, told in percent."""
NOT_KNOWN: dict[Quantity, tuple[str, str]] = {
    Quantity.WIND: ("wind", "viento"),
    Quantity.INVERSION: ("wind and sky", "viento y cielo"),
    Quantity.DEW: ("dew", "rocío"),
    Quantity.HUMIDITY: ("air humidity", "humedad del aire"),
}
"""What a forecast may leave out."""


@dataclass(frozen=True)
class Sentence:
    """One thing, said twice."""

    english: str
    spanish: str


@dataclass(frozen=True)
class Opening:
    """When a shut stretch ends in an open one, and how sure that is."""

    at: dt.datetime
    chance: float


NO_WORDS: Mapping[str, Sentence] = MappingProxyType({})


def reason(
    limit: Limit,
    *,
    value: float,
    bound: float,
    words: Mapping[str, Sentence] = NO_WORDS,
    soil_zone: str = "",
) -> Sentence:
    """Say why a limit speaks against the work, with its numbers; `soil_zone` names the zone of several.

    `words` fill what is not a number of the limit: the pump, the products, until when.
    """
    value_text, bound_text = _pair(limit, value, bound)
    unit_en, unit_es = UNITS_AFTER.get(limit.quantity, ("", ""))
    english = {
        "value": value_text + unit_en,
        "limit": bound_text + unit_en,
        "load": f"{limit.number:,.0f} lb",
    }
    spanish = {
        "value": value_text + unit_es,
        "limit": bound_text + unit_es,
        "load": f"{limit.number:,.0f} libras",
    }
    if limit.depth_in is not None:
        english["depth"], spanish["depth"] = f"{limit.depth_in:g} in", f"{limit.depth_in:g} pulgadas"
    if limit.hour is not None:
        hour = dt.time(*divmod(round(limit.hour * 60), 60))
        english["hour"], spanish["hour"] = clock_en(hour), clock_es(hour)
    for word, told in words.items():
        english[word], spanish[word] = told.english, told.spanish
    own = _own_number(limit.choice)
    said = Sentence(
        limit.says_en.format_map(_Words(english)) + own.english,
        limit.says_es.format_map(_Words(spanish)) + own.spanish,
    )
    if soil_zone:
        return Sentence(f"{soil_zone}: {said.english}", f"{soil_zone}: {said.spanish}")
    return said


def not_known(limit: Limit) -> Sentence:
    """Say that the forecast leaves out what a limit looks at: somebody must look on the spot."""
    english, spanish = NOT_KNOWN.get(limit.quantity, ("weather", "tiempo"))
    return Sentence(
        f"{english} not known: look on the spot before you start",
        f"{spanish} sin dato: mirar en el lugar antes de empezar",
    )


def moment(instant: dt.datetime, *, told_at: dt.datetime, zone: str) -> Sentence:
    """Return an instant as a day and a time of the farm's clock, with the date where the weekday is not enough."""
    clock = ZoneInfo(zone)
    local, since = instant.astimezone(clock), told_at.astimezone(clock).date()
    day_en, day_es = _day_en(local.date(), since), _day_es(local.date(), since)
    if local.date() < since - dt.timedelta(days=WEEK_DAYS - 1):
        day_en, day_es = f"{day_en}, {local:%b} {local.day}", f"{day_es} {local.day}"
    joint = " at " if "," in day_en else " "
    return Sentence(f"{day_en}{joint}{clock_en(local.time())}", f"el {day_es} a {clock_es(local.time())}")


def angle(angle_deg: float) -> Sentence:
    """Return an angle in whole degrees."""
    return Sentence(f"{angle_deg:.0f}°", f"{angle_deg:.0f}°")


def _own_number(choice: Choice | None) -> Sentence:
    """Say whose number ruled where the farm has chosen its own, and who chose it."""
    if choice is None or choice.number is None:
        return Sentence("", "")
    who = f", {choice.set_by}" if choice.set_by else ""
    if choice.field:
        return Sentence(f" (this field's own number{who})", f" (número propio de este campo{who})")
    return Sentence(f" (the farm's own number{who})", f" (número propio del rancho{who})")


class _Words(dict[str, str]):
    """Words to fill in; one that this limit does not have here stays out."""

    def __missing__(self, word: str) -> str:
        return ""


def uncertain(limit: Limit, *, chance: float, because: Sentence) -> Sentence:
    """Say that the weather that may come leaves too little chance, and what stands in the way."""
    return Sentence(
        limit.says_en.format(value=odds_en(chance), limit=odds_en(limit.number), reason=because.english),
        limit.says_es.format(value=odds_es(chance), limit=odds_es(limit.number), reason=because.spanish),
    )


def say_so(*, after: dt.time | None, soil_zone: str = "") -> Sentence:
    """Say what the grower said of this morning's field, or of one zone of it."""
    where_en, where_es = (f" of {soil_zone}", f" de {soil_zone}") if soil_zone else ("", "")
    if after is None:
        return Sentence(f"the grower says{where_en}: not today", f"dice el patrón{where_es}: hoy no")
    return Sentence(
        f"the grower says{where_en}: after {clock_en(after)}",
        f"dice el patrón{where_es}: después de {clock_es(after)}",
    )


def with_opening(said: Sentence, opening: Opening | None, *, shut_from: dt.datetime, zone: str) -> Sentence:
    """Add when the pass opens again; `opening` is None when it does not within the days looked at."""
    if opening is None:
        return Sentence(
            f"{said.english}; shut as far as we look", f"{said.spanish}; cerrado hasta donde se ve"
        )
    clock = ZoneInfo(zone)
    opens, since = opening.at.astimezone(clock), shut_from.astimezone(clock)
    english = ["opens"]
    spanish = ["se abre"]
    if opens.date() != since.date():
        english.append(_day_en(opens.date(), since.date()))
        spanish.append(f"el {_day_es(opens.date(), since.date())}")
    if opens.time() != dt.time():
        about = opens.minute == 0
        english.append(f"{'about' if about else 'at'} {clock_en(opens.time())}")
        spanish.append(f"{'como ' if about else ''}a {clock_es(opens.time())}")
    sure_en = sure_es = ""
    if opening.chance < 1:
        sure_en, sure_es = f", {odds_en(opening.chance)}", f", {odds_es(opening.chance)}"
    return Sentence(
        f"{said.english}; {' '.join(english)}{sure_en}", f"{said.spanish}; {' '.join(spanish)}{sure_es}"
    )


def odds_en(chance: float) -> str:
    """Return a chance as a farmer says it, rounded down: 7 in 10."""
    tenths = _tenths(chance)
    return f"{tenths} in 10" if tenths else "less than 1 in 10"


def odds_es(chance: float) -> str:
    """Return a chance in Spanish, rounded down: 7 de cada 10."""
    tenths = _tenths(chance)
    return f"{tenths} de cada 10" if tenths else "menos de 1 de cada 10"


def clock_en(moment: dt.time) -> str:
    """Return a time of day on a 12-hour clock: 2 pm, 10:30 am."""
    hour = moment.hour % 12 or 12
    minute = f":{moment.minute:02d}" if moment.minute else ""
    return f"{hour}{minute} {'am' if moment.hour < 12 else 'pm'}"


def clock_es(moment: dt.time) -> str:
    """Return a time of day in Spanish with its article: las 2 de la tarde, la 1 de la tarde."""
    hour = moment.hour % 12 or 12
    minute = f":{moment.minute:02d}" if moment.minute else ""
    if moment.hour == 12:
        part = "del día"
    elif moment.hour < 5:
        part = "de la madrugada"
    elif moment.hour < 12:
        part = "de la mañana"
    elif moment.hour < 19:
        part = "de la tarde"
    else:
        part = "de la noche"
    return f"{'la' if hour == 1 else 'las'} {hour}{minute} {part}"


def _tenths(chance: float) -> int:
    return int(chance * 10 + 1e-9)


def _day_en(day: dt.date, since: dt.date) -> str:
    name = WEEKDAYS_EN[day.weekday()]
    return name if (day - since).days < WEEK_DAYS else f"{name}, {day:%b} {day.day}"


def _day_es(day: dt.date, since: dt.date) -> str:
    name = WEEKDAYS_ES[day.weekday()]
    return name if (day - since).days < WEEK_DAYS else f"{name} {day.day}"


def _pair(limit: Limit, value: float, bound: float) -> tuple[str, str]:
    """Return both numbers with as many digits as it takes to tell them apart, at most four more than usual."""
    if limit.quantity in OF_THE_CLOCK:
        return f"{value:g}", f"{bound:g}"
    if limit.quantity in IN_HUNDREDTHS:
        value, bound = 100 * value, 100 * bound
    usual = DECIMALS.get(limit.quantity, 0)
    pair = ("", "")
    for decimals in range(usual, usual + 5):
        pair = f"{value:z.{decimals}f}", f"{bound:z.{decimals}f}"
        if pair[0] != pair[1]:
            break
    return pair
