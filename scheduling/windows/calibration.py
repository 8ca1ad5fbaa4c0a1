"""A zone's own wet and dry limit, from what growers said of its ground beside the model's water at that instant."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

LEAST_REMARKS = 3
"""Fewer remarks on a zone move nothing: one wrong word would."""
LEAST_SHARE, MOST_SHARE = 0.7, 1.3
"""Farm judgement: so far may a zone's limit lie from its texture's; beyond that the texture or the rain is wrong."""
DRY_BELOW_WET = 0.9
"""Farm judgement: the dry limit is at most this share of the wet one, so that there is room for work."""
BEYOND_M3_M3 = 0.005
"""Farm judgement: where all words are on one side, a limit goes so far past the outermost and no farther."""
TOO_WET, TOO_DRY = "too_wet", "too_dry"


@dataclass(frozen=True)
class Told:
    """The model's topsoil when somebody spoke, m³/m³, the word, and the work's own share of the workable limit."""

    water_m3_m3: float
    what: str
    workable_share: float = 1.0

    def seen_by(self, word: str) -> float:
        """Return the water that the wet limit (of one: a planter runs a little above it) or the dry one is held to."""
        return self.water_m3_m3 / self.workable_share if word == TOO_WET else self.water_m3_m3


@dataclass(frozen=True)
class Fitted:
    """A limit before and after, m³/m³, and with how many of the remarks each agrees."""

    before_m3_m3: float
    after_m3_m3: float
    agrees_before: int
    agrees_after: int
    remarks: int

    @property
    def is_moved(self) -> bool:
        """Return whether the limit changes."""
        return self.after_m3_m3 != self.before_m3_m3


@dataclass(frozen=True)
class ZoneFit:
    """Both limits of a zone."""

    wet: Fitted
    dry: Fitted


def fit_zone(
    *,
    told: Sequence[Told],
    wet_m3_m3: float,
    dry_m3_m3: float,
    texture_wet_m3_m3: float,
    texture_dry_m3_m3: float,
    saturation_m3_m3: float,
) -> ZoneFit:
    """Return the wet and dry limit that err least against the remarks; all water in m³/m³.

    Each stays within 0.7 to 1.3 of its texture's, the wet one below saturation, the dry one at most 0.9 of the wet
    one. Of limits that err alike the one nearest to the present counts. With fewer than three remarks nothing moves.
    """
    wet = _fit(
        told,
        word=TOO_WET,
        present=wet_m3_m3,
        least=LEAST_SHARE * texture_wet_m3_m3,
        most=min(MOST_SHARE * texture_wet_m3_m3, saturation_m3_m3),
    )
    most_dry = min(MOST_SHARE * texture_dry_m3_m3, DRY_BELOW_WET * wet.after_m3_m3)
    dry = _fit(
        told,
        word=TOO_DRY,
        present=dry_m3_m3,
        least=min(LEAST_SHARE * texture_dry_m3_m3, most_dry),
        most=most_dry,
    )
    return ZoneFit(wet, dry)


def agreeing(told: Sequence[Told], *, word: str, limit_m3_m3: float) -> int:
    """Return with how many remarks a limit agrees: too wet lies above the wet one, too dry below the dry one."""
    if word == TOO_WET:
        return sum((one.seen_by(word) > limit_m3_m3) == (one.what == word) for one in told)
    return sum((one.seen_by(word) < limit_m3_m3) == (one.what == word) for one in told)


def _fit(told: Sequence[Told], *, word: str, present: float, least: float, most: float) -> Fitted:
    before = agreeing(told, word=word, limit_m3_m3=present)
    if len(told) < LEAST_REMARKS:
        return Fitted(present, present, before, before, len(told))
    waters = sorted({one.seen_by(word) for one in told})
    between = [(low + high) / 2 for low, high in pairwise(waters)]
    outside = (waters[0] - BEYOND_M3_M3, waters[-1] + BEYOND_M3_M3)
    candidates = [min(max(limit, least), most) for limit in (present, *outside, *between)]
    after = min(
        candidates,
        key=lambda limit: (-agreeing(told, word=word, limit_m3_m3=limit), abs(limit - present), limit),
    )
    return Fitted(present, after, before, agreeing(told, word=word, limit_m3_m3=after), len(told))
