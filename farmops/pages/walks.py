"""A debris walk that stands before other work: said plainly where that work is shut, with what calls it off."""

from dataclasses import dataclass

from farmops.farms.models import Farm
from scheduling.models import FieldPass, PassState
from scheduling.selectors.debris import walks_in_the_way

NOT_AFTER_ALL = "Do not walk after all"
NOT_THE_REST = "Leave the rest unwalked"


@dataclass(frozen=True)
class WalkInTheWay:
    """What a walk holds up, for the form that calls it off: the pass `before` which it comes."""

    field_code: str
    before: int
    says: str
    button: str
    label: str


def walks_to_call_off(*, farm: Farm) -> dict[int, WalkInTheWay]:
    """Return, by the pass that waits and by the walk itself, what is said of each open walk."""
    found: dict[int, WalkInTheWay] = {}
    for before, walk in walks_in_the_way(farm=farm).items():
        told = _told(walk, before)
        found[before] = told
        found.setdefault(walk.pk, told)
    return found


def _told(walk: FieldPass, before: int) -> WalkInTheWay:
    field = walk.season.field
    button = NOT_THE_REST if walk.state == PassState.UNDER_WAY else NOT_AFTER_ALL
    return WalkInTheWay(
        field.code,
        before,
        f"A debris walk ({walk.get_state_display()}) comes first: nothing rolls here until it is walked or called off.",
        button,
        f"{button}: {field.name}",
    )
