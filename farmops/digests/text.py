"""Print a page as plain text, complete by itself. Pure."""

import textwrap
from collections.abc import Iterable
from functools import lru_cache

from farmops.digests.page import Block, Line, Page

TEXT_WIDTH = 72


def as_text(page: Page) -> str:
    """Return the page as plain text of at most 72 columns; only the address to report at stays in one piece."""
    parts = [_wrapped(page.late)] if page.late else []
    parts += [_wrapped(f"{page.headline}."), _wrapped(f"{page.day}.")]
    parts += [_wrapped(note) for note in page.notes]
    if page.report_at:
        parts += ["", f"{page.report_title}:", page.report_at, _wrapped(page.report_says)]
    for block in page.blocks:
        parts += ["", *_block(block)]
    if page.checks:
        parts.append(_listed(page.checks_title, page.checks, "[ ] "))
    if page.cautions:
        parts.append(_listed(page.cautions_title, page.cautions, "! "))
    if page.foot:
        parts += ["", *(_wrapped(spoken(line), indent="  ") for line in page.foot)]
    return "\n".join(parts) + "\n"


def spoken(line: Line) -> str:
    """Return a line as it is read: what it is about, what it says, and why."""
    told = f"{line.label}: {line.says}" if line.label else line.says
    return f"{told}{line.stop} {line.why}" if line.why else told


def _block(block: Block) -> Iterable[str]:
    yield _wrapped(block.title.upper())
    for line in block.lines:
        yield _wrapped(spoken(line), indent="  ")
    if block.settings:
        yield f"{block.settings_title}:"
        for line in block.settings:
            yield _wrapped(f"- {spoken(line)}", indent="  ")
    for line in block.ends:
        yield _wrapped(spoken(line), indent="  ")


@lru_cache(maxsize=512)
def _listed(title: str, items: tuple[str, ...], mark: str) -> str:
    """Return a list under its title, as many sheets share it."""
    return "\n".join(("", title.upper(), *(_wrapped(mark + item, indent=" " * len(mark)) for item in items)))


@lru_cache(maxsize=8192)
def _wrapped(text: str, *, indent: str = "") -> str:
    """Return a paragraph in lines; sheets share most of theirs, such as cautions."""
    if len(text) <= TEXT_WIDTH and text.isprintable() and text == text.strip():
        return text  # one line as it is
    return textwrap.fill(
        text, width=TEXT_WIDTH, subsequent_indent=indent, break_on_hyphens=False, break_long_words=True
    )
