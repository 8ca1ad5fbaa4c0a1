"""Which records of work looked right, and which of them to show for today's ground. Pure."""

from collections.abc import Sequence

from scheduling.slips.facts import GroundToday, LastTime
from scheduling.slips.wetness import wetness_of

MOST = 2


def looked_right(*, ridges: str, mounds: str, clods: str, cut: str) -> bool:
    """Say whether the ground looked right behind the implement: the words of a look, empty where nothing was said.

    Something must have been said. No ridges, no mounds, not many clods (disking again breaks some), and a cut neither
    too shallow nor too deep.
    """
    is_said = any((ridges, mounds, clods, cut))
    return (
        is_said
        and ridges in ("", "none")
        and mounds in ("", "none")
        and clods in ("", "none", "some")
        and cut in ("", "right")
    )


def last_times_for(times: Sequence[LastTime], ground: GroundToday | None) -> tuple[LastTime, ...]:
    """Return at most two of the times, the newest first: of like ground if there are any, of other ground if not.

    Alike is ground of the same wetness; of two of the same wetness, one in the same zone goes first. Where today's ground
    is not known, the newest counts.
    """
    newest = sorted(times, key=lambda one: one.work_on, reverse=True)
    if ground is None:
        return tuple(newest[:1])
    wetness = wetness_of(ground)
    alike = [one for one in newest if one.wetness == wetness]
    alike.sort(key=lambda one: one.zone != ground.zone)
    return tuple(alike[:MOST] or newest[:1])
