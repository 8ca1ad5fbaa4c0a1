"""Lay a hand's day out for the shop door: what must be read from two steps away, and every caution. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import segno

from farmops.digests.facts import SheetDay
from farmops.digests.page import Line, Page, lay_out
from farmops.digests.text import spoken
from farmops.digests.wording import say
from scheduling.slips.phrases import say as slip_say


@dataclass(frozen=True)
class DoorTask:
    """One task in large type."""

    title: str
    says: tuple[str, ...]
    warns: tuple[str, ...]


@dataclass(frozen=True)
class DoorPage:
    """A hand's day on one sheet of paper. `warns` is what holds of every task; `code` and `picture` are how to report from a phone, empty where none is."""

    language: str
    hand_name: str
    headline: str
    day: str
    notes: tuple[str, ...]
    warns: tuple[str, ...]
    tasks: tuple[DoorTask, ...]
    cautions_title: str
    cautions: tuple[str, ...]
    foot: tuple[str, ...]
    report_says: str
    type_says: str
    code: str
    address: str
    picture: str


def door_page(
    day: SheetDay, language: str, *, code: str = "", code_address: str = "", typed_at: str = ""
) -> DoorPage:
    """Return the page. `code_address` is what the picture holds, `typed_at` where the code can be typed."""
    page = lay_out(day, language)
    tasks = tuple(_tasks(page))
    of_all = _of_all(tasks)
    return DoorPage(
        language=language,
        hand_name=day.hand_name,
        headline=page.headline,
        day=page.day,
        notes=page.notes[1:],  # the first says whom it is for, which stands above in the largest type
        warns=of_all,
        tasks=tuple(
            replace(one, warns=tuple(says for says in one.warns if says not in of_all)) for one in tasks
        ),
        cautions_title=page.cautions_title,
        cautions=page.cautions,
        foot=tuple(spoken(line) for line in page.foot),
        report_says=say("door_scan", language) if code else "",
        type_says=say("door_type", language, address=typed_at) if code else "",
        code=spaced(code),
        address="" if code else day.report_at,
        picture=picture_of(code_address) if code_address else "",
    )


def spaced(code: str) -> str:
    """Return a code as it is printed: in capital letters, cut after the third sign."""
    return f"{code[:3]}-{code[3:]}".upper() if code else ""


def picture_of(address: str) -> str:
    """Return an address as a QR code (ISO/IEC 18004), dark on white whatever the page, that survives some dirt."""
    made = segno.make(address, error="m", micro=False)
    return str(
        made.svg_inline(border=4, light="#fff", dark="#000", omitsize=True, svgclass="qr", lineclass=None)
    )


def _tasks(page: Page) -> Iterable[DoorTask]:
    far = {slip_say(key, page.language) for key in ("when", "with", "entrance")}
    far |= {say(key, page.language) for key in ("when", "where")}
    for block in page.blocks:
        yield DoorTask(
            title=block.title,
            says=tuple(spoken(_bare(line)) for line in block.lines if line.label in far and not line.warns),
            warns=tuple(spoken(line) for line in block.lines if line.warns),
        )


def _of_all(tasks: Sequence[DoorTask]) -> tuple[str, ...]:
    """Return the warnings that each of several tasks has: they are said once."""
    if len(tasks) < 2:
        return ()
    return tuple(says for says in tasks[0].warns if all(says in one.warns for one in tasks))


def _bare(line: Line) -> Line:
    return Line(line.label, line.says)
