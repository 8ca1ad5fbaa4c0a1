"""The cheapest plans ever found for the bench's farms, by any method; they are kept in `fixtures/bench/plan_best.csv`.

A row holds for one drawn farm as long as its problem stays the same to the letter: the first signs of its hash say so.
"""

import csv
import os
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from farmops.bench.children import ROOT

BEST = ROOT / "fixtures" / "bench" / "plan_best.csv"
COLUMNS = ("instance", "problem", "cost_cents", "method", "minutes")
HASH_SIGNS = 12


class BadBest(ValueError):
    """The file of the best plans cannot be used; the message names the line."""


@dataclass(frozen=True)
class Best:
    """The cheapest cost found for an instance, the method that found it and the minutes that it took."""

    instance: str
    problem: str
    cost_cents: int
    method: str
    minutes: float


def read_best(path: Path = BEST) -> dict[tuple[str, str], Best]:
    """Return the rows by instance and problem; nothing where there is no file. BadBest for a row that makes no sense."""
    if not path.exists():
        return {}
    found = {}
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        if tuple(next(reader, ())) != COLUMNS:
            raise BadBest(f"{path.name}, line 1: the columns must be {', '.join(COLUMNS)}.")
        for row in reader:
            try:
                instance, problem, cost, method, minutes = row
                best = Best(instance, problem, int(cost), method, float(minutes))
            except ValueError as error:
                raise BadBest(f"{path.name}, line {reader.line_num}: {error}.") from error
            found[best.instance, best.problem] = best
    return found


def keep_best(found: Sequence[Best], path: Path = BEST) -> list[Best]:
    """Write down what is cheaper than before, or new, or of a problem that has changed since; return that."""
    known = read_best(path)
    kept = []
    for best in found:
        before = known.get((best.instance, best.problem))
        if before is None or best.cost_cents < before.cost_cents:
            known = {key: row for key, row in known.items() if key[0] != best.instance}
            known[best.instance, best.problem] = best
            kept.append(best)
    if kept:
        beside = path.with_name(f".{path.name}.{os.getpid()}.part")
        path.parent.mkdir(exist_ok=True)
        with beside.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
            writer.writeheader()
            writer.writerows(asdict(row) for _, row in sorted(known.items()))
        beside.replace(path)
    return kept
