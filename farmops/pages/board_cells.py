"""What repeats on the board as HTML: cells in its table and in its list by day, and rows of the ground.

A week has hundreds of each, and a template takes ten times as long to draw them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from farmops.pages.board import FIELDS, HANDS, OUTFITS, Board, Cell


@dataclass(frozen=True)
class DrawnRow:
    """One row of the board, with its cells of each day drawn."""

    name: str
    parts: str
    days: list[tuple[str, SafeString]]


@dataclass(frozen=True)
class DrawnBoard:
    """What repeats on a board: its rows, its cells by day for a screen that is too narrow for the table, and the ground."""

    rows: list[DrawnRow]
    by_day: list[tuple[str, SafeString]]
    ground: SafeString


def drawn_board(board: Board, *, by: str, can_move: bool) -> DrawnBoard:
    """Return what repeats on a board drawn, its cells with links to move them where the plan can be changed."""
    pen = _Pen(by, can_move)
    return DrawnBoard(
        [
            DrawnRow(
                row.name, row.parts, [(day, _joined(map(pen.in_table, cells))) for day, cells in row.days]
            )
            for row in board.rows
        ],
        [(day, _joined(map(pen.in_list, cells))) for day, cells in board.by_day],
        _ground(board.ground),
    )


def _joined(drawn: Iterable[str]) -> SafeString:
    return mark_safe("".join(drawn))


class _Pen:
    """Draws cells in the language that is on; every text of a cell but its drawn strip is escaped here."""

    def __init__(self, by: str, can_move: bool) -> None:
        self.by, self.can_move = by, can_move
        self.what, self.hold_what = _("%(work)s on %(field)s"), _("hold or move %(work)s on %(field)s")
        self.move_what = _("move %(work)s on %(field)s")
        self.why_then = _('why then<span class="unseen">: %(work)s on %(field)s</span>')
        self.fixed, self.held, self.hold, self.move = (
            escape(said) for said in (_("fixed"), _("held"), _("hold"), _("move"))
        )
        self.next_best, self.otherwise = escape(_("Next best:")), escape(_("Or:"))

    def in_table(self, cell: Cell) -> str:
        """Return a cell of the table."""
        named = {"work": cell.work, "field": cell.field_name}
        place = ""
        if self.by != FIELDS:
            name = escape(cell.field_name)
            place = f'<a href="{cell.field_at}">{name}</a> · ' if cell.field_code else f"{name} · "
        who = ""
        if self.by != HANDS:
            who = (" · " if cell.acres and cell.hand else "") + escape(cell.hand)
        if self.by != OUTFITS:
            who += ("<br>" if cell.acres else "") + escape(cell.outfit)
        links = ""
        if cell.is_first and cell.pass_id:
            links = self._hold(cell, named) + (
                self._move(cell, named, " data-move") if self._moves(cell) else ""  # not said
            )
        return (
            f'<div class="cell{_classes(cell)}"{self._dragged(cell, named)}>\n'  # not said
            f"{place}{self._work(cell)}\n"
            f'<span class="fig">{escape(cell.hours)}</span>\n'
            f"<small>{escape(cell.acres)}{who}</small>{_late_and_road(cell)}\n"
            f"{cell.strip}{links}{self._why(cell, named)}</div>"
        )

    def in_list(self, cell: Cell) -> str:
        """Return a cell of the list of a day."""
        named = {"work": cell.work, "field": cell.field_name}
        who = " · ".join(escape(one) for one in (cell.outfit, cell.hand, cell.acres) if one)
        if not cell.outfit and who:
            who = f" · {who}"
        links = ""
        if cell.is_first and cell.pass_id:
            links = (self._move(cell, named) if self._moves(cell) else "") + self._hold(cell, named)
        return (
            f'<li class="cell{_classes(cell)}"><span class="fig">{escape(cell.hours)}</span>'  # not said
            f"{escape(cell.field_name)} · {self._work(cell)}<small>{who}</small>{_late_and_road(cell)}{links}"
            f"{self._why(cell, named)}</li>"
        )

    def _moves(self, cell: Cell) -> bool:
        return self.can_move and cell.can_move

    def _dragged(self, cell: Cell, named: Mapping[str, str]) -> str:
        if not (self._moves(cell) and cell.pass_id):
            return ""
        return (
            f' data-pass="{cell.pass_id}" data-at="{cell.begins}" data-outfit="{escape(cell.mode)}"'  # not said
            f' data-what="{escape(self.what % named)}"'
        )

    def _work(self, cell: Cell) -> str:
        part = f" · {escape(cell.part)}" if cell.part else ""
        return f"{escape(cell.work)}{part}" + (f" · {self.fixed}" if cell.is_fixed else "")

    def _hold(self, cell: Cell, named: Mapping[str, str]) -> str:
        label, word = escape(self.hold_what % named), self.held if cell.is_fixed else self.hold
        return f'<a class="hold" href="{cell.hold_at}" aria-label="{label}">{word}</a>'

    def _move(self, cell: Cell, named: Mapping[str, str], mark: str = "") -> str:
        label = escape(self.move_what % named)
        return f'<a class="hold"{mark} href="{cell.move_at}" aria-label="{label}">{self.move}</a>'  # not said

    def _why(self, cell: Cell, named: Mapping[str, str]) -> str:
        if cell.why is None:
            return ""
        then = self.why_then % {key: escape(name) for key, name in named.items()}
        others = "".join(
            f"<p>{self.otherwise if number else f'<b>{self.next_best}</b>'} {escape(says)}</p>"
            for number, says in enumerate(cell.why.next_best)
        )
        says = f"<p>{escape(cell.why.says)}</p>"
        return f'<details class="why"><summary>{then}</summary>{says}{others}</details>'  # not said


def _classes(cell: Cell) -> str:
    return (" fixed" if cell.is_fixed else "") + (" late" if cell.late else "")  # not said


def _late_and_road(cell: Cell) -> str:
    late = "".join(
        f'<small class="says-late">{escape(says)}</small>'  # not said
        for says in (cell.late, cell.lacks)
        if says
    )
    return late + (f'<small class="road">{escape(cell.road.says)}</small>' if cell.road else "")  # not said


def _ground(rows: Sequence[Mapping[str, Any]]) -> SafeString:
    """Return the rows of the table of the ground, as `ground_rows` gives them."""
    limit, temp = _("fit below %(limit)s"), _("%(temp)s °F ± 4")
    drawn = []
    for one in rows:
        below = f"<small>{limit % {'limit': escape(one['limit'])}}</small>" if one["limit"] else ""
        drawn.append(
            f"<tr><td>{escape(one['field'])}<small>{escape(one['zone'])}</small></td>"  # not said
            f'<td><span class="wet w{one["step"]}">{escape(one["topsoil"])}</span> {escape(one["word"])}{below}</td>'
            f'<td class="n fig">{temp % {"temp": escape(one["soil_temp_f"])}}</td></tr>'
        )
    return _joined(drawn)
