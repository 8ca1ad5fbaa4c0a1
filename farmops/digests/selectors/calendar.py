"""Reading what stands in calendars."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import fields

from django.db.models import Q

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.digests.calendar_file import CalendarEntry
from farmops.digests.models import CalendarEvent, PersonLink, Purpose
from farmops.farms.models import Farm, Hand, Membership, Role

KEPT = dt.timedelta(days=14)
"""Farm judgement: calendars that look but once a week still learn what was taken out of them."""
_OF_ENTRY = tuple(one.name for one in fields(CalendarEntry))
KEYS_OF = {Role.MANAGER: "day ", Role.BOOKKEEPER: "books "}
"""How the keys begin of what the calendar of a role shows."""


def entries_of_day(*, farm: Farm, day: dt.date) -> dict[int, list[CalendarEntry]]:
    """Return what stands in the calendars on a day of the farm's clock, by the id of the hand."""
    return entries_of_farms(farms=[farm.pk], day=day).get(farm.pk, {})


def entries_of_farms(*, farms: Collection[int], day: dt.date) -> dict[int, dict[int, list[CalendarEntry]]]:
    """Return what `entries_of_day` does by the row id of each farm that has any: one query for all of them."""
    found: dict[int, dict[int, list[CalendarEntry]]] = defaultdict(lambda: defaultdict(list))
    standing = CalendarEvent.objects.filter(farm__in=farms, local_day=day, is_cancelled=False)
    of_hands = standing.filter(hand__isnull=False).order_by("starts_at", "key")
    for farm_id, hand_id, *told in of_hands.values_list("farm_id", "hand_id", *_OF_ENTRY):
        found[farm_id][hand_id].append(CalendarEntry(*told))
    return found


def events_of_feed(*, farm: Farm, person: Hand | User, now: dt.datetime) -> list[CalendarEvent]:
    """Return a person's events of the last two weeks and of all days to come; cancelled ones for two weeks after.

    A user sees what belongs to the roles that the user has on the farm now; without any there is nothing to see.
    """
    since = local_date(now, farm.zone) - KEPT
    shown = Q(is_cancelled=False) | Q(changed_at__gte=now - KEPT)
    events = CalendarEvent.objects.filter(shown, farm=farm, local_day__gte=since)
    if isinstance(person, Hand):
        return list(events.filter(hand=person))
    of_roles = Q(pk__in=[])
    for role in roles_of(farm=farm, user=person):
        of_roles |= Q(key__startswith=KEYS_OF[role])
    return list(events.filter(of_roles, user=person))


def roles_of(*, farm: Farm, user: User) -> list[Role]:
    """Return the roles of a user on a farm for which a calendar is kept."""
    members = Membership.objects.filter(farm=farm, user=user, role__in=KEYS_OF, user__is_active=True)
    return [Role(role) for role in members.order_by("role").values_list("role", flat=True)]


def users_with_calendar(*, farm: Farm) -> list[User]:
    """Return the users of a farm for whom a calendar is kept, in the order of their names."""
    members = Membership.objects.filter(farm=farm, role__in=KEYS_OF).values("user")
    return list(User.objects.filter(pk__in=members, is_active=True).order_by("username"))


def readers_of(*, farm: Farm) -> list[tuple[User, Role]]:
    """Return the users of a farm who read a calendar by a link, each with each role for which one is kept."""
    links = PersonLink.objects.filter(farm=farm, purpose=Purpose.CALENDAR, revoked_at=None)
    members = Membership.objects.filter(
        farm=farm, role__in=KEYS_OF, user__is_active=True, user__in=links.values("user")
    )
    ordered = members.select_related("user").order_by("user", "role")
    return [(one.user, Role(one.role)) for one in ordered]


def entries_of(events: Iterable[CalendarEvent]) -> list[CalendarEntry]:
    """Return events as they are written to a file."""
    return [CalendarEntry(*(getattr(one, name) for name in _OF_ENTRY)) for one in events]


def farms_with_calendars() -> list[Farm]:
    """Return the farms of which somebody reads a calendar by a link."""
    links = PersonLink.objects.filter(
        Q(hand__works=True) | Q(user__is_active=True), purpose=Purpose.CALENDAR, revoked_at=None
    )
    return list(Farm.objects.filter(pk__in=links.values("farm")).order_by("code"))
