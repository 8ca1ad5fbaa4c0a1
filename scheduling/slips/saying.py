"""How the parts of a slip are said, one line each. Pure."""

from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from farmops.farms.operations import TILLAGE, Operation
from scheduling.slips.facts import (
    CallFor,
    Effort,
    GroundToday,
    Hours,
    LastTime,
    StartSetting,
    StayOut,
    Tool,
    WayThere,
)
from scheduling.slips.kinds import MACHINE_WORK
from scheduling.slips.phrases import PHRASES, say
from scheduling.slips.warmth import step_words, temp_words
from scheduling.slips.wetness import WETNESS
from scheduling.slips.words import clock_words, day_words, ground_words, moment_words, span_words

SOIL_BAND_F = 4
"""What the soil's model is good for, about 2 °C either way (see `farmops.science.soil_temperature`)."""
LEAST_MILES = 0.1
"""A shorter way is told in minutes only."""
FIT_FROM = 0.85
"""From this share of a disk's limit on, the words for the ground speak of the disk: other work says just moist."""


class SaidLine(NamedTuple):
    """A label and what it says; `key` names what it is about, `why` the reason, `warns` what must not be overlooked."""

    key: str
    label: str
    says: str
    why: str = ""
    warns: bool = False


class SaidCheck(NamedTuple):
    """One thing to look at, with what its record needs."""

    check_key: str
    says: str
    machine_code: str = ""
    implement_code: str = ""
    is_ticked: bool = False


def line(key: str, language: str, says: str, *, why: str = "", warns: bool = False) -> SaidLine:
    """Return a line under the label of its key."""
    return SaidLine(key, say(key, language), says, why, warns)


def boss_lines(hours: Hours, language: str) -> Iterable[SaidLine]:
    """Yield the grower's words on the field."""
    for word in hours.boss_words:
        hour = clock_words(word.after_at, language) if word.after_at is not None else ""
        where = f"{word.zone}: " if word.zone else ""
        told = f"{where}{say(word.word, language, hour=hour)}"
        yield line("boss_says", language, told, warns=word.word != "fit")


def when_words(hours: Hours, language: str, *, area_ac: Decimal | None, parts: tuple[str, ...]) -> str:
    """Return from when to when, about how long and over how many acres, with what else is said of the part."""
    start, end = (clock_words(at.time(), language) for at in (hours.starts_at, hours.ends_at))
    told = [
        say("from_to", language, start=start, end=end),
        say("about", language, hours=span_words(about_min(hours.work_min))),
    ]
    if area_ac is not None:
        told.append(say("acres", language, acres=plain(area_ac)))
    return ", ".join([*told, *parts])


def shut_lines(hours: Hours, language: str) -> Iterable[SaidLine]:
    """Yield what may shut the work, and the chance that nothing does."""
    for shut in hours.shut:
        start, end = (clock_words(at.time(), language) for at in (shut.starts_at, shut.ends_at))
        span = say("from_to", language, start=start, end=end)
        yield line("shut", language, f"{span}, {shut.says.in_(language)}", warns=True)
    if hours.open_chance is not None:
        tenths = int(hours.open_chance * 10 + 1e-9)  # rounded down, as on the pages
        yield line("chance", language, say("chance_of_10", language, tenths=tenths))


def way_line(way: WayThere, language: str) -> SaidLine:
    """Return how to get there from the place before."""
    if not way.minutes:
        return line("way", language, say("way_none", language))
    yard = say("yard", language)
    place = way.from_name or yard
    if way.miles < LEAST_MILES:
        told = say("way_near", language, minutes=way.minutes, place=place)
    else:
        miles = f"{way.miles:.1f}" if way.miles < 10 else f"{way.miles:.0f}"
        told = say("way_from", language, minutes=way.minutes, place=place, miles=miles)
    return line("way", language, told)


def fetch_lines(
    way: WayThere, hours: Hours, language: str, *, machine: Tool | None, implement: Tool | None
) -> Iterable[SaidLine]:
    """Yield what stands elsewhere, and when to leave or how late one comes where the plan leaves too little time."""
    yard, told = say("yard", language), []
    for one in way.fetch:
        tool = machine if one.is_machine else implement
        if tool is not None:
            name, place = tool.name.in_(language), one.place_name or yard
            told.append(say("fetch_at", language, tool=name, place=place))
    if told:
        yield line("fetch", language, "; ".join(told))
    why = say("hitch", language, minutes=way.hitch_min) if way.hitch_min else ""
    if way.leave_at is not None:
        leave, start = (clock_words(at.time(), language) for at in (way.leave_at, hours.starts_at))
        says = say("leave_by_says", language, leave=leave, start=start)
        yield line("leave_by", language, says, why=why, warns=True)
    if way.there_at is not None:
        says = say("late_there_says", language, hour=clock_words(way.there_at.time(), language))
        yield line("late_there", language, says, why=why, warns=True)


def short_of_time(way: WayThere | None, language: str) -> Iterable[str]:
    """Yield in short what the boss is told of a way that takes longer than the plan leaves: nothing where it does not."""
    if way is not None and way.leave_at is not None:
        yield say("leaves_early", language, leave=clock_words(way.leave_at.time(), language))
    if way is not None and way.there_at is not None:
        yield say("comes_late", language, hour=clock_words(way.there_at.time(), language))


