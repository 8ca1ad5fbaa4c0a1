"""What a bench reports."""

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any


class BadChoice(ValueError):
    """A choice that a bench does not offer; the message says which it does."""


@dataclass(frozen=True)
class Choices:
    """How a bench is to be run: small sizes for a look at the table, and for some benches only parts of it.

    `only` names parts (none: all), `seconds` the limits to measure at (none: the bench's own), `keep_best_minutes` the
    minutes to look for better plans in each part, in place of measuring. `told` hears what is being measured.
    """

    is_small: bool = False
    only: tuple[str, ...] = ()
    seconds: tuple[int, ...] = ()
    keep_best_minutes: float | None = None
    told: Callable[[str], None] = lambda says: None


@dataclass(frozen=True)
class BenchRow:
    """One measurement: `rate` counts `unit` per second (None: nothing is counted); `is_met` is None without a limit.

    `ratio` compares with what `limit` names: a second program, a size, or the limit itself.
    """

    what: str
    size: str
    seconds: float
    rate: float | None = None
    unit: str = ""
    ratio: float | None = None
    limit: str = ""
    is_met: bool | None = None


@dataclass(frozen=True)
class Grid:
    """A table that only tells: nothing in it is judged."""

    title: str
    columns: tuple[str, ...]
    lines: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Part:
    """What one part of a bench found."""

    rows: tuple[BenchRow, ...] = ()
    grids: tuple[Grid, ...] = ()


@dataclass(frozen=True)
class BenchReport:
    """The rows of one run, the conditions they were measured under, and tables that tell more."""

    name: str
    conditions: tuple[str, ...]
    rows: tuple[BenchRow, ...]
    grids: tuple[Grid, ...] = ()

    @property
    def missed(self) -> tuple[BenchRow, ...]:
        """Return the rows whose limit was missed."""
        return tuple(row for row in self.rows if row.is_met is False)

    def to_json(self) -> dict[str, Any]:
        """Return the report for `--json`."""
        return {
            "format": "bench/1",
            "name": self.name,
            "conditions": list(self.conditions),
            "rows": [asdict(row) for row in self.rows],
            "tables": [asdict(grid) for grid in self.grids],
            "is_met": not self.missed,
        }


HEADER = ("what", "size", "seconds", "per second", "ratio", "limit", "")
VERDICTS = {True: "met", False: "MISSED", None: ""}


def table(report: BenchReport) -> str:
    """Return the report as lines of a table for a person."""
    parts = ["\n".join(report.conditions)]
    parts += ["\n".join([grid.title, *_aligned([grid.columns, *grid.lines])]) for grid in report.grids]
    if report.rows:
        parts.append("\n".join(_aligned([HEADER, *(_cells(row) for row in report.rows)])))
    return "\n\n".join(parts)


def _aligned(cells: Sequence[tuple[str, ...]]) -> list[str]:
    widths = [max(len(line[column]) for line in cells) for column in range(len(cells[0]))]
    return ["  ".join(text.ljust(width) for text, width in zip(line, widths)).rstrip() for line in cells]


def _cells(row: BenchRow) -> tuple[str, ...]:
    return (
        row.what,
        row.size,
        f"{row.seconds:.3f}",
        "" if row.rate is None else f"{row.rate:,.0f} {row.unit}",
        "" if row.ratio is None else f"{row.ratio:,.2f}" if row.ratio < 100 else f"{row.ratio:,.0f}",
        row.limit,
        VERDICTS[row.is_met],
    )
