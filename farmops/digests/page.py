"""Lay a day out as a page of short lines in one language; text and HTML are both printed from that page. Pure."""

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

from farmops.digests.facts import SheetDay, SheetService, SheetTask
from farmops.digests.squash import one_line
from farmops.digests.wording import say
from farmops.farms.operations import TILLAGE
from scheduling.slips.cautions import MACHINE_WORK, ON_FOOT, cautions_for, checks_for
from scheduling.slips.words import clock_words, day_words, ground_words, span_words, work_words

TEXT_WIDTH = 72
SOIL_BAND_F = 4
"""What the soil's model is good for, about 2 °C either way (see `farmops.science.soil_temperature`)."""
FIT_FROM = 0.85
"""From this share of a disk's limit on, the words for the ground speak of the disk: other work says just moist."""


@dataclass(frozen=True)
class Line:
    """A label and what it says; `warns` marks what must not be overlooked."""

    label: str
    says: str
    warns: bool = False


@dataclass(frozen=True)
class Block:
    """One task: its title and its lines."""

    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Page:
    """A sheet in one language, before it is printed."""

    language: str
    late: str
    headline: str
    day: str
    notes: tuple[str, ...]
    blocks: tuple[Block, ...]
    checks_title: str
    checks: tuple[str, ...]
    cautions_title: str
    cautions: tuple[str, ...]
    foot: tuple[Line, ...]


def lay_out(day: SheetDay, language: str) -> Page:
    """Return the page of a hand's day."""
    boss = one_line(day.boss_name) or say("the_boss", language)
    tasks = sorted(day.tasks, key=lambda task: (task.starts_at, task.field_name, task.operation))
    services = sorted(day.services, key=lambda one: (one.starts_at, one.tool_name, one.what))
    cautions = cautions_for(day, language)
    if services:
        cautions.append(say("service_safe", language))
    if tasks or services:
        cautions.append(say("not_safe", language, boss=boss))
    return Page(
        language=language,
        late=say("late_sheet", language) if day.is_late else "",
        headline=_headline(tasks, services, language),
        day=day_words(day.day, language),
        notes=tuple(_notes(day, [*tasks, *services], boss, language)),
        blocks=(
            *(_block(number, task, language) for number, task in enumerate(tasks, 1)),
            *(_service_block(number, one, language) for number, one in enumerate(services, len(tasks) + 1)),
        ),
        checks_title=say("checks", language),
        checks=tuple(checks_for(tasks, language)),
        cautions_title=say("cautions", language),
        cautions=tuple(cautions),
        foot=tuple(_foot(day, tasks, boss, language)),
    )


def subject_of(page: Page) -> str:
    """Return the subject line: the answer first, then the day."""
    return one_line(f"{page.headline} ({page.day})")


def as_text(page: Page) -> str:
    """Return the page as plain text of at most 72 columns, complete by itself."""
    parts = [_wrapped(page.late)] if page.late else []
    parts += [_wrapped(f"{page.headline}."), _wrapped(f"{page.day}.")]
    parts += [_wrapped(note) for note in page.notes]
    for block in page.blocks:
        parts.append("")
        parts.append(_wrapped(block.title.upper()))
        parts += [_wrapped(_spoken(line), indent="  ") for line in block.lines]
    for title, items in ((page.checks_title, page.checks), (page.cautions_title, page.cautions)):
        if items:
            mark = "[ ] " if items is page.checks else "! "
            parts += ["", title.upper()]
            parts += [_wrapped(mark + item, indent=" " * len(mark)) for item in items]
    parts.append("")
    parts += [_wrapped(_spoken(line), indent="  ") for line in page.foot]
    return "\n".join(parts) + "\n"


def _spoken(line: Line) -> str:
    return f"{line.label}: {line.says}" if line.label else line.says


def _wrapped(text: str, *, indent: str = "") -> str:
    return textwrap.fill(
        text, width=TEXT_WIDTH, subsequent_indent=indent, break_on_hyphens=False, break_long_words=True
    )


def _ended(sentence: str) -> str:
    return sentence if sentence.endswith(".") else f"{sentence}."


def _headline(tasks: list[SheetTask], services: list[SheetService], language: str) -> str:
    if services and (not tasks or services[0].starts_at < tasks[0].starts_at):
        tool, what = one_line(services[0].tool_name), one_line(services[0].what)
        return say("first_service", language, tool=tool, what=what)
    if not tasks:
        return say("nothing", language)
    first = tasks[0]
    return say(
        "first", language, field=one_line(first.field_name), work=work_words(first.operation, language)
    )


def _notes(day: SheetDay, tasks: list[SheetTask | SheetService], boss: str, language: str) -> Iterable[str]:
    yield say("for_hand", language, hand=one_line(day.hand_name), farm=one_line(day.farm_name))
    if not tasks:
        yield say("nothing_more", language, boss=boss)
        return
    count = say("one_task", language) if len(tasks) == 1 else say("tasks", language, count=len(tasks))
    start = clock_words(min(task.starts_at for task in tasks).time(), language)
    end = clock_words(max(task.ends_at for task in tasks).time(), language)
    yield _ended(f"{count}, {say('from_to', language, start=start, end=end)}")
    weather = []
    if day.temp_max_f is not None:
        weather.append(say("high", language, temp=round(day.temp_max_f)))
    if day.rain_chance is not None:
        weather.append(say("rain_chance", language, tenths=round(day.rain_chance * 10)))
    if weather:
        yield f"{say('weather', language)}: {', '.join(weather)}."
    if day.known_on is not None:
        yield say("known_on", language, day=day_words(day.known_on, language))