def outfit_line(machine: Tool | None, implement: Tool | None, language: str) -> SaidLine:
    """Return what goes out."""
    names = [tool.name.in_(language) for tool in (machine, implement) if tool is not None]
    if len(names) == 2:
        return line("with", language, say("outfit", language, machine=names[0], implement=names[1]))
    return line("with", language, names[0] if names else say("on_foot", language))


def ground_lines(
    ground: GroundToday | None, operation: Operation, language: str, *, is_metric: bool = False
) -> Iterable[SaidLine]:
    """Yield how wet the ground is, and how warm where that is known; a planter has other limits than a disk."""
    if ground is None:
        if operation in MACHINE_WORK:
            yield line("ground", language, say("ground_unknown", language), warns=True)
        return
    word = ground_words(ground.share, language)
    if operation not in TILLAGE:
        told = say("moist", language) if ground.share >= FIT_FROM else word
        yield line("ground", language, f"{told}, {ground.topsoil_m3_m3:.2f}")
    else:
        value, limit = _told_apart(ground.topsoil_m3_m3, ground.workable_below_m3_m3)
        says = say("ground_value", language, word=word, value=value, limit=limit)
        yield line("ground", language, says, warns=ground.share >= 1)
    if ground.soil_temp_8am_f is not None:
        temp = temp_words(ground.soil_temp_8am_f, is_metric=is_metric)
        band = step_words(SOIL_BAND_F, is_metric=is_metric).partition(" ")[0]
        yield line("soil_temp", language, say("give_or_take", language, temp=temp, band=band))


def effort_line(effort: Effort, language: str) -> SaidLine | None:
    """Return the pace and the fuel of the day's work; None where there is nothing to say of it."""
    if effort.work_rate_ac_per_h is None:
        return None
    told = [say("rate", language, acres=f"{effort.work_rate_ac_per_h:.1f}")]
    if effort.fuel_gal is not None:
        told.append(say("fuel", language, gallons=about_gal(effort.fuel_gal)))
    return line("effort", language, ", ".join(told))


def setting_line(setting: StartSetting, language: str) -> SaidLine:
    """Return one setting to start with, and why."""
    words = _setting_words(setting, language)
    told = f"{setting.zone}: {words}" if setting.zone else words
    return line(setting.key, language, told, why=setting.why.in_(language))


def last_time_line(last: LastTime, language: str) -> SaidLine:
    """Return what was set when the work last looked right here."""
    told = [_set_words(key, number, word, language) for key, number, word in last.settings]
    where = [
        part for part in (last.zone, WETNESS[last.wetness].in_(language) if last.wetness else "") if part
    ]
    day = ", ".join([day_words(last.work_on, language), *where])
    return line("last_time", language, say("last_time_set", language, day=day, settings=", ".join(told)))


def stay_out_line(stay_out: StayOut, language: str) -> SaidLine:
    """Return until when nobody goes in."""
    until = moment_words(stay_out.until_at, language)
    if stay_out.is_planned:
        return line("nobody_in", language, say("label_decides", language, until=until), warns=True)
    products = (stay_out.products_es if language == "es" else "") or stay_out.products
    says = say("stay_out_says", language, until=until, products=products)
    return line("stay_out", language, says, warns=True)


def call_lines(call: CallFor, language: str, *, field_name: str) -> Iterable[SaidLine]:
    """Yield the emergency number, where to send help, and whom to call."""
    yield line("emergency", language, call.emergency_number)
    address = ", ".join(part for part in (field_name, call.road_address) if part)
    yield line("you_are_at", language, address)
    yield line("place", language, f"{call.latitude_deg:.5f}, {call.longitude_deg:.5f}")
    boss = call.boss_name or say("the_boss", language)
    yield line("boss", language, ", ".join(part for part in (boss, call.boss_phone) if part))


def about_min(work_min: int) -> int:
    """Return a length as one says it: to the quarter hour, or to five minutes below an hour."""
    step_min = 15 if work_min >= 60 else 5
    return max(step_min, round(work_min / step_min) * step_min)


def about_gal(fuel_gal: float) -> int:
    """Return gallons as one says them: to five from twenty on, else to one, and never none."""
    step = 5 if fuel_gal >= 20 else 1
    return max(1, round(fuel_gal / step) * step)


def plain(number: Decimal) -> str:
    """Return a number without zeros at its end."""
    return f"{number.normalize():f}"


def _setting_words(setting: StartSetting, language: str) -> str:
    if setting.low is None or setting.high is None:
        return say(f"{setting.key}_says", language)
    unit = say(f"{setting.key}_unit", language)
    key = "one_value" if setting.low == setting.high else "range"
    return say(key, language, low=plain(setting.low), high=plain(setting.high), unit=unit)


def _set_words(key: str, number: Decimal | None, word: str, language: str) -> str:
    if number is None:
        return PHRASES[f"level_{word}"].in_(language) if f"level_{word}" in PHRASES else word
    return say("one_value", language, low=plain(number), unit=say(f"{key}_unit", language))


def _told_apart(value: float, limit: float) -> tuple[str, str]:
    """Return both with two decimals, or with as many more as it takes for them to differ."""
    texts = [(f"{value:.{places}f}", f"{limit:.{places}f}") for places in (2, 3, 4)]
    return next(((one, other) for one, other in texts if one != other), texts[0])
