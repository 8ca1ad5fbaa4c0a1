"""The parts of the bench of plans that are about one size of farm: the search beside its peers."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from farmops.bench.children import MeasurementFailed, measured
from farmops.bench.plan_best import Best, keep_best, read_best
from farmops.bench.rows import BenchRow, Choices, Grid, Part

SIZES = (10, 30, 60, 120)
LIMITS_S = (5, 15, 60)
SMALL_FIELDS, SMALL_LIMITS_S = 4, (1,)
SEED, CORES = 1, 2
NEAR_AT_S = 15
NEAR = {30: 1.02, 60: 1.02, 120: 1.04}
"""By fields: how much dearer than the best plan ever found a plan may be after that time."""
MOST_MB = {120: 1_000.0}
FIRST_WITHIN_S = {60: 1.0, 120: 3.0}
LONG_SIZES = (60, 120)
"""Sizes at which PyJobShop is given the longest time only: with less it found nothing at 30 fields."""
GRACE_S = 180.0

MEASURES = "farmops.bench.plan_measures"


@dataclass(frozen=True)
class Tried:
    """One way to plan a farm: the cents after each limit, and what is told of the longest run."""

    way: str
    cents_at: dict[int, int | None]
    bound: int | None = None
    left: int | None = None
    peak_mb: float | None = None
    first_seconds: float | None = None
    took_seconds: float | None = None


def of_size(fields: int, choices: Choices) -> Part:
    """Plan one farm in every way at every limit."""
    is_small = choices.is_small
    size = SMALL_FIELDS if is_small else fields
    limits = tuple(sorted(choices.seconds)) or (SMALL_LIMITS_S if is_small else LIMITS_S)
    choices.told(f"{size} fields: the search")
    ours = _search(size, limits)
    peers = []
    for way, look in _PEERS.items():
        choices.told(f"{size} fields: {way}")
        peers.append(look(way, size, limits))
    known = measured(f"{MEASURES}.named", fields=size, seed=SEED)
    grid = _grid(
        f"{size} fields, {known['tasks']} passes, {known['days']} days: dollars", limits, [ours, *peers]
    )
    best, whose = _best(known, [ours, *peers])
    rows = [
        *(_beside(size, limit, ours, peers) for limit in limits),
        *_near(size, ours, best, whose),
        *_memory(size, ours),
        *_first(size, ours),
    ]
    return Part(tuple(_unjudged(row) if is_small else row for row in rows), (grid,))


def better(sizes: Iterable[int], minutes: float, choices: Choices) -> Part:
    """Look long for the cheapest plan of each size; keep what is cheaper than all before."""
    lines = []
    for fields in sizes:
        choices.told(f"{fields} fields: looking for {minutes:g} minutes")
        known = measured(f"{MEASURES}.named", fields=fields, seed=SEED)
        got = measured(
            "farmops.bench.plan_long.cheapest",
            cores=CORES, fields=fields, seed=SEED, minutes=minutes, workers=CORES,
        )  # fmt: skip
        found = Best(
            known["instance"], known["problem"], got["cost"], got["method"], round(got["minutes"], 1)
        )
        is_kept = bool(keep_best([found]))
        before = read_best()[found.instance, found.problem]
        lines.append(
            (
                found.instance,
                dollars(found.cost_cents),
                found.method,
                "kept" if is_kept else f"{dollars(before.cost_cents)} was found before",
            )
        )
    columns = ("farm", "dollars", "found by", "")
    return Part(grids=(Grid(f"The cheapest plans of {minutes:g} minutes", columns, tuple(lines)),))


def dollars(cents: int | None) -> str:
    """Return whole dollars for a table."""
    return "none" if cents is None else f"{(cents + 50) // 100:,}"


def _search(fields: int, limits: Sequence[int]) -> Tried:
    got = {
        limit: _ran(f"{MEASURES}.planned", limit, fields, seconds=limit, workers=CORES) for limit in limits
    }
    longest = got[limits[-1]]
    return Tried(
        "the search",
        {limit: run["cost"] for limit, run in got.items()},
        longest["bound"],
        longest["left"],
        max(run["peak_mb"] for run in got.values()),
        max(run["first_seconds"] for run in got.values()),
        longest["seconds"],
    )


def _ran(function: str, most: float, fields: int, **arguments: Any) -> dict[str, Any]:
    return measured(function, cores=CORES, most_seconds=most + GRACE_S, fields=fields, seed=SEED, **arguments)


def _greedy(way: str, fields: int, limits: Sequence[int]) -> Tried:
    got = _ran(f"{MEASURES}.greedy_alone", limits[-1], fields)
    at = {limit: got["cost"] if got["seconds"] <= limit else None for limit in limits}
    return Tried(way, at, got["bound"], got["left"], got["peak_mb"], got["seconds"], got["seconds"])


def _by_limits(function: str) -> Callable[[str, int, Sequence[int]], Tried]:
    """Return the measuring of a peer that tells in one run what it had at each limit."""

    def look(way: str, fields: int, limits: Sequence[int]) -> Tried:
        try:
            got = _ran(f"{MEASURES}.{function}", limits[-1], fields, at=list(limits), workers=CORES)
        except MeasurementFailed:
            return Tried(way, dict.fromkeys(limits))
        at = {limit: got["by"][str(limit)]["cost"] for limit in limits}
        return Tried(way, at, got["bound"], got["left"], got["peak_mb"], took_seconds=got["seconds"])

    return look


def _pyjobshop(way: str, fields: int, limits: Sequence[int]) -> Tried:
    at: dict[int, int | None] = dict.fromkeys(limits)
    left = peak_mb = took = None
    for limit in limits[-1:] if fields in LONG_SIZES else limits:
        try:
            got = _ran("farmops.bench.plan_pyjobshop.planned", limit, fields, seconds=limit, workers=CORES)
        except MeasurementFailed:
            continue
        at[limit], left, peak_mb, took = got["cost"], got["left"], got["peak_mb"], got["seconds"]
    return Tried(way, at, None, left, peak_mb, took_seconds=took)


_PEERS: dict[str, Callable[[str, int, Sequence[int]], Tried]] = {
    "construction alone": _greedy,
    "exact model of all": _by_limits("exact_whole"),
    "exact model by pieces": _by_limits("exact_pieces"),
    "PyJobShop": _pyjobshop,
}


def _grid(title: str, limits: Sequence[int], ways: Sequence[Tried]) -> Grid:
    columns = ("way", *(f"{limit} s" for limit in limits), "bound", "left", "MB", "first plan, s", "took, s")
    lines = [
        (
            tried.way,
            *(dollars(tried.cents_at[limit]) for limit in limits),
            "" if tried.bound is None else dollars(tried.bound),
            "" if tried.left is None else f"{tried.left}",
            "" if tried.peak_mb is None else f"{tried.peak_mb:,.0f}",
            "" if tried.first_seconds is None else f"{tried.first_seconds:.2f}",
            "" if tried.took_seconds is None else f"{tried.took_seconds:.1f}",
        )
        for tried in ways
    ]
    return Grid(title, columns, tuple(lines))


def _best(known: dict[str, Any], ways: Sequence[Tried]) -> tuple[int, str]:
    """Return the cheapest cents known, and whose they are: kept from before, or of this run."""
    found = [
        (cents, f"{tried.way} at {limit} s")
        for tried in ways
        for limit, cents in tried.cents_at.items()
        if cents is not None
    ]
    kept = read_best().get((known["instance"], known["problem"]))
    if kept is not None:
        found.append((kept.cost_cents, f"{kept.method}, {kept.minutes:g} min"))
    return min(found)


def _beside(fields: int, limit: int, ours: Tried, peers: Sequence[Tried]) -> BenchRow:
    own = ours.cents_at[limit]
    assert own is not None
    found = [(cents, tried.way) for tried in peers if (cents := tried.cents_at[limit]) is not None]
    cents, way = min(found, default=(None, "none has a plan"))
    return BenchRow(
        f"cost beside the cheapest peer: {way}",
        f"{fields} fields",
        float(limit),
        ratio=None if cents is None else own / cents,
        limit="no dearer than any peer",
        is_met=cents is None or own <= cents,
    )


def _near(fields: int, ours: Tried, best: int, whose: str) -> list[BenchRow]:
    own = ours.cents_at.get(NEAR_AT_S)
    if own is None:
        return []
    most = NEAR.get(fields)
    limit = "" if most is None else f"within {round(100 * most - 100)} % of it"
    is_met = None if most is None else own * 100 <= best * round(most * 100)
    what = f"cost beside the best ever: {whose}"
    return [
        BenchRow(what, f"{fields} fields", float(NEAR_AT_S), ratio=own / best, limit=limit, is_met=is_met)
    ]


def _memory(fields: int, ours: Tried) -> list[BenchRow]:
    most = MOST_MB.get(fields)
    if most is None or ours.peak_mb is None:
        return []
    seconds = float(max(ours.cents_at))
    return [
        BenchRow(
            f"memory of the search: {ours.peak_mb:,.0f} MB",
            f"{fields} fields",
            seconds,
            ratio=ours.peak_mb / most,
            limit=f"under {most:,.0f} MB",
            is_met=ours.peak_mb < most,
        )
    ]


def _first(fields: int, ours: Tried) -> list[BenchRow]:
    within = FIRST_WITHIN_S.get(fields)
    if within is None or ours.first_seconds is None:
        return []
    return [
        BenchRow(
            "the first plan, checked or not",
            f"{fields} fields",
            ours.first_seconds,
            ratio=ours.first_seconds / within,
            limit=f"within {within:g} s",
            is_met=ours.first_seconds <= within,
        )
    ]


def _unjudged(row: BenchRow) -> BenchRow:
    return BenchRow(row.what, row.size, row.seconds, row.rate, row.unit, row.ratio, row.limit, None)
