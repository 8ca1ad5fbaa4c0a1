"""What sums a week up: how many passes whose time has come fit, how many end late, and what is not due yet."""

import datetime as dt

from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext

from farmops.pages import words


def week_headline(*, fit: int, total: int, not_due: int, late: int, days: list[dt.date]) -> str:
    """Return the sentence of a week: `total` are the passes whose time has come, `fit` of them are in the plan, and `late`
    of those end after they are due. What is `not_due` yet is no failing and only changes the words.
    """
    first, last = words.weekday(days[0]), words.weekday(days[-1])
    if len(days) == 1:
        span = pgettext("when", "{day}").format(day=first)
    elif len(days) >= 7:
        span = _("this week")
    else:
        span = pgettext("when", "{first} to {last}").format(first=first, last=last)
    said = _due_now(fit, total, span) if not_due else _all(fit, total, span)
    return f"{said} {_late(late, fit)}".strip()


def not_due_headline(count: int, first_on: dt.date | None) -> str:
    """Return the sentence over the passes that are not due yet: how many, and when the first may start."""
    if first_on is None:
        told = ngettext("{count} pass is not due yet.", "{count} passes are not due yet.", count)
        return words.capital(told.format(count=words.count_word(count)))
    told = ngettext(
        "{count} pass is not due yet: it may start on {day}, {year}.",
        "{count} passes are not due yet: the first may start on {day}, {year}.",
        count,
    )
    said = told.format(count=words.count_word(count), day=words.long_date(first_on), year=first_on.year)
    return words.capital(said)


def _all(fit: int, total: int, span: str) -> str:
    if not total:
        return _("Nothing waits {span}.").format(span=span)
    passes = words.passes(total)
    if fit == total == 2:
        return _("Both passes fit {span}.").format(span=span)
    if fit == total and total > 1:
        return _("All {passes} fit {span}.").format(passes=passes, span=span)
    if fit == total:
        return _("The one waiting pass fits {span}.").format(span=span)
    if not fit:
        return _("None of {passes} fit {span}.").format(passes=passes, span=span)
    says = ngettext("{count} of {passes} fits {span}.", "{count} of {passes} fit {span}.", fit)
    return says.format(count=words.count_word(fit).capitalize(), passes=passes, span=span)


def _due_now(fit: int, total: int, span: str) -> str:
    if not total:
        return _("No pass is due {span}.").format(span=span)
    passes = words.passes(total)
    if fit == total == 2:
        return _("Both passes whose time has come fit {span}.").format(span=span)
    if fit == total and total > 1:
        return _("All {passes} whose time has come fit {span}.").format(passes=passes, span=span)
    if fit == total:
        return _("The one pass whose time has come fits {span}.").format(span=span)
    if not fit:
        return _("None of {passes} whose time has come fit {span}.").format(passes=passes, span=span)
    says = ngettext(
        "{count} of {passes} whose time has come fits {span}.",
        "{count} of {passes} whose time has come fit {span}.",
        fit,
    )
    return says.format(count=words.count_word(fit).capitalize(), passes=passes, span=span)


def _late(late: int, fit: int) -> str:
    if not late:
        return ""
    if late == fit == 1:
        return _("It ends late.")
    if late == fit == 2:
        return _("Both end late.")
    if late == fit:
        return _("All of them end late.")
    told = ngettext("{count} of them ends late.", "{count} of them end late.", late)
    return words.capital(told.format(count=words.count_word(late)))
