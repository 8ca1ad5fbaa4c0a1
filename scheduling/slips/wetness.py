"""Classes of topsoil wetness, by the water as a share of the most that a disk bears. Pure.

The shares are farm judgement; they are those at which the words for the ground change.
"""

from collections.abc import Mapping
from types import MappingProxyType

from scheduling.slips.facts import GroundToday
from scheduling.slips.words import GROUND_WORDS, WETTEST, Said

_KEYS = ("dry", "moist", "damp", "sticky")
WETNESS: Mapping[str, Said] = MappingProxyType(
    {key: said for key, (_below, said) in zip(_KEYS, GROUND_WORDS, strict=True)} | {"wet": WETTEST}
)
"""The classes from dry to wet, with what is said of each; from `sticky` on a disk is not to work."""


def wetness_of(ground: GroundToday | None) -> str:
    """Return the class of a ground, a key of WETNESS; empty where it is not known."""
    if ground is None:
        return ""
    for key, (below, _said) in zip(_KEYS, GROUND_WORDS, strict=True):
        if ground.share < below:
            return key
    return "wet"
