"""Lay out a change for tomorrow as a page of short lines in one language. Pure."""

from collections.abc import Iterable

from farmops.digests.change_facts import ChangeDay, ChangedStop, PlannedStop
from farmops.digests.page import LONGEST_LINE, Block, Line, Page, capital, ended
from farmops.digests.squash import one_line
from farmops.digests.wording import say
from scheduling.slips.words import clock_words, day_words


def lay_out_change(day: ChangeDay, language: str) -> Page:
    """Return the page of a hand's changed day."""
    boss = one_line(day.boss_name) or say("the_boss", language)
    notes = [
        say("for_hand", language, hand=one_line(day.hand_name), farm=one_line(day.farm_name)),
        say("morning_tells", language),
    ]
    if day.is_last:
        notes.append(say("last_word", language, boss=boss))
    phone = one_line(day.boss_phone)
    return Page(
        language=language,
        late=say("late_sheet", language) if day.is_late else "",
        headline=say("changed" if day.stops else "free_now", language),
        day=capital(day_words(day.day, language)),
        notes=tuple(notes),
        report_title="",
        report_at="",
        report_says="",
        blocks=tuple(_blocks(day, language)),
        checks_title="",
        checks=(),
        cautions_title="",
        cautions=(),
        foot=(Line(say("boss", language), ", ".join(part for part in (boss, phone) if part)),),
    )


def _blocks(day: ChangeDay, language: str) -> Iterable[Block]:
    if day.stops:
        yield Block(say("tomorrow", language), tuple(_stop(one, language) for one in day.stops))
    if day.gone:
        yield Block(say("not_tomorrow", language), tuple(_line(one, language) for one in day.gone))


def _stop(one: ChangedStop, language: str) -> Line:
    return _line(one.now, language, why=_why(one, language), warns=not one.is_same)


def _line(one: PlannedStop, language: str, *, why: str = "", warns: bool = False) -> Line:
    told = [one.title.in_(language), one.outfit.in_(language)]
    says = one_line(", ".join(part for part in told if part), longest=LONGEST_LINE)
    return Line(_hours(one, language), says, why, warns)


def _why(one: ChangedStop, language: str) -> str:
    if one.before is None:
        return say("is_new", language)
    told = []
    if one.before.hours != one.now.hours:
        told.append(say("was_at", language, hours=_hours(one.before, language)))
    if one.before.outfit != one.now.outfit:
        told.append(say("was_with", language, outfit=one_line(one.before.outfit.in_(language)) or "-"))
    return " ".join(ended(one) for one in told) or say("as_before", language)


def _hours(one: PlannedStop, language: str) -> str:
    start, end = (clock_words(at.time(), language) for at in one.hours)
    return say("from_to", language, start=start, end=end)
