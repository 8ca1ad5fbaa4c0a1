"""The bench of the ground: how fast a farm's fields are worked out, beside a second program and for several sizes."""

import platform
from collections.abc import Mapping

from farmops.bench.children import ONE_THREAD, measured
from farmops.bench.rows import BenchReport, BenchRow, Choices

MEASURES = "farmops.bench.ground_measures"
PEER = "farmops.bench.ground_peer"
DAYS = 365
FIELDS, SMALL_FIELDS = 1_000, 20
SIZES, SMALL_SIZES = (100, 1_000, 4_000), (5, 10, 20)
AHEAD = {"fields": 100, "zones": 3, "days": 16, "members": 200}
SMALL_AHEAD = {"fields": 4, "zones": 2, "days": 3, "members": 20}
AHEAD_STEPS, SMALL_AHEAD_STEPS = (25, 50, 100), (1, 2, 4)
ROUNDS, SMALL_ROUNDS = 5, 1
LEAST_TIMES_PEER = 5_000
MOST_GROWTH = 1.5
"""How much more a field of the greatest size may take than one of the middle size and still count as linear."""
MOST_SECONDS, MOST_MB = 3.0, 1_000.0


def run(choices: Choices) -> BenchReport:
    """Run the bench; small sizes show the table only."""
    is_small = choices.is_small
    return BenchReport(
        name="ground",
        conditions=(
            f"Python {platform.python_version()}, {platform.machine()}, one core, "
            + " ".join(f"{name}={value}" for name, value in ONE_THREAD.items()),
            "Seconds are those of the processor, so that what else the machine does is left out; of a year of fields the "
            "best of several rounds.",
            *(("Small sizes: no limit is judged.",) if is_small else ()),
        ),
        rows=(*_beside_peer(is_small), *_growth(is_small), *_hours(is_small)),
    )


def _beside_peer(is_small: bool) -> list[BenchRow]:
    fields = SMALL_FIELDS if is_small else FIELDS
    days = 30 if is_small else DAYS
    got = measured(
        f"{PEER}.year_beside_peer", fields=fields, days=days, rounds=SMALL_ROUNDS if is_small else ROUNDS
    )
    ours, peers = fields * days / got["seconds"], days / got["peer_seconds"]
    ratio = ours / peers
    return [
        BenchRow(
            "pyfao56: ET0 and topsoil", f"1 field x {days} days", got["peer_seconds"], peers, "field-days"
        ),
        BenchRow(
            "ET0 and topsoil",
            f"{fields:,} fields x {days} days",
            got["seconds"],
            ours,
            "field-days",
            ratio,
            f"at least {LEAST_TIMES_PEER:,} times pyfao56",
            None if is_small else ratio >= LEAST_TIMES_PEER,
        ),
    ]


def _growth(is_small: bool) -> list[BenchRow]:
    days = 30 if is_small else DAYS
    rounds = SMALL_ROUNDS if is_small else 3
    sizes = SMALL_SIZES if is_small else SIZES
    seconds = {
        fields: measured(f"{MEASURES}.year_of_fields", fields=fields, days=days, rounds=rounds)["seconds"]
        for fields in sizes
    }
    size = f"fields x {days} days"
    return _growing("growth: ET0 and topsoil", seconds, size, days, "field-days", is_small)


def _hours(is_small: bool) -> list[BenchRow]:
    sizes = SMALL_AHEAD if is_small else AHEAD
    each = {"zones": sizes["zones"], "days": sizes["days"], "members": sizes["members"]}
    steps = SMALL_AHEAD_STEPS if is_small else AHEAD_STEPS
    runs = {
        fields: measured(f"{MEASURES}.farm_judged", fields=fields, **each, environ=None) for fields in steps
    }
    got = runs[sizes["fields"]]
    per_field = each["zones"] * each["days"] * each["members"]
    size = f"fields x {each['zones']} zones x {each['days']} days x {each['members']} members"
    unit = "zone-days of a member"
    whole = f"{sizes['fields']} {size}"
    parts = [
        BenchRow(what, whole, got[name], sizes["fields"] * per_field / got[name], unit)
        for what, name in (
            ("  the ground alone", "ground_seconds"),
            ("  the limits alone", "judge_seconds"),
        )
    ]
    seconds, peak_mb = got["seconds"], got["peak_mb"]
    rate = sizes["fields"] * per_field / seconds
    return [
        BenchRow(
            "hours of a farm worked out and judged",
            whole,
            seconds,
            rate,
            unit,
            seconds / MOST_SECONDS,
            f"under {MOST_SECONDS:g} s",
            None if is_small else seconds < MOST_SECONDS,
        ),
        *parts,
        BenchRow(
            f"  its memory: {peak_mb:,.0f} MB",
            whole,
            seconds,
            rate,
            unit,
            peak_mb / MOST_MB,
            f"under {MOST_MB:,.0f} MB",
            None if is_small else peak_mb < MOST_MB,
        ),
        *_growing(
            "growth: hours of a farm",
            {fields: run["seconds"] for fields, run in runs.items()},
            size,
            per_field,
            unit,
            is_small,
        ),
    ]


def _growing(
    what: str, seconds: Mapping[int, float], size: str, per_field: int, unit: str, is_small: bool
) -> list[BenchRow]:
    """Return a row for each number of fields; the greatest is held against the middle one, field for field."""
    counts = sorted(seconds)
    middle, most = counts[1], counts[-1]
    rows = []
    for fields in counts:
        ratio = seconds[fields] / fields / (seconds[middle] / middle)
        is_last = fields == most
        rows.append(
            BenchRow(
                what,
                f"{fields:,} {size}",
                seconds[fields],
                fields * per_field / seconds[fields],
                unit,
                ratio,
                f"at most {MOST_GROWTH:g} times a field's time at {middle:,}" if is_last else "",
                ratio <= MOST_GROWTH if is_last and not is_small else None,
            )
        )
    return rows
