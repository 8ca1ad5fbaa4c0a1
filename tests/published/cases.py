"""Reads the rows of printed values."""

import csv
import importlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

FOLDER = Path(__file__).parents[2] / "fixtures" / "published"
MARKS = {"READ", "READ-2", "MEM", "DER"}


@dataclass(frozen=True)
class Case:
    """One printed value."""

    file: str
    line: int
    function: str
    source: str
    place: str
    inputs: dict[str, Any]
    expected: str
    digits: str
    mark: str
    tolerance: str
    why: str

    @property
    def name(self) -> str:
        """Return a short name for the test report."""
        return f"{self.file}:{self.line} {self.function.rpartition('.')[2]}, {self.place}"

    @property
    def is_wording(self) -> bool:
        """Return whether the printed result is a word."""
        return self.digits == "" and self.tolerance == ""

    @property
    def allowed(self) -> float:
        """Return how far a computed number may stand from the printed one."""
        return float(self.tolerance) if self.tolerance else 0.5 * 10 ** -int(self.digits)

    def resolve(self) -> Callable[..., Any]:
        """Return the function that the row names."""
        module, _, name = self.function.rpartition(".")
        function: Callable[..., Any] = getattr(importlib.import_module(module), name)
        return function


def read_cases() -> list[Case]:
    """Return the rows of all files, in the order of their names."""
    return [case for path in sorted(FOLDER.glob("*.csv")) for case in _read(path)]


def read_series(name: str) -> list[dict[str, float]]:
    """Return the rows of a worked example that runs over days."""
    with (FOLDER / "series" / f"{name}.csv").open(encoding="utf-8", newline="") as handle:
        return [{key: float(value) for key, value in row.items()} for row in csv.DictReader(handle)]


def _read(path: Path) -> list[Case]:
    with path.open(encoding="utf-8", newline="") as handle:
        return [
            Case(
                file=path.name,
                line=number,
                function=row["function"],
                source=row["source"],
                place=row["place"],
                inputs={key: _argument(value) for key, value in json.loads(row["inputs_json"]).items()},
                expected=row["expected"],
                digits=row["digits"],
                mark=row["mark"],
                tolerance=row.get("tolerance") or "",
                why=row.get("why") or "",
            )
            for number, row in enumerate(csv.DictReader(handle), start=2)
        ]


def _argument(value: Any) -> Any:
    return np.asarray(value, dtype=np.float64) if isinstance(value, list) else value
