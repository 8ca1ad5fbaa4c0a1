"""Which jobs of a plan have somebody who is away by now, or something that is down, whatever the plan knew."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from farmops.core.clock import local_date
from farmops.farms.models import Farm, HandAway, Implement, Machine
from scheduling.models import PlannedTask
from scheduling.selectors.speaking import speaking
from scheduling.slips.words import Said


@dataclass(frozen=True)
class OutNow:
    """Who is away on which days, first and last, and until when what is down, by row ids."""

    zone: str
    away: Mapping[int, Sequence[tuple[dt.date, dt.date]]]
    machines: Mapping[int, dt.datetime]
    implements: Mapping[int, dt.datetime]

    def of(self, task: PlannedTask) -> tuple[Said, ...]:
        """Return what a job cannot have, a few words each; its hand, machine and implement are read."""
        first, last = (local_date(at, self.zone) for at in (task.starts_at, task.ends_at))
        found: list[Said] = []
        if any(begin <= last and first <= end for begin, end in self.away.get(task.hand_id or 0, ())):
            found.append(Said(f"{task.hand} is away", f"{task.hand} está ausente"))
        for thing, down in ((task.machine, self.machines), (task.implement, self.implements)):
            if thing is not None and thing.pk in down and task.starts_at < down[thing.pk]:
                spanish = thing.name_es or thing.name
                found.append(Said(f"{thing.name} is down", f"{spanish}: fuera de servicio"))
        return tuple(found)

    def said(self, task: PlannedTask) -> str:
        """Return that in the reader's language, one after another; empty where the job has all it needs."""
        return "; ".join(one.in_(speaking()) for one in self.of(task))


def out_now(*, farm: Farm) -> OutNow:
    """Read what is away and down on a farm; three queries."""
    away: dict[int, list[tuple[dt.date, dt.date]]] = defaultdict(list)
    for hand_id, first_on, last_on in HandAway.objects.filter(farm=farm).values_list(
        "hand_id", "first_on", "last_on"
    ):
        away[hand_id].append((first_on, last_on))
    down: list[dict[int, dt.datetime]] = [{}, {}]
    for found, model in zip(down, (Machine, Implement), strict=True):
        for pk, until in model._default_manager.filter(farm=farm).values_list("pk", "down_until"):
            if until is not None:
                found[pk] = until
    return OutNow(farm.zone, away, *down)
