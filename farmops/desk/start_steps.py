"""What a farm has of what a week's plan needs, and what comes next."""

from dataclasses import dataclass
from enum import StrEnum

from django.db.models import Count

from farmops.desk.days import observed_to
from farmops.farms.models import (
    Farm,
    Field,
    Hand,
    Implement,
    Machine,
    Membership,
    Pivot,
    Role,
    Season,
    StartFile,
)
from ledger.models import Rate
from scheduling.models import WeekPlan
from scheduling.selectors.passes import open_passes


class StepKey(StrEnum):
    FARM = "farm"
    BOUNDARIES = "boundaries"
    CROPS = "crops"
    MACHINES = "machines"
    IMPLEMENTS = "implements"
    HANDS = "hands"
    WEATHER = "weather"
    ORDERS = "orders"
    PLAN = "plan"
    PIVOTS = "pivots"
    PEOPLE = "people"
    RATES = "rates"


CAN_WAIT = frozenset({StepKey.PIVOTS, StepKey.PEOPLE, StepKey.RATES})
"""What a first plan can do without."""


@dataclass(frozen=True)
class StartStep:
    """One step: how much of it is there, whether that will do, and whether a file of it waits to be kept."""

    key: StepKey
    count: int
    is_there: bool
    is_next: bool = False
    is_waiting: bool = False


def start_steps(*, farm: Farm) -> list[StartStep]:
    """Return the steps from nothing to a plan in their order; the same number of queries whatever there is."""
    fields = Field.objects.filter(farm=farm).count()
    grown = Season.objects.filter(farm=farm).values("field").distinct().count()
    strong = Machine.objects.filter(farm=farm).count()
    hands = Hand.objects.filter(farm=farm, works=True).count()
    signing = (
        Membership.objects.filter(farm=farm)
        .exclude(role=Role.HAND)
        .aggregate(count=Count("user", distinct=True))["count"]
    )
    waiting = set(StartFile.objects.filter(farm=farm).values_list("kind", flat=True))
    has_weather = observed_to(farm=farm) is not None
    counts = {
        StepKey.FARM: (1, True),
        StepKey.BOUNDARIES: (fields, fields > 0),
        StepKey.CROPS: (grown, 0 < fields <= grown),
        StepKey.MACHINES: (strong, strong > 0),
        StepKey.IMPLEMENTS: _some(Implement.objects.filter(farm=farm).count()),
        StepKey.HANDS: _some(hands),
        StepKey.WEATHER: (int(has_weather), has_weather),
        StepKey.ORDERS: _some(open_passes(farm=farm).count()),
        StepKey.PLAN: _some(WeekPlan.objects.filter(farm=farm).count()),
        StepKey.PIVOTS: _some(Pivot.objects.filter(farm=farm).count()),
        StepKey.PEOPLE: (signing, signing > 1),
        StepKey.RATES: _some(Rate.objects.filter(farm=farm).count()),
    }
    needed = [key for key in StepKey if key not in CAN_WAIT]
    following = next((key for key in needed if not counts[key][1]), None)
    return [
        StartStep(
            key,
            *counts[key],
            is_next=key == following,
            is_waiting=key.value in waiting or (key == StepKey.PIVOTS and "pumps" in waiting),
        )
        for key in StepKey
    ]


def _some(count: int) -> tuple[int, bool]:
    return count, count > 0
