"""What stands on the pages of long work, as plain data: what it is, how far it is, how it ended, and where to go then.

A kind of work has its words in `KINDS`; a new kind adds a row there.
"""

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from farmops.core.long_work import FILE_KEPT
from farmops.core.models import LongWork, LongWorkState
from farmops.desk.long_exports import EXPORT, JOURNAL, LEDGER, OFFICE_KINDS
from farmops.desk.long_orders import LAY_ORDER
from farmops.desk.long_start import BOUNDARIES
from farmops.desk.long_work import HELP, PLAN, clash_of
from farmops.farms.models import Farm, Role
from farmops.pages import words
from farmops.pages.no_plan_page import no_plan_facts
from scheduling.selectors.passes import field_names, keys_in_words
from scheduling.selectors.said_again import said_again

Link = tuple[str, str]
"""An address and its words."""
QUARTER = 25
TROUBLE = (LongWorkState.REFUSED, LongWorkState.STOPPED, LongWorkState.FAILED)


@dataclass(frozen=True)
class KindWords:
    """How a kind of work is said: what it is, what came of it, and where it is asked for again."""

    title: Callable[[LongWork], str]
    finished: Callable[[LongWork], str]
    goes_to: Callable[[LongWork], list[Link]]
    again: Callable[[LongWork], Link]


def visible_kinds(roles: Iterable[str]) -> list[str]:
    """Return the kinds of work that somebody with these roles sees."""
    sees_all = Role.MANAGER in set(roles)
    return [kind for kind in KINDS if sees_all or kind in OFFICE_KINDS]


def work_facts(*, farm: Farm, work: LongWork) -> dict[str, Any]:
    """Return what the page of one work says."""
    kind = KINDS[work.kind]
    facts = now_facts(work=work)
    links: list[Link] = []
    if work.state == LongWorkState.FINISHED:
        links = kind.goes_to(work)
    elif work.is_over:
        links = [kind.again(work)]
    return {
        "work": work,
        "title": kind.title(work),
        "headline": _headline(farm, work, kind),
        "links": links,
        "asked": _asked(farm, work),
        "ended": _ended(farm, work),
        "clash": reverse("pages:long_work_clash", args=[farm.code, work.pk]) if clash_of(work) else "",
        "is_trouble": work.state in TROUBLE,
        "can_call_off": not work.is_over and work.call_off_at is None,
        **facts,
    }


