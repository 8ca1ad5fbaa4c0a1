"""What cannot work for a while: a machine or an implement that is down, a hand who is away."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

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
            _("{tool} is to be back at an hour that is over. Say when it is back, or that it works.").format(
                tool=_capital(row.name)
            ),
            fields={"back_at": "is over"},
        )
    if back_at - now > FARTHEST:
        raise OutOfWorkRefused(
            _("{tool} would be down for more than two years.").format(tool=_capital(row.name)),
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
    """Keep that a hand is away from a day to a day, both included; False if just that was kept before.

    Another reason for the same days takes the place of the one before.
    """
    if last_on < first_on:
        raise OutOfWorkRefused(
            _("{hand} would be back on {last}, before leaving on {first}.").format(
                hand=hand.name, last=last_on, first=first_on
            ),
            fields={"last_on": "before the first day"},
        )
    if last_on < today:
        raise OutOfWorkRefused(_("{day} is over.").format(day=last_on), fields={"last_on": "is over"})
    if last_on - today > FARTHEST:
        raise OutOfWorkRefused(
            _("{hand} would be away for more than two years.").format(hand=hand.name),
            fields={"last_on": "too far ahead"},
        )
    Hand.objects.select_for_update().get(pk=hand.pk)
    why = why.strip()[:LONGEST_WHY]
    known = HandAway.objects.filter(hand=hand, first_on__lte=last_on, last_on__gte=first_on)
    for one in known.order_by("first_on"):
        if (one.first_on, one.last_on) == (first_on, last_on):
            if not why or one.why == why:
                return one, False
            one.why = why
            one.save(update_fields=["why"])
            return one, True
        raise OutOfWorkRefused(
            _(
                "{hand} is known to be away from {first} to {last} already. "
                "Take that back first, or give other days."
            ).format(hand=hand.name, first=one.first_on, last=one.last_on),
            fields={"first_on": "overlaps"},
        )
    made = HandAway.objects.create(farm=hand.farm, hand=hand, first_on=first_on, last_on=last_on, why=why)
    return made, True


def take_back_away(*, away: HandAway) -> None:
    """Forget that a hand is away on those days. Forgetting it twice changes nothing."""
    HandAway.objects.filter(pk=away.pk).delete()


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
