"""The bench of plans: how cheap a plan the search makes in so many seconds, beside other ways to make one.

Farms of 10, 30, 60 and 120 fields (two weeks for the last) are drawn from one seed. The peers plan the same farms in
the same run: construction alone, the solver library's exact model of the whole farm, the library in small freed
pieces, and PyJobShop as far as it can say the problem. Further parts: proofs for small farms, planning anew after a
wet half day, and published job shops. Whatever is measured runs in a child process of its own.
"""

import platform

from farmops.bench import plan_reach, plan_sizes
from farmops.bench.children import measured
from farmops.bench.rows import BadChoice, BenchReport, Choices, Part

OTHERS = {"proofs": plan_reach.proofs, "anew": plan_reach.anew, "job-shops": plan_reach.job_shops}
PARTS = (*map(str, plan_sizes.SIZES), *OTHERS)
SMALL_PARTS = (str(plan_sizes.SIZES[0]), *OTHERS)
WHOLE_MINUTES = 30
"""About what all parts take together."""


def run(choices: Choices) -> BenchReport:
    """Run the chosen parts; small sizes show the tables only."""
    names = choices.only or (SMALL_PARTS if choices.is_small else PARTS)
    sizes = [int(name) for name in names if name not in OTHERS]
    if choices.keep_best_minutes is not None and not sizes:
        raise BadChoice(
            f"--keep-best looks for plans of farms: {', '.join(map(str, plan_sizes.SIZES))} fields."
        )
    # A look at small sizes does not wait a minute for the compiler.
    is_compiled = not choices.is_small and measured(f"{plan_sizes.MEASURES}.compiled_before")["is_compiled"]
    if choices.keep_best_minutes is not None:
        parts = [plan_sizes.better(sizes, choices.keep_best_minutes, choices)]
    else:
        parts = [_part(name, choices) for name in names]
    return BenchReport(
        name="plan",
        conditions=(
            f"Python {platform.python_version()}, {platform.machine()}, {plan_sizes.CORES} cores for each plan.",
            "Seconds are wall time, and all that a way to plan has to do once it has the problem counts; every plan was "
            "gone over by the independent check.",
            *(("The search's kernel was compiled before.",) if is_compiled else ()),
            *(("Small sizes: no limit is judged.",) if choices.is_small else ()),
        ),
        rows=tuple(row for part in parts for row in part.rows),
        grids=tuple(grid for part in parts for grid in part.grids),
    )


def _part(name: str, choices: Choices) -> Part:
    return OTHERS[name](choices) if name in OTHERS else plan_sizes.of_size(int(name), choices)
