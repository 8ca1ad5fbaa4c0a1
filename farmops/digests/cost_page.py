"""Lay out the weekly cost note as a page of short lines in one language. Pure."""

from collections.abc import Iterable

from farmops.digests.cost_facts import CostLine, CostWeek
from farmops.digests.page import LONGEST_LINE, Block, Line, Page, capital
from farmops.digests.squash import one_line
from farmops.digests.wording import say
from scheduling.slips.words import day_words


def lay_out_costs(week: CostWeek, language: str) -> Page:
    """Return the page of a week's costs."""
    first, last = day_words(week.first, language), day_words(week.last, language)
    return Page(
        language=language,
        late=say("late_sheet", language) if week.is_late else "",
        headline=say("booked", language, amount=usd(week.cents)),
        day=capital(say("week_span", language, first=first, last=last)),
        notes=(say("for_manager", language, name=one_line(week.reader_name), farm=one_line(week.farm_name)),),
        report_title=say("see_farm", language) if week.farm_at else "",
        report_at=week.farm_at,
        report_says=say("see_farm_says", language) if week.farm_at else "",
        blocks=tuple(_blocks(week, language)),
        checks_title="",
        checks=(),
        cautions_title="",
        cautions=(),
        foot=(),
    )


def usd(cents: int) -> str:
    """Return dollars with cents as both languages write them here: $1,234.50, a minus before the sign."""
    dollars, rest = divmod(abs(cents), 100)
    return f"{'-' if cents < 0 else ''}${dollars:,}.{rest:02d}"


def _blocks(week: CostWeek, language: str) -> Iterable[Block]:
    total = CostLine(say("total", language), week.cents, week.before_cents)
    for key, lines in (("by_category", week.by_category), ("by_place", week.by_place)):
        if lines:
            yield Block(say(key, language), tuple(_line(one, language) for one in (*lines, total)))
    if not week.by_category:
        yield Block(say("by_category", language), (Line("", say("nothing_booked", language)),))
    if week.late_count:
        key = "came_late_one" if week.late_count == 1 else "came_late_more"
        told = say(key, language, count=week.late_count, amount=usd(week.late_cents))
        yield Block(say("came_late", language), (Line("", f"{told}."),))
    yield Block(say("postings", language), tuple(_waits(week, language)))
    yield Block(say("unpaid", language), (_unpaid(week, language),))


def _line(one: CostLine, language: str) -> Line:
    before = say("week_before", language, amount=usd(one.before_cents)) if one.before_cents else ""
    return Line(one_line(one.label), usd(one.cents), before)


def _waits(week: CostWeek, language: str) -> Iterable[Line]:
    if not week.waits_count:
        yield Line("", say("no_postings", language))
    for says in week.waits:
        yield Line("", one_line(says, longest=LONGEST_LINE), warns=True)
    if week.waits_count > len(week.waits):
        yield Line("", say("and_more", language, count=week.waits_count - len(week.waits)))


def _unpaid(week: CostWeek, language: str) -> Line:
    if not week.unpaid_count:
        return Line("", say("no_unpaid", language))
    key = "unpaid_one" if week.unpaid_count == 1 else "unpaid_more"
    told = say(key, language, count=week.unpaid_count, amount=usd(week.unpaid_cents))
    if week.oldest_on is None:
        return Line("", f"{told}.")
    oldest = say(
        "unpaid_oldest", language, payee=one_line(week.oldest_payee), day=day_words(week.oldest_on, language)
    )
    return Line("", f"{told}.", oldest)
