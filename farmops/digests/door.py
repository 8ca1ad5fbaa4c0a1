"""Lay a hand's day out for the shop door: what must be read from two steps away, and every caution. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import segno

from farmops.digests.facts import SheetDay
from farmops.digests.page import Line, Page, lay_out
from farmops.digests.squash import one_line
from farmops.digests.text import spoken
from farmops.digests.wording import say, say_count
from scheduling.slips.phrases import say as slip_say
from scheduling.slips.words import day_words

SHEET_PT, NAME_PT, CODE_PT, CAUTION_PT = 748.0, 38.0, 103.0, 11.5
LINE_PT, TIGHT_PT, TASK_PT = 21.0, 19.0, 4.0
LINE_SIGNS, CAUTION_SIGNS, FARM_SIGNS = 64, 60, 16
"""Letter paper between its margins, its parts, and how many signs a line of large type and one of cautions hold: measured
in print (`door.css`) and rounded to the safe side."""
MOST_SPREAD = 3
"""Tasks that have a line for each thing; of more, the lines run on."""


@dataclass(frozen=True)
class DoorTask:
    """One task in large type."""

    title: str
    says: tuple[str, ...]
    warns: tuple[str, ...]


@dataclass(frozen=True)
class DoorPage:
    """A hand's day on one sheet of paper. `tasks` are those of `every` task that fit, `more` says how
    many did not; `warns` is what holds of each; `code` and `picture` are how to report from a phone, empty where none is."""

    language: str
    hand_name: str
    headline: str
    day: str
    notes: tuple[str, ...]
    warns: tuple[str, ...]
    every: tuple[DoorTask, ...]
    tasks: tuple[DoorTask, ...]
    more: str
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
    whole = DoorPage(
        language=language,
        hand_name=day.hand_name,
        headline=page.headline,
        day=day_words(day.day, language),  # within a line
        notes=page.notes[1:],  # the first says whom it is for, which stands above in the largest type
        warns=of_all,
        tasks=tuple(
            replace(one, warns=tuple(says for says in one.warns if says not in of_all)) for one in tasks
        ),
        every=tasks,
        more="",
        cautions_title=page.cautions_title,
        cautions=page.cautions,
        foot=tuple(spoken(line) for line in page.foot),
        report_says=say("door_scan", language) if code else "",
        type_says=say("door_type", language, address=typed_at) if code else "",
        code=spaced(code),
        address="" if code else day.report_at,
        picture=picture_of(code_address) if code_address else "",
    )
    return _on_one_sheet(whole, boss=one_line(day.boss_name) or say("the_boss", language))


def _on_one_sheet(page: DoorPage, *, boss: str) -> DoorPage:
    """Return the page with as many tasks as fit on a sheet of letter paper in large type, and how many more there are."""
    fits = page
    for count in range(len(page.tasks), 0, -1):
        left = len(page.tasks) - count
        key = "more_on_page" if page.code or page.address else "more_to_ask"
        more = say_count(key, page.language, left, boss=boss) if left else ""
        fits = replace(page, tasks=page.tasks[:count], more=more)
        if height_pt(fits) <= SHEET_PT:
            break
    return fits


def height_pt(page: DoorPage) -> float:
    """Return about how high a page prints, in points, by the sizes of `door.css`; lines are counted by their signs."""
    many = len(page.tasks) > MOST_SPREAD
    lines = [page.headline, f"{page.day}. {' '.join(page.notes)}{' ' * FARM_SIGNS}", *page.warns, page.more]
    lines += [" · ".join(page.foot), "" if page.code else page.address]
    height = NAME_PT + (CODE_PT if page.code else 0.0) + LINE_PT * sum(_line_count(one) for one in lines)
    for task in page.tasks:
        parts = (*task.says, *task.warns)
        says = [" · ".join(parts)] if many else parts
        count = sum(_line_count(one) for one in (task.title, *says))
        height += (TIGHT_PT if many else LINE_PT) * count + TASK_PT
    of_cautions = sum(-(-len(one) // CAUTION_SIGNS) for one in page.cautions)
    return height + CAUTION_PT * (-(-of_cautions // 2) + 2)


def _line_count(text: str) -> int:
    return -(-len(text) // LINE_SIGNS)


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
    far = {slip_say(key, page.language) for key in ("when", "with", "entrance", "fetch")}
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
