"""The parts of the bench of plans that are about proofs, planning anew, and what is published."""

from typing import Any

from farmops.bench.children import measured
from farmops.bench.plan_job_shops import EASY, TEN_BY_TEN, shops
from farmops.bench.plan_sizes import CORES, GRACE_S, MEASURES, SEED, dollars
from farmops.bench.rows import BenchRow, Choices, Grid, Part

PROOF_FIELDS, PROOF_FARMS, PROOF_S, LEAST_PROOFS = 5, 10, 10, 9
ANEW_FIELDS, ANEW_FIRST_S, ANEW_S, ANEW_WITHIN_S, MOST_TIMES_HAD_TO = 60, 30.0, 4.0, 5.0, 2
SMALL_ANEW_FIELDS, SMALL_ANEW_S = 6, 0.5
SHOP_S, MOST_OVER = 20, 0.03


def proofs(choices: Choices) -> Part:
    """Count the farms of a few fields whose plan is proved cheapest in the time."""
    seconds = choices.seconds[-1] if choices.seconds else 1 if choices.is_small else PROOF_S
    seeds = range(1, 2 if choices.is_small else PROOF_FARMS + 1)
    runs = {}
    for seed in seeds:
        choices.told(f"proofs: farm {seed}")
        runs[seed] = measured(
            f"{MEASURES}.planned",
            cores=CORES, most_seconds=seconds + GRACE_S,
            fields=PROOF_FIELDS, seed=seed, seconds=seconds, workers=CORES,
        )  # fmt: skip
    proved = sum(run["status"] == "best" for run in runs.values())
    lines = tuple(
        (
            f"{seed}",
            f"{run['tasks']}",
            dollars(run["cost"]),
            dollars(run["bound"]),
            "proved" if run["status"] == "best" else "",
            f"{run['seconds']:.1f}",
        )
        for seed, run in runs.items()
    )
    row = BenchRow(
        f"farms whose plan is proved cheapest: {proved} of {len(runs)}",
        f"{PROOF_FIELDS} fields",
        max(run["seconds"] for run in runs.values()),
        ratio=proved / LEAST_PROOFS,
        limit=f"at least {LEAST_PROOFS} of {PROOF_FARMS} within {PROOF_S} s",
        is_met=None if choices.is_small or choices.seconds else proved >= LEAST_PROOFS,
    )
    columns = ("farm", "passes", "dollars", "bound", "", "s")
    return Part((row,), (Grid(f"Proofs: farms of {PROOF_FIELDS} fields, {seconds} s", columns, lines),))


def anew(choices: Choices) -> Part:
    """Plan a farm, let one half day be wet, plan it again."""
    fields = SMALL_ANEW_FIELDS if choices.is_small else ANEW_FIELDS
    first, seconds = (SMALL_ANEW_S, SMALL_ANEW_S) if choices.is_small else (ANEW_FIRST_S, ANEW_S)
    choices.told(f"{fields} fields: planned, and planned anew")
    got = measured(
        "farmops.bench.plan_anew.planned_anew",
        cores=CORES, most_seconds=first + 2 * seconds + GRACE_S,
        fields=fields, seed=SEED, first_seconds=first, seconds=seconds, workers=CORES,
    )  # fmt: skip
    had_to, changed = got["had_to"], got["changed"]
    size, is_judged = f"{fields} fields", not choices.is_small
    rows = (
        BenchRow(
            "planned anew after a wet half day",
            size,
            got["seconds"],
            ratio=got["seconds"] / ANEW_WITHIN_S,
            limit=f"under {ANEW_WITHIN_S:g} s",
            is_met=got["seconds"] < ANEW_WITHIN_S if is_judged else None,
        ),
        BenchRow(
            f"  passes changed: {changed} of {got['planned']}; {had_to} had to, {got['broken']} of them by themselves",
            size,
            got["seconds"],
            ratio=changed / max(1, had_to),
            limit=f"at most {MOST_TIMES_HAD_TO} times those that had to",
            is_met=changed <= MOST_TIMES_HAD_TO * had_to if is_judged else None,
        ),
    )
    return Part(rows)


def job_shops(choices: Choices) -> Part:
    """Plan the published job shops: the easy ones to their proved optimum, the 10 x 10 ones near it."""
    seconds = choices.seconds[-1] if choices.seconds else 1 if choices.is_small else SHOP_S
    names = EASY[:1] if choices.is_small else tuple(shops())
    runs = {}
    for name in names:
        choices.told(f"job shop {name}")
        runs[name] = measured(
            f"{MEASURES}.job_shop",
            cores=CORES, most_seconds=seconds + GRACE_S, name=name, seconds=seconds, workers=CORES,
        )  # fmt: skip
    lines = tuple(
        (
            name,
            f"{len(shops()[name]['jobs'])} x {len(shops()[name]['jobs'][0])}",
            f"{shops()[name]['optimum_makespan']}",
            f"{run['cost']}",
            f"{run['bound']}",
            "proved" if run["status"] == "best" else "",
            f"{run['seconds']:.1f}",
        )
        for name, run in runs.items()
    )
    is_judged = not (choices.is_small or choices.seconds)
    rows = [_easy(runs, is_judged), *_large(runs, is_judged)]
    columns = ("shop", "jobs x machines", "optimum", "found", "bound", "", "s")
    return Part(tuple(rows), (Grid(f"Job shops, {seconds} s", columns, lines),))


def _easy(runs: dict[str, dict[str, Any]], is_judged: bool) -> BenchRow:
    easy = {name: run for name, run in runs.items() if name in EASY}
    found = sum(
        run["status"] == "best" and run["cost"] == shops()[name]["optimum_makespan"]
        for name, run in easy.items()
    )
    return BenchRow(
        f"easy job shops, optimum found and proved: {found} of {len(easy)}",
        f"{len(easy)} shops",
        max(run["seconds"] for run in easy.values()),
        ratio=found / len(easy),
        limit="all of them",
        is_met=found == len(easy) if is_judged else None,
    )


def _large(runs: dict[str, dict[str, Any]], is_judged: bool) -> list[BenchRow]:
    over = {
        name: run["cost"] / shops()[name]["optimum_makespan"] - 1
        for name, run in runs.items()
        if name in TEN_BY_TEN
    }
    if not over:
        return []
    worst = max(over, key=lambda name: over[name])
    return [
        BenchRow(
            f"10 x 10 job shops, furthest from the optimum: {worst}",
            f"{len(over)} shops",
            max(runs[name]["seconds"] for name in over),
            ratio=1 + over[worst],
            limit=f"within {MOST_OVER:.0%} of the optimum",
            is_met=over[worst] <= MOST_OVER if is_judged else None,
        )
    ]
