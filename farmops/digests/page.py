"""Lay a day out as a page of short lines in one language; text and HTML are both printed from that page. Pure."""

import datetime as dt
from collections.abc import Iterable
from typing import NamedTuple

from farmops.digests.facts import SheetDay, SheetService
from farmops.digests.squash import one_line
from farmops.digests.wording import say
from scheduling.slips.cautions import cautions_of, cautions_of_service, right_to_stop
from scheduling.slips.checks import checks_of
from scheduling.slips.saying import SaidLine, about_min
from scheduling.slips.shape import FieldShape
from scheduling.slips.slip import JobSlip
from scheduling.slips.warmth import temp_words
from scheduling.slips.words import clock_words, day_words, span_words, work_words

LONGEST_LINE = 400
"""Signs of one line of a slip: several names that somebody typed may stand in it."""


class Line(NamedTuple):
    """A label, what it says and why; `warns` marks what must not be overlooked."""

    label: str
    says: str
    why: str = ""
    warns: bool = False

    @property
    def stop(self) -> str:
        """Return the full stop between what it says and why, where it has none of its own."""
        return "." if self.why and not self.says.endswith((".", "!", "?")) else ""


class Block(NamedTuple):
    """One task: its title, the field's shape, its lines, what to set to start with, and whom to call from there."""

    title: str
    lines: tuple[Line, ...]
    shape: FieldShape | None = None
    settings_title: str = ""
    settings: tuple[Line, ...] = ()
    ends: tuple[Line, ...] = ()


class Page(NamedTuple):
    """A sheet in one language, before it is printed."""

    language: str
    late: str
    headline: str
    day: str
    notes: tuple[str, ...]
    report_title: str
    report_at: str
    report_says: str
    blocks: tuple[Block, ...]
    checks_title: str
    checks: tuple[str, ...]
    cautions_title: str
    cautions: tuple[str, ...]
    foot: tuple[Line, ...]


def lay_out(day: SheetDay, language: str) -> Page:
    """Return the page of a hand's day."""
    boss = one_line(day.boss_name) or say("the_boss", language)
    slips = sorted(day.slips, key=lambda one: (one.hours.starts_at, one.field.name, one.operation))
    services = sorted(day.services, key=lambda one: (one.starts_at, one.tool_name, one.what))
    cautions = [one_line(one, longest=LONGEST_LINE) for one in _cautions(day, slips, services, language)]
    if slips or services:
        cautions.append(right_to_stop(boss=boss, language=language))
    return Page(
        language=language,
        late=say("late_sheet", language) if day.is_late else "",
        headline=_headline(slips, services, language),
        day=capital(day_words(day.day, language)),
        notes=tuple(_notes(day, slips, services, boss, language)),
        report_title=say("report_here", language) if day.report_at else "",
        report_at=day.report_at,
        report_says=say("link_is_yours" if day.is_own_link else "sign_in", language) if day.report_at else "",
        blocks=tuple(
            _service_block(number, one, language)
            if isinstance(one, SheetService)
            else _block(number, one, language, is_metric=day.is_metric)
            for number, one in enumerate(_in_order(slips, services), 1)
        ),
        checks_title=say("checks", language),
        checks=tuple(_checks(slips, language)),
        cautions_title=say("cautions", language),
        cautions=tuple(cautions),
        foot=tuple(_foot(day, services, boss, language)),
    )


def subject_of(page: Page) -> str:
    """Return the subject line: the answer first, then the day, in small letters where the language has it so."""
    day = page.day if page.language != "es" else page.day[:1].lower() + page.day[1:]
    return one_line(f"{page.headline} ({day})")


def capital(text: str) -> str:
    """Return text as it begins a line: Spanish writes its days and months small."""
    return text[:1].upper() + text[1:]


def ended(sentence: str) -> str:
    """Return a sentence with its full stop; one that ends with a short form, as p.m. is, has it already."""
    return sentence if sentence.endswith(".") else f"{sentence}."


def _cautions(
    day: SheetDay, slips: list[JobSlip], services: list[SheetService], language: str
) -> Iterable[str]:
    """Return the cautions of the passes and of the services, each once."""
    found = cautions_of(slips, language, is_metric=day.is_metric)
    for of_pivot in sorted({one.is_of_pivot for one in services}):
        found += cautions_of_service(
            of_pivot=of_pivot, emergency=one_line(day.emergency_number), language=language
        )
    return dict.fromkeys(found)


