"""Lay out a manager's morning as a page of short lines in one language. Pure."""

from collections.abc import Iterable

from farmops.digests.farm_facts import CareAheadSaid, CrewHand, DayAhead, DigestDay, ShutField, TroubleSaid
from farmops.digests.page import LONGEST_LINE, Block, Line, Page, capital
from farmops.digests.squash import one_line
from farmops.digests.units import METRIC, depth_words
from farmops.digests.wording import say, say_count
from scheduling.slips.saying import short_of_time
from scheduling.slips.slip import JobSlip
from scheduling.slips.warmth import temp_words
from scheduling.slips.words import clock_words, day_words, moment_words, work_words


def lay_out_digest(day: DigestDay, language: str) -> Page:
    """Return the page of a manager's morning."""
    notes = [say("for_manager", language, name=one_line(day.manager_name), farm=one_line(day.farm_name))]
    if not day.has_plan:
        notes.append(say("no_plan", language))
    return Page(
        language=language,
        late=say("late_sheet", language) if day.is_late else "",
        headline=_headline(day, language),
        day=capital(day_words(day.day, language)),
        notes=tuple(notes),
        report_title=say("see_farm", language) if day.farm_at else "",
        report_at=day.farm_at,
        report_says=say("see_farm_says", language) if day.farm_at else "",
        blocks=tuple(_blocks(day, language)),
        checks_title="",
        checks=(),
        cautions_title="",
        cautions=(),
        foot=(),
    )


def trouble_lines(troubles: Iterable[TroubleSaid], undelivered_count: int, language: str) -> Iterable[Line]:
    """Yield what is wrong with the mail and what to do about it."""
    for one in troubles:
        key = f"trouble_{one.kind}"
        label = say_count(key, language, one.count) if one.kind == "skipped" else say(key, language)
        about = day_words(one.day, language) if one.day is not None else one_line(one.about)
        do = say(f"{key}_do", language)
        yield Line(label, about, do, warns=True) if about else Line("", f"{label}.", do, warns=True)
    if undelivered_count:
        yield Line("", f"{say_count('undelivered', language, undelivered_count)}.", warns=True)


def _headline(day: DigestDay, language: str) -> str:
    out = sum(one.is_out for one in day.crew)
    told = [say_count("count_out", language, out) if out else say("nobody_out", language)]
    if day.shut:
        told.append(say_count("count_shut", language, len(day.shut)))
    if day.care:
        told.append(say_count("count_care", language, len(day.care)))
    return ", ".join(told)


def _blocks(day: DigestDay, language: str) -> Iterable[Block]:
    troubles = tuple(trouble_lines(day.troubles, day.undelivered_count, language))
    if troubles:
        yield Block(say("mail_trouble", language), troubles)
    yield Block(say("who_goes", language), tuple(_crew(day, language)))
    yield Block(say("what_is_shut", language), tuple(_shut(day, language)))
    care = [_care(one, day, language) for one in day.care]
    yield Block(say("care_ahead", language), tuple(care) or (Line("", say("no_care", language)),))
    yield Block(say("parked", language), tuple(_parked(day, language)))
    yield Block(say("postings", language), tuple(_postings(day, language)))
    yield Block(say("weather_ahead", language), tuple(_weather(day, language)))


def _crew(day: DigestDay, language: str) -> Iterable[Line]:
    if day.out:
        out = "; ".join(said.in_(language) for said in day.out)
        yield Line(say("out_today", language), one_line(out, longest=LONGEST_LINE), warns=True)
    for one in day.crew:
        if one.is_out:
            yield Line(one_line(one.name), one_line("; ".join(_stops(one, language)), longest=LONGEST_LINE))
    idle = [one_line(one.name) for one in day.crew if not one.is_out]
    if idle:
        yield Line(say("no_work_for", language), one_line(", ".join(idle), longest=LONGEST_LINE))
    paper = [one_line(one.name) for one in day.crew if one.is_out and one.is_on_paper]
    if paper:
        names = one_line(", ".join(paper), longest=LONGEST_LINE)
        yield Line(say("on_paper", language), names, say("on_paper_why", language), warns=True)