def now_facts(*, work: LongWork) -> dict[str, Any]:
    """Return how far a work is that has not ended: the part that is asked for again each second."""
    share = min(100, 100 * work.done // work.of) if work.of else None
    step = words.capital(words.named(work.words)) if work.words else ""
    if work.state == LongWorkState.WAITING:
        step = _("It waits for its turn.")
    elif work.call_off_at is not None:
        step = _("It is being called off, at its next step.")
    elif step:
        step = words.ended(step)
    else:
        step = _("It has begun.")
    spoken = (
        step
        if share is None
        else _("{step} {percent} percent done.").format(step=step, percent=share // QUARTER * QUARTER)
    )
    return {"share": share, "step": step, "spoken": spoken}


def list_facts(*, farm: Farm, works: list[LongWork]) -> dict[str, Any]:
    """Return what the page of all long work says."""
    open_ones = [one for one in works if not one.is_over]
    count = len(open_ones)
    headline = (
        words.capital(
            ngettext("{count} long work is under way.", "{count} long works are under way.", count).format(
                count=words.count_word(count)
            )
        )
        if count
        else _("No long work is under way.")
    )
    return {"headline": headline, "rows": [_row(farm, one) for one in works]}


def state_said(state: str) -> str:
    """Return the state of a work in a word or two."""
    return {
        LongWorkState.WAITING: pgettext("a long work", "waiting"),
        LongWorkState.UNDER_WAY: pgettext("a long work", "under way"),
        LongWorkState.FINISHED: pgettext("a long work", "finished"),
        LongWorkState.REFUSED: pgettext("a long work", "refused"),
        LongWorkState.CALLED_OFF: pgettext("a long work", "called off"),
        LongWorkState.STOPPED: pgettext("a long work", "stopped unexpectedly"),
        LongWorkState.FAILED: pgettext("a long work", "failed"),
    }[LongWorkState(state)]


def _row(farm: Farm, work: LongWork) -> dict[str, Any]:
    share = min(100, 100 * work.done // work.of) if work.of and not work.is_over else None
    return {
        "title": KINDS[work.kind].title(work),
        "address": reverse("pages:one_long_work", args=[farm.code, work.pk]),
        "state": state_said(work.state),
        "is_trouble": work.state in TROUBLE,
        "share": share,
        "asked": _moment(farm, work.asked_at),
        "who": _who(work.asked_by),
        "took": _took(work) if work.is_over else "",
    }


def _headline(farm: Farm, work: LongWork, kind: KindWords) -> str:
    title = kind.title(work)
    if work.state == LongWorkState.FINISHED:
        return kind.finished(work)
    if work.state == LongWorkState.REFUSED:
        clash = clash_of(work)
        if clash is not None:
            return str(no_plan_facts(farm=farm, error=clash)["headline"])
        why = words.dates_said(work.says)
        why = keys_in_words(why, names=field_names(farm=farm), language=words.speaking())
        return said_again(why)
    if work.state == LongWorkState.CALLED_OFF:
        return _("{title}: called off, and nothing of it is kept.").format(title=title)
    if work.state == LongWorkState.STOPPED:
        return _("{title}: it stopped unexpectedly, and nothing of it is kept. Press again.").format(
            title=title
        )
    if work.state == LongWorkState.FAILED:
        return _(
            "{title}: an error of the program ended it, and nothing of it is kept. Press again; if it ends so again, "
            "whoever looks after the service finds the error in its log."
        ).format(title=title)
    return _("{title}: under way.").format(title=title)


def _asked(farm: Farm, work: LongWork) -> str:
    at, who = _moment(farm, work.asked_at), _who(work.asked_by)
    said = (
        _("Asked for by {who}, {at}.").format(who=who, at=at) if who else _("Asked for {at}.").format(at=at)
    )
    return words.one_stop(said)


def _ended(farm: Farm, work: LongWork) -> str:
    if work.ended_at is None:
        return ""
    if work.state == LongWorkState.CALLED_OFF and work.call_off_at is not None:
        at, who = _moment(farm, work.call_off_at), _who(work.call_off_by) or _("somebody")
        return words.one_stop(_("Called off by {who}, {at}.").format(who=who, at=at))
    if work.state == LongWorkState.FINISHED and work.call_off_at is not None:
        return _("It was finished before it could be called off.")
    at, long = _moment(farm, work.ended_at), _took(work)
    if not long:
        return words.one_stop(_("Ended {at}.").format(at=at))
    return _("Ended {at}, after {long}.").format(at=at, long=long)


def _took(work: LongWork) -> str:
    if work.ended_at is None or work.began_at is None:
        return ""
    seconds = max(1, round((work.ended_at - work.began_at).total_seconds()))
    if seconds < 120:
        return ngettext("{count} second", "{count} seconds", seconds).format(count=seconds)
    minutes = round(seconds / 60)
    return ngettext("{count} minute", "{count} minutes", minutes).format(count=minutes)


def _moment(farm: Farm, instant: dt.datetime) -> str:
    local = instant.astimezone(ZoneInfo(farm.zone))
    return _("{day}, {clock}").format(day=words.short_date(local.date()), clock=words.clock(local))


def _who(user: Any) -> str:
    return str(user.get_full_name() or user.username) if user is not None else ""


def _plan_title(work: LongWork) -> str:
    day = dt.date.fromisoformat(work.asked["first_on"])
    return _("Planning anew from {day}").format(day=words.long_date(day))


def _plan_finished(work: LongWork) -> str:
    return _("Plan {number} is made. Read it, then send it.").format(number=work.result["plan"])


def _plan_goes_to(work: LongWork) -> list[Link]:
    number = work.result["plan"]
    week = reverse("pages:week", args=[work.farm.code])
    return [(f"{week}?plan={number}", _("Read plan {number}").format(number=number))]


def _plan_again(work: LongWork) -> Link:
    week, first_on = reverse("pages:week", args=[work.farm.code]), work.asked["first_on"]
    return f"{week}?first_on={first_on}#plan-again", _("Plan again on the page of the week")


def _help_title(work: LongWork) -> str:
    return _("What would help in the days of plan {number}").format(number=work.asked["plan"])


def _help_finished(work: LongWork) -> str:
    return _("What would help in the days of plan {number} is worked out.").format(number=work.asked["plan"])


def _help_goes_to(work: LongWork) -> list[Link]:
    page = reverse("pages:help", args=[work.farm.code, work.asked["plan"]])
    return [(f"{page}?answers={work.pk}", _("Read the answers"))]


def _help_again(work: LongWork) -> Link:
    return reverse("pages:help", args=[work.farm.code, work.asked["plan"]]), _("Ask again")


def _export_title(work: LongWork) -> str:
    asked = work.asked
    if asked["what"] == JOURNAL:
        return _("The whole journal as a file")
    if asked["what"] == LEDGER:
        first, last = (dt.date.fromisoformat(asked[name]) for name in ("first", "last"))
        return _("General ledger {first} to {last} as a file").format(
            first=words.full_date(first), last=words.full_date(last)
        )
    return _("Every line of {year} as a file").format(year=asked["first"][:4])


def _export_finished(work: LongWork) -> str:
    count = int(work.result["rows"])
    said = ngettext(
        "{title} is written: {count} line, {size}.", "{title} is written: {count} lines, {size}.", count
    )
    if work.file_bytes is None:
        return _("{title} was written, and is no longer kept.").format(title=_export_title(work))
    return said.format(title=_export_title(work), count=f"{count:,}", size=size_said(work.file_bytes))


def _export_goes_to(work: LongWork) -> list[Link]:
    if work.file_bytes is None:
        return [_export_again(work)]
    file = reverse("pages:long_work_file", args=[work.farm.code, work.pk])
    kept = words.long_date((work.asked_at + FILE_KEPT).astimezone(ZoneInfo(work.farm.zone)).date())
    fetch = _("Fetch {name} (kept until {day})").format(name=work.file_name, day=kept)
    return [(file, fetch), (f"{file}?manifest=yes", _("its control totals"))]


def _export_again(work: LongWork) -> Link:
    return reverse("pages:exports", args=[work.farm.code]), _("Ask for it again")


def size_said(count: int) -> str:
    """Return a size in bytes as people say it: 812 kB, 3.4 MB."""
    return (
        f"{count / 1_000_000:,.1f} MB" if count >= 1_000_000 else f"{max(1, round(count / 1000)):,} kB"
    )  # not said


KINDS: dict[str, KindWords] = {
    PLAN: KindWords(_plan_title, _plan_finished, _plan_goes_to, _plan_again),
    HELP: KindWords(_help_title, _help_finished, _help_goes_to, _help_again),
    BOUNDARIES: KindWords(
        lambda work: _("Keeping the boundaries as fields"),
        lambda work: ngettext(
            "{count} field is kept.", "{count} fields are kept.", work.result["fields"]
        ).format(count=work.result["fields"]),
        lambda work: [
            (reverse("pages:start_fields", args=[work.farm.code]), _("On to crop and soil of each field"))
        ],
        lambda work: (reverse("pages:start_boundaries", args=[work.farm.code]), _("Back to the boundaries")),
    ),
    LAY_ORDER: KindWords(
        lambda work: _("Laying an order of work out on fields"),
        lambda work: ngettext(
            "The order of work is laid out on {count} field.",
            "The order of work is laid out on {count} fields.",
            work.result["fields"],
        ).format(count=work.result["fields"]),
        lambda work: [
            (
                reverse("pages:order_laid", args=[work.farm.code, work.result["laying"]]),
                _("See what was laid out"),
            )
        ],
        lambda work: (
            reverse("pages:lay_order", args=[work.farm.code, work.asked["order"]]),
            _("Back to the fields"),
        ),
    ),
    EXPORT: KindWords(_export_title, _export_finished, _export_goes_to, _export_again),
}
