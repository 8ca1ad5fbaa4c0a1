"""What each start costs beside its own price: the hours of scarce resources that it takes away from other jobs.

The prices on the hours of resources that prove a lower bound (`lagrange`) tell when hands and outfits are short. A search
that puts jobs where they are cheapest for themselves fills those hours first; one that goes by prices in some of its
rounds leaves them to whom they are worth more. What a plan costs in the end knows nothing of them.
"""

import numpy as np
import numpy.typing as npt

from scheduling.solver import kernel
from scheduling.solver.flat import Flat, next_less
from scheduling.solver.lagrange import POINTS_A_STEP, Priced
from scheduling.solver.timeline import Ints

# The bound lies far below any plan, and its prices below what an hour is worth. By trial on four farms of 30 fields, twice
# the prices made plans 1.2 % cheaper, once 0.4 %, three and five times 1.2 %.
WEIGHT = 2.0


def starts_at_prices(flat: Flat, priced: Priced) -> tuple[Ints, npt.NDArray[np.int32]]:
    """Return for each start its units at prices, and how many starts on the next cheaper one is, 0 where none is.

    Ways that share their starts share what these cost: the mean of their resources' prices.
    """
    group_of = {number: i for i, members in enumerate(priced.chains.groups) for number in members}
    uses: dict[int, list[float]] = {}
    ways: dict[int, int] = {}
    for way in flat.ways:
        used = uses.setdefault(id(way.options), [0.0] * len(priced.chains.groups))
        ways[id(way.options)] = ways.get(id(way.options), 0) + 1
        for number in way.resources:
            if number in group_of:
                used[group_of[number]] += 1
    units = flat.U[: flat.starts].copy()
    less = np.zeros(flat.starts, dtype=np.int32)
    seen: set[int] = set()
    step = flat.board.problem.step
    sums = np.zeros(priced.chains.points + 1)
    for way in flat.ways:
        options = way.options
        if id(options) in seen:
            continue
        seen.add(id(options))
        at = flat.starts_at[id(options)][0]
        mean = np.array(uses[id(options)]) / ways[id(options)]
        np.cumsum(mean @ priced.prices, out=sums[1:])
        begins = np.array(options.starts) * POINTS_A_STEP // step
        ends = -(-np.array(options.ends) * POINTS_A_STEP // step)
        held = np.minimum(WEIGHT * (sums[ends] - sums[begins]), kernel.MOST)
        part = slice(at, at + len(options.starts))
        units[part] += held.astype(np.int64) >> flat.shift
        less[part] = next_less(units[part].tolist())
    return units, less