def _stops(one: CrewHand, language: str) -> list[str]:
    stops = [(slip.hours.starts_at, _job(slip, language)) for slip in one.slips]
    stops += [(service.starts_at, f"{service.tool_name}: {service.what}") for service in one.services]
    return [f"{clock_words(at.time(), language)} {told}" for at, told in sorted(stops)]


def _job(slip: JobSlip, language: str) -> str:
    """Return a job in short, with who of it is away and what is down, and with a way that takes longer than the plan leaves."""
    lacks = "; ".join([*(said.in_(language) for said in slip.lacks), *short_of_time(slip.way, language)])
    told = f"{slip.field.name}: {work_words(slip.operation, language)}"
    return f"{told} ({lacks})" if lacks else told


def _shut(day: DigestDay, language: str) -> Iterable[Line]:
    if day.shut is None:
        yield Line("", say("ground_unknown", language), warns=True)
    elif not day.shut:
        yield Line("", say("nothing_shut", language))
    else:
        for one in day.shut:
            label = f"{one.field_name}: {work_words(one.operation, language)}"
            yield Line(one_line(label), one_line("; ".join(_parts(one, language)), longest=LONGEST_LINE))


def _parts(one: ShutField, language: str) -> Iterable[str]:
    for part in one.parts:
        if one.is_all_day:
            when = say("shut_all_day", language)
        else:
            start, end = (clock_words(at.time(), language) for at in (part.starts_at, part.ends_at))
            when = say("shut_from_to", language, start=start, end=end)
        yield f"{when}, {part.says.in_(language).partition(';')[0]}"


def _care(one: CareAheadSaid, day: DigestDay, language: str) -> Line:
    if one.expected_on is None:
        told = [say("care_now", language)]
    else:
        told = [say("care_about", language, day=day_words(one.expected_on, language))]
    if one.planned_at is not None:
        told.append(say("care_planned", language, moment=moment_words(one.planned_at, language)))
    label = one_line(f"{one.tool_name}: {one.what}")
    return Line(label, ", ".join(told), warns=one.expected_on is None and one.planned_at is None)


def _parked(day: DigestDay, language: str) -> Iterable[Line]:
    if not day.parked_count:
        yield Line("", say("no_parked", language))
    for one in day.parked:
        label = one_line(f"{one.hand_name}, {one.kind}, {day_words(one.came_on, language)}")
        yield Line(label, one_line(one.why, longest=LONGEST_LINE))
    yield from _more(day.parked_count - len(day.parked), language)


def _postings(day: DigestDay, language: str) -> Iterable[Line]:
    if not day.waiting_costs_count:
        yield Line("", say("no_postings", language))
    for says in day.waiting_costs:
        yield Line("", one_line(says, longest=LONGEST_LINE))
    yield from _more(day.waiting_costs_count - len(day.waiting_costs), language)


def _more(count: int, language: str) -> Iterable[Line]:
    if count > 0:
        yield Line("", say("and_more", language, count=count))


def _weather(day: DigestDay, language: str) -> Iterable[Line]:
    for one in day.weather:
        yield Line(
            capital(day_words(one.day, language)), ", ".join(day_ahead_words(one, day.units, language))
        )
    if not day.weather:
        yield Line("", say("no_weather", language))
    elif day.known_on is not None:
        yield Line("", say("weather_known", language, day=day_words(day.known_on, language)))


def day_ahead_words(one: DayAhead, units: str, language: str) -> Iterable[str]:
    """Yield what is known of a day's weather, each in a few words."""
    if one.low_f is not None and one.high_f is not None:
        low, high = (temp_words(temp_f, is_metric=units == METRIC) for temp_f in (one.low_f, one.high_f))
        yield say("day_temps", language, low=low.partition(" ")[0], high=high)
    if one.rain_chance is not None:
        yield say("day_rain", language, tenths=round(one.rain_chance * 10))
        amount = depth_words(one.rain_if_wet_in or 0.0, units, language)
        if round(one.rain_chance * 10) > 0 and amount != depth_words(0.0, units, language):
            yield say("day_rain_amount", language, amount=amount)
