"""Debris walks in words: one that stands before other work and what calls it off, and how those done are counted."""

from collections.abc import Collection
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farmops.desk.debris_worth import FieldWalk
from farmops.farms.models import Farm
from farmops.pages import words
from scheduling.debris.rates import FieldRate
from scheduling.models import FieldPass, PassState
from scheduling.selectors.debris import walks_in_the_way

NOT_AFTER_ALL = gettext_noop("Do not walk after all")
NOT_THE_REST = gettext_noop("Leave the rest unwalked")


@dataclass(frozen=True)
class WalkInTheWay:
    """What a walk holds up, for the form that calls it off: the pass `before` which it comes."""

    field_code: str
    before: int
    says: str
    button: str
    label: str


def walks_to_call_off(*, farm: Farm, passes: Collection[FieldPass] | None = None) -> dict[int, WalkInTheWay]:
    """Return, by the pass that waits and by the walk itself, what is said of each open walk; of all, or of some passes."""
    found: dict[int, WalkInTheWay] = {}
    for before, walk in walks_in_the_way(farm=farm, passes=passes).items():
        state = words.named(walk.get_state_display())
        says = _(
            "A debris walk ({state}) comes first: nothing rolls here until it is walked or called off."
        ).format(state=state)
        found[before] = _told(walk, before, says)
        held = _("What follows here waits for this walk until it is done or called off.")
        found.setdefault(walk.pk, _told(walk, before, held))
    return found


def believed(rate: FieldRate | None) -> str:
    """Return the likely rate with the ends between which it lies in eight of ten chances."""
    if rate is None:
        return ""
    low, high = rate.ends
    return _("{likely} ({low} to {high})").format(
        likely=rate_said(rate.mean), low=rate_said(low), high=rate_said(high)
    )


def rate_said(value: float) -> str:
    """Return punctures per 1,000 acres, finer where there are few."""
    return f"{value:.1f}" if value >= 0.95 else f"{value:.2f}"


def rate_why(walk: FieldWalk) -> str:
    """Return what the likely rate holds."""
    if walk.left == 1 or walk.debris.rate is None:
        return _("eight of ten chances in brackets")
    return _("{rate} unwalked, times the {left} that walks left; eight of ten chances in brackets").format(
        rate=rate_said(walk.debris.rate.mean), left=_percent(walk.left)
    )


def walked_says(walk: FieldWalk) -> str:
    """Return how the walks done on a field are counted, or nothing where there are none."""
    debris = walk.debris
    if not debris.walked or debris.rate is None:
        return ""
    last = debris.walked[-1]
    told = _("Last walked {day}, {share} of the ground.").format(
        day=words.long_date(last.on), share=_percent(last.share)
    )
    if walk.left == 1:
        more = _("It was for another season and counts no more for this one.")
    else:
        more = _(
            "A walk is counted as finding {found} of what lies there (the number below), so {left} is left until the "
            "season ends: {unwalked} per 1,000 acres unwalked, {now} now. Acres covered since count as {left} of an "
            "acre each."
        ).format(
            found=_percent(debris.found_share),
            left=_percent(walk.left),
            unwalked=rate_said(debris.rate.mean),
            now=rate_said(debris.rate.mean * walk.left),
        )
    return f"{told} {more}"


def _percent(share: float) -> str:
    return f"{share * 100:.0f} %"


def _told(walk: FieldPass, before: int, says: str) -> WalkInTheWay:
    field = walk.season.field
    button = words.named(NOT_THE_REST if walk.state == PassState.UNDER_WAY else NOT_AFTER_ALL)
    return WalkInTheWay(
        field.code,
        before,
        says,
        button,
        f"{button}: {field.name}",
    )
