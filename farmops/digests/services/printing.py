"""Print a page that is laid out: subject, text and HTML."""

import hashlib
from dataclasses import dataclass
from functools import lru_cache

from farmops.digests.facts import SheetDay
from farmops.digests.markup import STOP_SLOT, as_html, stop_html
from farmops.digests.page import Page, lay_out, subject_of
from farmops.digests.text import as_text
from farmops.digests.wording import say


@dataclass(frozen=True)
class Sheet:
    """A sheet in one language: a subject, a text that is complete by itself, and the same as HTML."""

    subject: str
    text: str
    html: str
    language: str


def print_sheet(day: SheetDay, language: str) -> Sheet:
    """Return the sheet of facts that are already read."""
    return print_page(lay_out(day, language))


def print_page(page: Page) -> Sheet:
    """Return a page that is laid out as subject, text and HTML."""
    return Sheet(
        subject=subject_of(page),
        text=as_text(page),
        html=as_html(page),
        language=page.language,
    )


def with_stop(sheet: Sheet, address: str) -> Sheet:
    """Return a sheet that says at its foot how such mail is stopped: by an address, else whom to ask.

    It is no part of the page: paper has none of it, and what a mail tells stays the same whatever the address.
    """
    language = sheet.language
    title, says = say("stop_title", language), say("stop_ask", language)
    text = f"{title}:\n{address}" if address else says
    before, slot, after = sheet.html.rpartition(STOP_SLOT)
    html = f"{before}{stop_html(title=title, says=says, address=address)}{after}" if slot else sheet.html
    return Sheet(sheet.subject, f"{sheet.text}\n{text}\n", html, language)


def told_by(page: Page) -> str:
    """Return a hash of what a page tells, the same whether it comes late and whatever the link in it."""
    told = page._replace(late="", report_at="", report_title="", report_says="")
    parts = ", ".join(f"{name}={_shown(name, value)}" for name, value in zip(told._fields, told))
    return hashlib.sha256(f"Page({parts})".encode()).hexdigest()


def _shown(name: str, value: object) -> str:
    return _of_many(value) if name in ("checks", "cautions") else repr(value)


@lru_cache(maxsize=512)
def _of_many(texts: object) -> str:
    """Return how texts are shown that are the same in many mails."""
    return repr(texts)
