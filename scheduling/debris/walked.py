"""What a debris walk leaves: the stated share of what lies there is found, on the acres that were walked. Pure."""

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import dataclass

LEAST_LEFT = 0.01
"""Farm judgement: nobody finds all; after any walks a hundredth is taken to be left."""


class WalkedError(ValueError):
    """A walk of a share of ground that cannot be."""


@dataclass(frozen=True)
class Walked:
    """A walk over a share of a season's ground, 0 to 1, that was over on a day."""

    season_id: int
    on: dt.date
    share: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.share) and 0 <= self.share <= 1):
            raise WalkedError(f"{self.share} of the ground was walked; it is 0 to 1.")


def share_left(
    walks: Iterable[Walked], *, season_id: int, found_share: float, on: dt.date | None = None
) -> float:
    """Return the share of a season's debris that is left on a day, 0.01 to 1; without a day, after all walks.

    Each walk leaves 1 - (share of the ground walked) x (share found), one after the other. A day's work comes after the
    walk of that day, since the work waits for it. It counts for the season on whose ground it was: what is shed, washed
    in or plowed up until the next one is not known. Farm judgement, no source.
    """
    if not (math.isfinite(found_share) and 0 <= found_share <= 1):
        raise WalkedError(f"{found_share} of the debris is found; it is 0 to 1.")
    left = 1.0
    for one in walks:
        if one.season_id == season_id and (on is None or one.on <= on):
            left *= 1 - one.share * found_share
    return max(left, LEAST_LEFT)
