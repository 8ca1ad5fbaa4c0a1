"""A farm whose week can be planned, and its plan."""

import datetime as dt
from typing import Any

from farmops.farms.models import Farm
from scheduling.models import WeekPlan
from scheduling.services.passes import Step
from scheduling.services.planning import make_plan
from tests.factories import make_farm, make_hand, make_implement, make_machine
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING, make_dry_spring, prices_of

DISK = Step("disk", leave_cents=90_000, late_cents_per_day=4_000, due_on=dt.date(2026, 4, 22))
BED = Step("rip_bed", leave_cents=90_000)


def working_farm() -> Farm:
    farm = make_farm()
    make_machine(farm)
    make_machine(farm, "tractor-2")
    make_implement(farm)
    make_implement(farm, "bedder", operations=("rip_bed",))
    make_hand(farm)
    make_hand(farm, "teo")
    make_dry_spring(farm)
    return farm


def made(farm: Farm, **asked: Any) -> WeekPlan:
    asked.setdefault("starts_at", MONDAY)
    asked.setdefault("now", SUNDAY_EVENING)
    asked.setdefault("as_of", SUNDAY_EVENING.date())
    return make_plan(
        farm=farm,
        prices=prices_of(farm),
        **{"days": 7, "seconds": 2, "seed": 1, "rounds": 20, "workers": 1, "made_by": None, **asked},
    )
