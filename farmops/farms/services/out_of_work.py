"""What cannot work for a while: a machine or an implement that is down, a hand who is away."""

import datetime as dt

from django.db import transaction

from farmops.core.problems import DomainError
from farmops.farms.models import Hand, HandAway, Implement, Machine

FARTHEST = dt.timedelta(days=730)
"""Farm judgement: what is down or away for longer is sold or has left."""
LONGEST_WHY = 80


class OutOfWorkRefused(DomainError):
    """Hours or days in which something cannot work that make no sense; `fields` says which."""

    code = "out_of_work_refused"


@transaction.atomic
def set_down(*, row: Machine | Implement, back_at: dt.datetime, now: dt.datetime) -> Machine | Implement:
    """Say that a machine or an implement is down and back about an instant. Saying it twice changes nothing."""
    if back_at <= now:
        raise OutOfWorkRefused(
            f"{_capital(row.name)} is to be back at an hour that is over. Say when it is back, or that it works.",
            fields={"back_at": "is over"},
        )
    if back_at - now > FARTHEST:
        raise OutOfWorkRefused(
            f"{_capital(row.name)} would be down for more than two years.",
            fields={"back_at": "too far ahead"},
        )
    type(row).objects.filter(pk=row.pk).update(down_until=back_at)
    row.refresh_from_db()
    return row


def set_working(*, row: Machine | Implement) -> Machine | Implement:
    """Say that a machine or an implement works again. Saying it twice changes nothing."""
    type(row).objects.filter(pk=row.pk).update(down_until=None)
    row.refresh_from_db()
    return row


@transaction.atomic
def set_away(
    *, hand: Hand, first_on: dt.date, last_on: dt.date, why: str = "", today: dt.date
) -> tuple[HandAway, bool]:
    """Keep that a hand is away from a day to a day, both included; False if just that was kept before."""
    if last_on < first_on:
        raise OutOfWorkRefused(
            f"{hand.name} would be back on {last_on}, before leaving on {first_on}.",
            fields={"last_on": "before the first day"},
        )
    if last_on < today:
        raise OutOfWorkRefused(f"{last_on} is over.", fields={"last_on": "is over"})
    if last_on - today > FARTHEST:
        raise OutOfWorkRefused(
            f"{hand.name} would be away for more than two years.", fields={"last_on": "too far ahead"}
        )
    Hand.objects.select_for_update().get(pk=hand.pk)
    known = HandAway.objects.filter(hand=hand, first_on__lte=last_on, last_on__gte=first_on)
    for one in known.order_by("first_on"):
        if (one.first_on, one.last_on) == (first_on, last_on):
            return one, False
        raise OutOfWorkRefused(
            f"{hand.name} is known to be away from {one.first_on} to {one.last_on} already. "
            "Take that back first, or give other days.",
            fields={"first_on": "overlaps"},
        )
    made = HandAway.objects.create(
        farm=hand.farm, hand=hand, first_on=first_on, last_on=last_on, why=why.strip()[:LONGEST_WHY]
    )
    return made, True


def take_back_away(*, away: HandAway) -> None:
    """Forget that a hand is away on those days. Forgetting it twice changes nothing."""
    HandAway.objects.filter(pk=away.pk).delete()


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
