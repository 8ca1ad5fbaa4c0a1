"""Whether lines still point to what they were booked on, by the words that are hashed with them.

A machine that got another code is the same machine: that is told once, as a note. A line that points to another machine
than before is a fault. The words tell them apart: a code that was changed is nobody's any more, and all that was booked
under it points to one row.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from farmops.farms.models import Farm, Implement, Machine, Pump, Season
from ledger.models import Line
from ledger.selectors.drafts import outfit_of, subject_of

Row = tuple[str, int | None, int | None]
Told = Iterator[tuple[str, str]]


@dataclass
class _Word:
    """A name as it was booked: the rows that its lines point to, and where they have another name today."""

    rows: set[Row] = field(default_factory=set)
    others: list[tuple[int, int, str]] = field(default_factory=list)


class NamesMet:
    """Names of seasons, machines, implements and pumps as they were booked, and what stands there now."""

    def __init__(self) -> None:
        self._subjects: dict[str, _Word] = defaultdict(_Word)
        self._outfits: dict[str, _Word] = defaultdict(_Word)

    def meet(self, number: int, line: Line) -> None:
        """Take in a line. One that was read from a journal and points to nothing here keeps its name alone."""
        points = line.season_id or line.machine_id or line.implement_id or line.pump_id
        if line.is_imported and not points:
            return
        subject = subject_of(
            season=line.season, machine=line.machine, implement=line.implement, pump=line.pump
        )
        _meet(self._subjects[line.subject], _subject_row(line), number, line, line.subject, subject)
        if line.season_id is None or (line.is_imported and not (line.machine_id or line.implement_id)):
            return
        outfit = outfit_of(season=line.season, machine=line.machine, implement=line.implement)
        row: Row = ("outfit", line.machine_id, line.implement_id)
        _meet(self._outfits[line.outfit], row, number, line, line.outfit, outfit)

    def told(self, *, farm: Farm) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
        """Return what was renamed and what points elsewhere, each with its place."""
        renamed: list[tuple[str, str]] = []
        elsewhere: list[tuple[str, str]] = []
        if any(word.others for word in (*self._subjects.values(), *self._outfits.values())):
            subjects, codes = _names_now(farm)
            for name, word in self._subjects.items():
                is_free = name != "" and name not in subjects
                _tell(name, word, is_free, "was booked on {} and now points elsewhere", renamed, elsewhere)
            for name, word in self._outfits.items():
                is_free = name != "" and any(code not in codes for code in name.split("+"))
                _tell(name, word, is_free, "was work of {} and now names another", renamed, elsewhere)
        return list(dict.fromkeys(renamed)), elsewhere


def _meet(word: _Word, row: Row, number: int, line: Line, booked: str, now: str) -> None:
    word.rows.add(row)
    if booked != now:
        word.others.append((number, line.line_no, now))


def _tell(
    name: str,
    word: _Word,
    is_free: bool,
    says: str,
    renamed: list[tuple[str, str]],
    elsewhere: list[tuple[str, str]],
) -> None:
    if not word.others:
        return
    if is_free and len(word.rows) == 1:
        now = word.others[0][2]
        renamed.append(
            (name, f"is called {now} now; {len(word.others)} lines were booked by the name before")
        )
        return
    nothing = "the farm" if "booked on" in says else "no machine"
    elsewhere += [
        (f"entry {number}", f"line {line_no} {says.format(name or nothing)}")
        for number, line_no, _now in word.others
    ]


def _subject_row(line: Line) -> Row:
    if line.season_id is not None:
        return ("season", line.season_id, None)
    if line.machine_id is not None:
        return ("machine", line.machine_id, None)
    if line.implement_id is not None:
        return ("implement", line.implement_id, None)
    return ("pump", line.pump_id, None)


def _names_now(farm: Farm) -> tuple[set[str], set[str]]:
    """Return every subject that a line could be booked on today, and the codes of machines and implements."""
    seasons = Season.objects.filter(farm=farm).select_related("field")
    subjects = {subject_of(season=row, machine=None, implement=None, pump=None) for row in seasons}
    machines = set(Machine.objects.filter(farm=farm).values_list("code", flat=True))
    implements = set(Implement.objects.filter(farm=farm).values_list("code", flat=True))
    pumps = set(Pump.objects.filter(farm=farm).values_list("code", flat=True))
    return subjects | machines | implements | pumps, machines | implements
