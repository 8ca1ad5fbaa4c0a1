"""What a bench reports."""

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class BenchRow:
    """One measurement: `rate` counts `unit` per second; `is_met` is None where there is no limit to meet.

    `ratio` compares with what `limit` names: a second program, a size, or the limit itself.
    """

    what: str
    size: str
    seconds: float
    rate: float
    unit: str
    ratio: float | None = None
    limit: str = ""
    is_met: bool | None = None


@dataclass(frozen=True)
class BenchReport:
    """The rows of one run, and the conditions they were measured under."""

    name: str
    conditions: tuple[str, ...]
    rows: tuple[BenchRow, ...]

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
            "is_met": not self.missed,
        }


HEADER = ("what", "size", "seconds", "per second", "ratio", "limit", "")
VERDICTS = {True: "met", False: "MISSED", None: ""}


def table(report: BenchReport) -> str:
    """Return the report as lines of a table for a person."""
    cells = [HEADER, *(_cells(row) for row in report.rows)]
    widths = [max(len(line[column]) for line in cells) for column in range(len(HEADER))]
    lines = ["  ".join(text.ljust(width) for text, width in zip(line, widths)).rstrip() for line in cells]
    return "\n".join([*report.conditions, "", *lines])


def _cells(row: BenchRow) -> tuple[str, ...]:
    return (
        row.what,
        row.size,
        f"{row.seconds:.3f}",
        f"{row.rate:,.0f} {row.unit}",
        "" if row.ratio is None else f"{row.ratio:,.2f}" if row.ratio < 100 else f"{row.ratio:,.0f}",
        row.limit,
        VERDICTS[row.is_met],
    )
