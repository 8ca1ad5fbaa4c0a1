"""Print a page that is laid out: subject, text and HTML."""

import hashlib
from dataclasses import dataclass, replace

from django.template.loader import render_to_string

from farmops.digests.facts import SheetDay
from farmops.digests.page import Page, lay_out, subject_of
from farmops.digests.text import as_text


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
        html=render_to_string("digests/sheet.html", {"page": page}),
        language=page.language,
    )


def told_by(page: Page) -> str:
    """Return a hash of what a page tells, the same whether it comes late and whatever the link in it."""
    told = replace(page, late="", report_at="", report_title="", report_says="")
    return hashlib.sha256(repr(told).encode()).hexdigest()
