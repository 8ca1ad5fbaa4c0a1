"""Which jobs of a plan have somebody who is away by now, or something that is down, whatever the plan knew."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from farmops.core.clock import local_date
from farmops.farms.models import Farm, HandAway, Implement, Machine
from scheduling.models import PlannedTask
from scheduling.selectors.speaking import speaking
from scheduling.slips.words import Said

MOMENT = dt.timedelta.resolution
"""What ends at midnight takes nothing of the day that begins."""


@dataclass(frozen=True)
class OutNow:
    """Who is away on which days, first and last, by the row ids of hands; what is down, the rows of things say."""

    zone: str
    away: Mapping[int, Sequence[tuple[dt.date, dt.date]]]

    def of(
        self, task: PlannedTask, *, starts_at: dt.datetime | None = None, ends_at: dt.datetime | None = None
    ) -> tuple[Said, ...]:
        """Return what a job cannot have, a few words each, or a part of it between two instants."""
        starts_at, ends_at = starts_at or task.starts_at, ends_at or task.ends_at
        first, last = (local_date(at, self.zone) for at in (starts_at, ends_at - MOMENT))
        found: list[Said] = []
        if any(begin <= last and first <= end for begin, end in self.away.get(task.hand_id or 0, ())):
            found.append(Said(f"{task.hand} is away", f"{task.hand} está ausente"))
        found += [
            down_said(thing)
            for thing in (task.machine, task.implement)
            if thing is not None and thing.down_until is not None and starts_at < thing.down_until
        ]
        return tuple(found)

    def said(self, task: PlannedTask, worked: Iterable[tuple[dt.datetime, dt.datetime]]) -> str:
        """Return that of the stretches in which a job is worked, in the reader's language, one after another.

        Empty where the job has all it needs in each of them.
        """
        found = [one for begins, ends in worked for one in self.of(task, starts_at=begins, ends_at=ends)]
        return "; ".join(one.in_(speaking()) for one in dict.fromkeys(found))


def down_said(thing: Machine | Implement) -> Said:
    """Return that a thing is down."""
    return Said(f"{thing.name} is down", f"{thing.name_es or thing.name}: fuera de servicio")


def out_of(rows: Iterable[HandAway], *, zone: str) -> OutNow:
    """Return who is away by rows that are read already."""
    away: dict[int, list[tuple[dt.date, dt.date]]] = defaultdict(list)
    for row in rows:
        away[row.hand_id].append((row.first_on, row.last_on))
    return OutNow(zone, away)


def out_now(*, farm: Farm) -> OutNow:
    """Read who is away on a farm; one query."""
    return out_of(HandAway.objects.filter(farm=farm), zone=farm.zone)
