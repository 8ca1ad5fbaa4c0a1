"""Read who has no row yet for a kind of mail today: the question that the tick asks every minute, of all farms at once."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from django.db.models import Exists, OuterRef

from farmops.core.models import User
from farmops.digests.models import OutboxRow, RowState, SheetKind
from farmops.farms.models import Farm, Hand, Membership, Role


def hands_without_row(
    *, farms: Mapping[dt.date, Sequence[Farm]], kind: str = SheetKind.HAND
) -> dict[int, list[Hand]]:
    """Return, by farm, the working hands with an address for whom no row of the farm's day is made."""
    found: dict[int, list[Hand]] = defaultdict(list)
    for day, of_day in farms.items():
        row = OutboxRow.objects.filter(hand=OuterRef("pk"), kind=kind, local_day=day, number=1)
        hands = Hand.objects.filter(farm__in=[one.pk for one in of_day], works=True).exclude(email="")
        for hand in hands.exclude(Exists(row)):
            found[hand.farm_id].append(hand)
    return found


def users_without_row(
    *, farms: Mapping[dt.date, Sequence[Farm]], kind: str, role: Role
) -> dict[int, list[User]]:
    """Return, by farm, the users in a role with an address for whom no row of the farm's day is made."""
    found: dict[int, list[User]] = defaultdict(list)
    for day, of_day in farms.items():
        row = OutboxRow.objects.filter(
            farm=OuterRef("farm"), user=OuterRef("user"), kind=kind, local_day=day, number=1
        )
        members = Membership.objects.filter(
            farm__in=[one.pk for one in of_day], role=role, user__is_active=True
        ).exclude(user__email="")
        for member in members.exclude(Exists(row)).select_related("user").order_by("user__username"):
            found[member.farm_id].append(member.user)
    return found


def farms_with_empty_rows(
    *, farms: Mapping[dt.date, Sequence[Farm]], now: dt.datetime
) -> dict[int, set[int | None]]:
    """Return, by farm, the numbers of the plans by which hands had nothing to do, where it is not too late to look again."""
    found: dict[int, set[int | None]] = defaultdict(set)
    for day, of_day in farms.items():
        empty = OutboxRow.objects.filter(
            farm__in=[one.pk for one in of_day],
            local_day=day,
            kind=SheetKind.HAND,
            number=1,
            state=RowState.EMPTY,
            give_up_at__gt=now,
        )
        for farm_id, plan_no in empty.order_by().values_list("farm_id", "plan_no").distinct():
            found[farm_id].add(plan_no)
    return found


def by_day(farms: Iterable[tuple[dt.date, Farm]]) -> dict[dt.date, list[Farm]]:
    """Return farms by the day their clocks show: at most three days at once on Earth."""
    found: dict[dt.date, list[Farm]] = defaultdict(list)
    for day, farm in farms:
        found[day].append(farm)
    return found