def _headline(slips: list[JobSlip], services: list[SheetService], language: str) -> str:
    if services and (not slips or services[0].starts_at <= slips[0].hours.starts_at):
        tool, what = one_line(services[0].tool_name), one_line(services[0].what)
        return say("first_service", language, tool=tool, what=what)
    if not slips:
        return say("nothing", language)
    first = slips[0]
    return say(
        "first", language, field=one_line(first.field.name), work=work_words(first.operation, language)
    )


def _notes(
    day: SheetDay, slips: list[JobSlip], services: list[SheetService], boss: str, language: str
) -> Iterable[str]:
    yield say("for_hand", language, hand=one_line(day.hand_name), farm=one_line(day.farm_name))
    if day.has_changed:
        yield say("changed_since", language)
    hours = [(one.hours.starts_at, one.hours.ends_at) for one in slips]
    hours += [(one.starts_at, one.ends_at) for one in services]
    if not hours:
        yield say("nothing_more", language, boss=boss)
        return
    count = say("one_task", language) if len(hours) == 1 else say("tasks", language, count=len(hours))
    start = clock_words(min(begins for begins, _ in hours).time(), language)
    end = clock_words(max(ends for _, ends in hours).time(), language)
    yield ended(f"{count}, {say('from_to', language, start=start, end=end)}")
    weather = []
    if day.temp_max_f is not None:
        weather.append(say("high", language, temp=temp_words(day.temp_max_f, is_metric=day.is_metric)))
    if day.rain_chance is not None:
        weather.append(say("rain_chance", language, tenths=round(day.rain_chance * 10)))
    if weather:
        yield f"{say('weather', language)}: {', '.join(weather)}."
    if day.known_on is not None:
        yield say("known_on", language, day=day_words(day.known_on, language))


def _in_order(slips: list[JobSlip], services: list[SheetService]) -> list[JobSlip | SheetService]:
    """Return passes and services by the clock; where both begin together, the service comes first."""
    rows: list[tuple[dt.datetime, int, JobSlip | SheetService]] = [
        *((one.starts_at, 0, one) for one in services),
        *((one.hours.starts_at, 1, one) for one in slips),
    ]
    return [one for _at, _kind, one in sorted(rows, key=lambda row: row[:2])]


def _block(number: int, slip: JobSlip, language: str, *, is_metric: bool) -> Block:
    settings = _lines(slip.settings_said(language))
    return Block(
        title=f"{number}. {one_line(slip.title(language))}",
        lines=_lines([*slip.lines(language, is_metric=is_metric), *slip.last_times_said(language)]),
        shape=slip.shape,
        settings_title=say("start_with", language) if settings else "",
        settings=settings,
        ends=_lines(slip.ends(language)),
    )


def _checks(slips: Iterable[JobSlip], language: str) -> Iterable[str]:
    """Return what to look at before going out, each thing once."""
    said = (one_line(one.says.in_(language), longest=LONGEST_LINE) for one in checks_of(slips))
    return dict.fromkeys(said)


def _lines(said: Iterable[SaidLine]) -> tuple[Line, ...]:
    return tuple(
        [
            Line(one.label, one_line(one.says, longest=LONGEST_LINE), one_line(one.why), one.warns)
            for one in said
        ]
    )


def _service_block(number: int, one: SheetService, language: str) -> Block:
    start, end = (clock_words(at.time(), language) for at in (one.starts_at, one.ends_at))
    when = say("from_to", language, start=start, end=end)
    about = say("about", language, hours=span_words(about_min(one.work_min)))
    place = say("at_yard" if one.is_at_yard else "where_it_stands", language)
    if one.field_name and not one.is_at_yard:
        key = "brought_to" if one.is_brought else "stands_on"
        place = say(key, language, field=one_line(one.field_name))
    return Block(
        title=f"{number}. {one_line(one.tool_name)}: {one_line(one.what)}",
        lines=(
            Line(say("when", language), f"{when}, {about}"),
            Line(say("where", language), place),
        ),
    )


def _foot(day: SheetDay, services: list[SheetService], boss: str, language: str) -> Iterable[Line]:
    """Yield the emergency number, the yard where something is done there, and whom to call; fields say where they are."""
    yield Line(say("emergency", language), one_line(day.emergency_number))
    if any(one.is_at_yard for one in services) and day.farm_address:
        yield Line(say("yard_is_at", language), one_line(day.farm_address))
    phone = one_line(day.boss_phone)
    yield Line(say("boss", language), ", ".join(part for part in (boss, phone) if part))
