"""A move, or the undoing of one, that is sent twice: the plan that the first made answers the second too."""

from farmops.core.models import User
from farmops.farms.models import Farm
from scheduling.models import FieldPass, WeekPlan
from scheduling.services.moving import MOVED, UNDONE, Priced


def moved_before(*, priced: Priced, seen: str, made_by: User | None) -> WeekPlan | None:
    """Return the plan that just this move made, sent before by the same person and still the newest; else None."""
    base, newest = priced.base, _newest(priced.base.farm, made_by)
    if newest is None or UNDONE in newest.limits:
        return None
    told = newest.limits.get(MOVED, {})
    of_move = {"pass": priced.field_pass.pk, "task": priced.task, "of_plan": base.number, "seen": seen}
    held = FieldPass.objects.filter(
        pk=priced.field_pass.pk, fixed_outfit=priced.outfit, fixed_from=priced.starts_at
    )
    return newest if of_move.items() <= told.items() and held.exists() else None


def undone_before(*, plan: WeekPlan, seen: str, made_by: User | None) -> WeekPlan | None:
    """Return the plan that undoing just this move made, asked for before by the same person and still the newest."""
    newest = _newest(plan.farm, made_by)
    of_undoing = {"plan": plan.number, "seen": seen}
    return newest if newest is not None and newest.limits.get(UNDONE) == of_undoing else None


def _newest(farm: Farm, made_by: User | None) -> WeekPlan | None:
    newest = WeekPlan.objects.filter(farm=farm).order_by("-number").first()
    return newest if newest is not None and newest.made_by == made_by else None