def _block(number: int, task: SheetTask, language: str) -> Block:
    field = one_line(task.field_name)
    return Block(
        title=f"{number}. {field}: {work_words(task.operation, language)}",
        lines=tuple(_task_lines(task, language)),
    )


def _service_block(number: int, one: SheetService, language: str) -> Block:
    start, end = (clock_words(at.time(), language) for at in (one.starts_at, one.ends_at))
    when = f"{say('from_to', language, start=start, end=end)}, {say('about', language, hours=span_words(_about_min(one.work_min)))}"
    place = say("at_yard" if one.is_at_yard else "where_it_stands", language)
    return Block(
        title=f"{number}. {one_line(one.tool_name)}: {one_line(one.what)}",
        lines=(Line("", when), Line(say("where", language), place)),
    )


def _task_lines(task: SheetTask, language: str) -> Iterable[Line]:
    for word in task.boss_words:
        hour = clock_words(word.after_at, language) if word.after_at is not None else ""
        where = f"{one_line(word.zone)}: " if word.zone else ""
        told = f"{where}{say(word.word, language, hour=hour)}"
        yield Line(say("boss_says", language), told, warns=word.word != "fit")
    start, end = (clock_words(at.time(), language) for at in (task.starts_at, task.ends_at))
    when = [say("from_to", language, start=start, end=end)]
    when.append(say("about", language, hours=span_words(_about_min(task.work_min))))
    if task.area_ac > 0 and task.operation in MACHINE_WORK | ON_FOOT:
        when.append(say("acres", language, acres=f"{task.area_ac.normalize():f}"))
    if task.part_count > 1:
        when.append(say("day_part", language, number=task.part_no, count=task.part_count))
    if task.water_in is not None:
        when.append(say("with_water", language, depth=f"{task.water_in.normalize():f}"))
    if task.is_strip:
        when.append(say("strip", language))
    yield Line("", ", ".join(when))
    yield Line(say("where", language), _place(task))
    yield Line(say("with", language), _outfit(task, language))
    if task.ground is not None or task.operation in MACHINE_WORK:
        yield _ground_line(task, language)
    if task.ground is not None and task.ground.soil_temp_8am_f is not None:
        temp_f = f"{round(task.ground.soil_temp_8am_f)} °F"
        yield Line(say("soil_temp", language), say("give_or_take", language, temp=temp_f, band=SOIL_BAND_F))
    for shut in task.shut:
        span = say(
            "from_to",
            language,
            start=clock_words(shut.starts_at.time(), language),
            end=clock_words(shut.ends_at.time(), language),
        )
        yield Line(say("shut", language), f"{span}, {one_line(shut.says.in_(language))}", warns=True)
    if task.open_chance is not None:
        tenths = say(
            "chance_of_10", language, tenths=int(task.open_chance * 10 + 1e-9)
        )  # rounded down, as on the pages
        yield Line(say("chance", language), tenths)


def _about_min(work_min: int) -> int:
    """Return a length as one says it: to the quarter hour, or to five minutes below an hour."""
    step_min = 15 if work_min >= 60 else 5
    return max(step_min, round(work_min / step_min) * step_min)


def _place(task: SheetTask) -> str:
    parts = [one_line(part) for part in (task.entrance, task.road_address)]
    return ", ".join(part for part in parts if part) or one_line(task.field_name)


def _outfit(task: SheetTask, language: str) -> str:
    machine, implement = one_line(task.machine_name), one_line(task.implement_name)
    if machine and implement:
        return say("outfit", language, machine=machine, implement=implement)
    return machine or implement or say("on_foot", language)


def _ground_line(task: SheetTask, language: str) -> Line:
    label, ground = say("ground", language), task.ground
    if ground is None:
        return Line(label, say("ground_unknown", language), warns=True)
    share = ground.topsoil_m3_m3 / ground.workable_below_m3_m3
    if task.operation not in TILLAGE:  # a planter and a person on foot have other limits than a disk
        word = say("moist", language) if share >= FIT_FROM else ground_words(share, language)
        return Line(label, f"{word}, {ground.topsoil_m3_m3:.2f}")
    value, limit = _told_apart(ground.topsoil_m3_m3, ground.workable_below_m3_m3)
    word = ground_words(share, language)
    says = say("ground_value", language, word=word, value=value, limit=limit)
    return Line(label, says, warns=share >= 1)


def _told_apart(value: float, limit: float) -> tuple[str, str]:
    """Return both with two decimals, or with as many more as it takes for them to differ."""
    texts = [(f"{value:.{places}f}", f"{limit:.{places}f}") for places in (2, 3, 4)]
    return next(((one, other) for one, other in texts if one != other), texts[0])


def _foot(day: SheetDay, tasks: list[SheetTask], boss: str, language: str) -> Iterable[Line]:
    """Yield the emergency number, where to send help (each field once), and whom to call."""
    yield Line(say("emergency", language), one_line(day.emergency_number))
    seen = set()
    for task in tasks:
        if task.field_name not in seen:
            seen.add(task.field_name)
            address = one_line(task.road_address) or one_line(day.farm_address)
            place = ", ".join(part for part in (one_line(task.field_name), address) if part)
            yield Line(
                say("you_are_at", language), f"{place}. {task.latitude_deg:.5f}, {task.longitude_deg:.5f}"
            )
    phone = one_line(day.boss_phone)
    yield Line(say("boss", language), ", ".join(part for part in (boss, phone) if part))
