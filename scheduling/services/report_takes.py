"""What every kind of report has in common: how it is taken, what is flagged, and the rows that its codes name."""

import datetime as dt
from dataclasses import dataclass
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.farms.models import Farm, Hand, Implement, Machine
from scheduling.models import CareDone, FieldPass, FieldReport, FuelFill, Incident
from scheduling.selectors.reports import LOOKS_LIKE_A_REPEAT
from scheduling.services.refusals import BadRecord, HoursAhead, NotThisFarm, ReportTooOld
from scheduling.services.report_body import Said

MOST_AHEAD = dt.timedelta(hours=1)
"""Farm judgement: the end of the day is written down while the truck is loaded."""
MOST_DAYS_BACK = 7  # farm judgement: a week's wages are paid; what is older the manager looks at first


@dataclass(frozen=True)
class Flag:
    """Something the manager should look at in a report that is kept all the same."""

    code: str
    why: Said
    for_hand: Said | None = None
    """What the hand reads where that is not the manager's sentence."""


class Take(Protocol):
    """Keeps what a report says.

    Raises BodyUnreadable where the body cannot be read (then nothing is kept, and the sender is asked again); any
    other DomainError parks the report. Rows get `report.client_id`, or ids made of it by uuid5, since a parked report
    is taken a second time when the manager takes it over, with `sent_by` the manager.
    """

    def __call__(
        self,
        *,
        farm: Farm,
        hand: Hand,
        report: FieldReport,
        body: dict[str, Any],
        now: dt.datetime,
        sent_by: User | None,
    ) -> Flag | None: ...


class Doubt(Protocol):
    """Raises a DomainError about a report that was just taken, which parks it; not asked when the manager takes over."""

    def __call__(
        self, *, farm: Farm, hand: Hand, report: FieldReport, body: dict[str, Any], now: dt.datetime
    ) -> None: ...


def machine_of(farm: Farm, code: str) -> Machine | None:
    """Return the machine of a code, None for no code; NotThisFarm where the farm has none of it."""
    if not code:
        return None
    found = Machine.objects.filter(farm=farm, code=code).first()
    if found is None:
        raise NotThisFarm(
            _("{farm} has no machine {code}.").format(farm=farm.name, code=code),
            fields={"machine": "not known"},
        )
    return found


def implement_of(farm: Farm, code: str) -> Implement | None:
    """Return the implement of a code, None for no code; NotThisFarm where the farm has none of it."""
    if not code:
        return None
    found = Implement.objects.filter(farm=farm, code=code).first()
    if found is None:
        raise NotThisFarm(
            _("{farm} has no implement {code}.").format(farm=farm.name, code=code),
            fields={"implement": "not known"},
        )
    return found


def pass_of(farm: Farm, pass_id: int) -> FieldPass:
    """Return a pass of the farm; NotThisFarm where it has none of this number."""
    found = FieldPass.objects.select_related("season__field").filter(farm=farm, pk=pass_id).first()
    if found is None:
        raise NotThisFarm(
            _("{farm} has no such pass.").format(farm=farm.name), fields={"pass_id": "not known"}
        )
    return found


def at_clock(farm: Farm, day: dt.date, clock: dt.time) -> dt.datetime:
    """Return the instant of an hour on the farm's clock; BadRecord for one that the clock skips in spring."""
    zone = ZoneInfo(farm.zone)
    there = dt.datetime.combine(day, clock, zone)
    if there.astimezone(dt.UTC).astimezone(zone).replace(tzinfo=None) != there.replace(tzinfo=None):
        raise BadRecord(
            _("There was no {hour} on {day}: the clock was put forward.").format(
                hour=f"{clock:%H:%M}", day=day
            ),
            fields={"starts": "no such hour"},
        )
    return there


def repeats(same: CareDone | FuelFill | Incident | None) -> Flag | None:
    """Flag what somebody told of before; set aside by the manager, it is taken back."""
    if same is None:
        return None
    who = Said("The office", "La oficina") if same.hand is None else Said(same.hand.name, same.hand.name)
    if isinstance(same, Incident):
        says = Said(
            f"{who.en} told of the same about that hour: did it happen twice?",
            f"{who.es} ya dijo lo mismo a esa hora: ¿pasó dos veces?",
        )
    else:
        says = Said(
            f"{who.en} told of the same about that hour: was it done twice?",
            f"{who.es} ya dijo lo mismo a esa hora: ¿se hizo dos veces?",
        )
    return Flag(LOOKS_LIKE_A_REPEAT, says)


def refuse_long_ago(farm: Farm, day: dt.date, now: dt.datetime) -> None:
    """Raise ReportTooOld for a day of which the wages are likely paid."""
    days_back = (local_date(now, farm.zone) - day).days
    if days_back > MOST_DAYS_BACK:
        raise ReportTooOld(
            f"It is about {day}, {days_back} days back; more than {MOST_DAYS_BACK} are looked at first.",
            fields={"work_on": "long ago"},
            facts={"day": day, "days": days_back},
        )


def refuse_ahead(ends_at: dt.datetime, now: dt.datetime, *, name: str) -> None:
    """Raise HoursAhead for hours that have not been worked yet: morning and evening were mistaken, or the day."""
    if ends_at > now + MOST_AHEAD:
        raise HoursAhead(
            "These hours end when it is not yet that late; is it morning for evening, or another day?",
            fields={name: "has not come yet"},
        )
