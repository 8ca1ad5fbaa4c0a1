"""The bench of the ground: how fast a farm's fields are worked out, beside a second program and for several sizes."""

import platform

from farmops.bench.children import ONE_THREAD, measured
from farmops.bench.rows import BenchReport, BenchRow

MEASURES = "farmops.bench.ground_measures"
PEER = "farmops.bench.ground_peer"
DAYS = 365
FIELDS, SMALL_FIELDS = 1_000, 20
SIZES, SMALL_SIZES = (100, 1_000, 4_000), (5, 10, 20)
AHEAD = {"fields": 100, "zones": 3, "days": 16, "members": 200}
SMALL_AHEAD = {"fields": 2, "zones": 2, "days": 3, "members": 20}
ROUNDS, SMALL_ROUNDS = 5, 1
LEAST_TIMES_PEER = 5_000
MOST_GROWTH = 1.5
"""How much more a field of the greatest size may take than one of the middle size and still count as linear."""
MOST_SECONDS, MOST_MB = 3.0, 1_000.0


def run(is_small: bool) -> BenchReport:
    """Run the bench; small sizes show the table only."""
    return BenchReport(
        name="ground",
        conditions=(
            f"Python {platform.python_version()}, {platform.machine()}, one core, "
            + " ".join(f"{name}={value}" for name, value in ONE_THREAD.items()),
            "Seconds are those of the processor, the best of several rounds: what else the machine does is left out.",
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
    rows: list[BenchRow] = []
    sizes = SMALL_SIZES if is_small else SIZES
    middle = sizes[1]
    per_field: dict[int, float] = {}
    for fields in sizes:
        got = measured(f"{MEASURES}.year_of_fields", fields=fields, days=days, rounds=rounds)
        per_field[fields] = got["seconds"] / fields
        growth = per_field[fields] / per_field[middle] if middle in per_field else None
        is_judged = fields > middle and not is_small
        rows.append(
            BenchRow(
                "growth: ET0 and topsoil",
                f"{fields:,} fields x {days} days",
                got["seconds"],
                fields * days / got["seconds"],
                "field-days",
                growth,
                f"at most {MOST_GROWTH:g} times a field's time at {middle:,}" if fields > middle else "",
                growth <= MOST_GROWTH if is_judged and growth is not None else None,
            )
        )
    return rows


def _hours(is_small: bool) -> list[BenchRow]:
    sizes = SMALL_AHEAD if is_small else AHEAD
    got = measured(f"{MEASURES}.farm_judged", **sizes)
    size = f"{sizes['fields']} fields x {sizes['zones']} zones x {sizes['days']} days x {sizes['members']} members"
    count = sizes["fields"] * sizes["zones"] * sizes["days"] * sizes["members"]
    seconds, peak_mb = got["seconds"], got["peak_mb"]
    return [
        BenchRow(
            "hours of a farm worked out and judged",
            size,
            seconds,
            count / seconds,
            "zone-days of a member",
            seconds / MOST_SECONDS,
            f"under {MOST_SECONDS:g} s",
            None if is_small else seconds < MOST_SECONDS,
        ),
        BenchRow(
            "  the ground alone",
            size,
            got["ground_seconds"],
            count / got["ground_seconds"],
            "zone-days of a member",
        ),
        BenchRow(
            "  the limits alone",
            size,
            got["judge_seconds"],
            count / got["judge_seconds"],
            "zone-days of a member",
        ),
        BenchRow(
            f"  its memory: {peak_mb:,.0f} MB",
            size,
            seconds,
            count / seconds,
            "zone-days of a member",
            peak_mb / MOST_MB,
            f"under {MOST_MB:,.0f} MB",
            None if is_small else peak_mb < MOST_MB,
        ),
    ]
