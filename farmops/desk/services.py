"""What the farm manager's desk does in one call: the ledger's prices and the planner's week, brought together."""

import datetime as dt
from collections.abc import Callable
from zoneinfo import ZoneInfo

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.farms.models import Farm
from ledger.selectors.prices import plan_prices
from scheduling.models import WeekPlan
from scheduling.services.planning import make_plan


def plan_week(
    *,
    farm: Farm,
    first_on: dt.date,
    days: int = 7,
    seconds: float = 10,
    seed: int = 1,
    rounds: int | None = None,
    workers: int = 1,
    made_by: User | None = None,
    now: dt.datetime,
    as_of: dt.date | None = None,
    seen_at: dt.datetime | None = None,
    keep_sent: bool = False,
    progress: Callable[..., None] | None = None,
    stop: Callable[[], bool] | None = None,
    before_storing: Callable[[], None] | None = None,
) -> WeekPlan:
    """Plan the days from `first_on` on the farm's clock at the prices of that day, and store the plan.

    `as_of` is the last day whose observed weather counts; the farm's today if None. `seen_at` is the instant that
    is today for the plan, where it is not `now`. Once `stop` says yes, the best plan so far is stored,
    unless `before_storing` raises something, which is called in the end.
    """
    return make_plan(
        farm=farm,
        starts_at=dt.datetime.combine(first_on, dt.time(), tzinfo=ZoneInfo(farm.zone)),
        days=days,
        prices=plan_prices(farm=farm, on=first_on),
        as_of=as_of or local_date(now, farm.zone),
        seconds=seconds,
        seed=seed,
        rounds=rounds,
        workers=workers,
        made_by=made_by,
        now=now,
        seen_at=seen_at,
        keep_sent=keep_sent,
        progress=progress,
        stop=stop,
        before_storing=before_storing,
    )
