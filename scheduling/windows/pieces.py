"""Open hours in few pieces: neighbors whose chances differ little become one, with the same minutes to be expected.

A planner looks at every stretch of every pass, and a chance that goes 0.91, 0.92, 0.90 from hour to hour tells it
nothing that one 0.91 does not. A shut minute is never bridged, and a piece begins and ends on a whole hour or where the
field itself opens and shuts.
"""

from collections.abc import Sequence
from fractions import Fraction

from scheduling.windows.report import OpenStretch

HOUR_MIN = 60
MOST_APART = 0.08
"""Farm judgement: a forecast cannot tell chances apart that lie closer."""
DECIMALS = 4


def in_pieces(stretches: Sequence[OpenStretch], *, most_apart: float = MOST_APART) -> list[OpenStretch]:
    """Return open stretches (in order, not overlapping) in fewer pieces, chances 0 to 1 within `most_apart` of each other.

    Each piece has the mean chance of its minutes, to four decimals, so the minutes to be expected (length × chance) stay
    within 0.00005 of each minute. Raises ValueError where `most_apart` is negative or stretches overlap.
    """
    if most_apart < 0:
        raise ValueError(f"most_apart is {most_apart}; it must be 0 or more")
    pieces: list[OpenStretch] = []
    run: list[OpenStretch] = []
    for one in stretches:
        if run and one.from_min < run[-1].to_min:
            raise ValueError(f"an open stretch begins at {one.from_min}, before {run[-1].to_min}")
        if run and one.from_min > run[-1].to_min:
            pieces += _of_run(run, most_apart)
            run = []
        run.append(one)
    return pieces + _of_run(run, most_apart)


def _of_run(run: Sequence[OpenStretch], most_apart: float) -> list[OpenStretch]:
    """Join the pieces of a run without a gap from the left, as long as all that a piece holds lies close enough."""
    joined: list[list[OpenStretch]] = []
    for hour in _by_hours(run):
        held = [*joined[-1], *hour] if joined else []
        if held and _apart(held) <= most_apart + 1e-9:
            joined[-1] = held
        else:
            joined.append(list(hour))
    return [_mean(piece) for piece in joined]


def _by_hours(run: Sequence[OpenStretch]) -> list[list[OpenStretch]]:
    """Return the run in blocks that begin and end on a whole hour; a stretch of several hours is a block of its own."""
    blocks: list[list[OpenStretch]] = []
    for one in run:
        if blocks and blocks[-1][-1].to_min % HOUR_MIN and one.from_min != run[0].from_min:
            edge = min(-(-one.from_min // HOUR_MIN) * HOUR_MIN, one.to_min)
            blocks[-1].append(OpenStretch(one.from_min, edge, one.chance))
            if edge == one.to_min:
                continue
            one = OpenStretch(edge, one.to_min, one.chance)
        whole = one.to_min // HOUR_MIN * HOUR_MIN
        if one.to_min != run[-1].to_min and one.from_min < whole < one.to_min:
            blocks.append([OpenStretch(one.from_min, whole, one.chance)])
            one = OpenStretch(whole, one.to_min, one.chance)
        blocks.append([one])
    return blocks


def _apart(held: Sequence[OpenStretch]) -> float:
    return max(one.chance for one in held) - min(one.chance for one in held)


def _mean(piece: Sequence[OpenStretch]) -> OpenStretch:
    minutes = piece[-1].to_min - piece[0].from_min
    expected = sum((Fraction(one.chance) * (one.to_min - one.from_min) for one in piece), Fraction(0))
    return OpenStretch(piece[0].from_min, piece[-1].to_min, round(float(expected / minutes), DECIMALS))
