"""The rows of machines and hands as HTML: a farm has hundreds, and a template takes many times as long to draw them."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import chain

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.pages.fleet_page import Person, Tool
from farmops.pages.many_links import addresses

Pieces = Iterator[str | None]
"""A row in pieces; None stands where the token of a form goes."""


@dataclass(frozen=True)
class Drawn:
    """Drawn rows, cut where the token of a form goes: behind each of the `parts`; `rest` is what follows the last."""

    parts: Sequence[SafeString]
    rest: SafeString


def drawn_tools(tools: Sequence[Tool]) -> Drawn:
    """Return machines and implements drawn in the language that is on."""
    works, says_down = pgettext("machine", "works"), _("<b>Down</b>, back about %(back)s")
    again, say = _("Back at another hour"), _("Say that %(name)s is down")
    buttons = _buttons(_("Works again: plan again"))

    def row(one: Tool) -> Pieces:
        name = escape(one.name)
        yield f'<tr><th scope="row"><a href="{one.page_at}">{name}</a>'  # not said
        for told in (one.what, one.noise):
            if told:
                yield f'<small class="sub">{escape(told)}</small>'  # not said
        yield "</th><td>\n"
        if one.down:
            yield from _form(one.works_at, says_down % {"back": escape(one.down)}, buttons)
        else:
            yield works
        yield from _details(one, again if one.down else say % {"name": name}, one.down_at)
        yield "</td></tr>\n"

    return _drawn(map(row, tools))


def drawn_people(people: Sequence[Person], *, farm_code: str) -> Drawn:
    """Return hands drawn in the language that is on."""
    is_there, away, say = pgettext("hand", "there"), _("Away"), _("Say that %(name)s is away")
    buttons, back_at = _buttons(_("Is there after all: plan again")), addresses("pages:back", farm_code)

    def row(one: Person) -> Pieces:
        name = escape(one.name)
        yield f'<tr><th scope="row"><a href="{one.page_at}">{name}</a></th><td>\n'  # not said
        for pk, said in one.away:
            yield from _form(back_at(pk), f"<b>{away}</b> {escape(said)}", buttons)
        if not one.away:
            yield is_there
        yield from _details(one, say % {"name": name}, one.away_at)
        yield "</td></tr>"

    return _drawn(map(row, people))


def _drawn(rows: Iterable[Pieces]) -> Drawn:
    parts: list[SafeString] = []
    begun: list[str] = []
    for piece in chain.from_iterable(rows):
        if piece is None:
            parts.append(mark_safe("".join(begun)))
            begun = []
        else:
            begun.append(piece)
    return Drawn(parts, mark_safe("".join(begun)))


def _buttons(plan: str) -> str:
    keep = _("only keep it")
    return (
        f'<button name="then" value="plan" class="plain">{plan}</button> '  # not said
        f'<button name="then" value="keep" class="plain">{keep}</button>'
    )


def _form(at: str, said: str, buttons: str) -> Pieces:
    yield f'<form method="post" action="{at}" class="line"><span>{said}</span>'  # not said
    yield None
    yield f"{buttons}</form>"


def _details(one: Tool | Person, summary: str, at: str) -> Pieces:
    """Yield the form in which something is said, with its boxes as they were written."""
    yield f"\n<details{' open' if one.wrong else ''}><summary>{summary}</summary>\n"  # not said
    yield f'<form method="post" action="{at}" class="card">'  # not said
    yield None
    yield f"\n{one.boxes}</form></details>"
