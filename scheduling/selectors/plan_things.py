"""The machines, implements and hands of a plan's farm, read once for all that one page tells of the plan."""

from dataclasses import dataclass

from farmops.core.ready import Ready
from farmops.farms.models import Farm, Hand, Implement, Machine
from scheduling.models import WeekPlan
from scheduling.selectors.plan_documents import is_at_hand


@dataclass(frozen=True)
class Things:
    """All machines, implements and hands of a farm by their row ids."""

    machines: dict[int, Machine]
    implements: dict[int, Implement]
    hands: dict[int, Hand]


MACHINES = Ready(lambda farm_id: Machine.objects.filter(farm=farm_id).order_by("pk"), -1)
IMPLEMENTS = Ready(lambda farm_id: Implement.objects.filter(farm=farm_id).order_by("pk"), -1)
HANDS = Ready(lambda farm_id: Hand.objects.filter(farm=farm_id).order_by("pk"), -1)


def things_of_farm(*, farm: Farm) -> Things:
    """Return what a farm has, in three queries."""
    return Things(
        {row.pk: row for row in MACHINES.ask(farm.pk)},
        {row.pk: row for row in IMPLEMENTS.ask(farm.pk)},
        {row.pk: row for row in HANDS.ask(farm.pk)},
    )


def things_of_plan(*, plan: WeekPlan) -> Things:
    """Return what a plan's farm has, read once for a plan that a page read with its documents at hand."""
    if not is_at_hand(plan):
        return things_of_farm(farm=plan.farm)
    found: Things | None = plan.__dict__.get("_things")
    if found is None:
        found = plan.__dict__["_things"] = things_of_farm(farm=plan.farm)
    return found
