"""Holding a pass to what the manager chose for it: an outfit, an hour, or both; and letting it go again."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from farmops.farms.operations import Operation
from scheduling.models import FieldPass
from scheduling.selectors.fleet import Fleet
from scheduling.selectors.holding import (
    capital,
    holds_what_it_waits_for,
    not_at_that_hour,
    outfits_that_can,
    shut_at_that_hour,
    spoken,
    takes_what_is_held,
)
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.outfits import Outfit
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.speaking import day_said, moment_said, speaking
from scheduling.slips.words import work_words

FARTHEST = dt.timedelta(days=60)
"""Farm judgement: nobody knows further ahead who goes out at what hour."""
MOST_NAMED = 6
LONGEST_OUTFIT = 120


class CannotBeFixed(DomainError):
    """A pass that is finished or called off has nothing left to hold."""

    code = "cannot_be_fixed"
    kind = Kind.CONFLICT


class BadFixing(DomainError):
    """The outfit or the hour that a pass would be held to cannot be; `fields` says which of them."""

    code = "bad_fixing"


@transaction.atomic
def fix_pass(
    *,
    field_pass: FieldPass,
    outfit: str = "",
    starts_at: dt.datetime | None = None,
    not_before: dt.datetime,
    as_of: dt.date,
) -> FieldPass:
    """Hold a pass to an outfit, an hour, or both; what it was held to before no longer counts.

    `not_before` is the first instant that can still be planned, `as_of` the last day whose weather is known. Holding
    twice to the same changes nothing. What cannot stand by itself is refused: an outfit that cannot do the work, an
    hour that is over, in which somebody is off, something is down or the field is shut, or that another fixed pass
    stands against. What only the whole week can tell, the plan tells.
    """
    Farm.objects.select_for_update().get(pk=field_pass.farm_id)
    row = FieldPass.objects.select_for_update().get(pk=field_pass.pk)
    refuse_fixing(field_pass=row, outfit=outfit, starts_at=starts_at, not_before=not_before, as_of=as_of)
    FieldPass.objects.filter(pk=row.pk).update(fixed_from=starts_at, fixed_outfit=outfit)
    field_pass.refresh_from_db()
    return field_pass


def refuse_fixing(
    *,
    field_pass: FieldPass,
    outfit: str = "",
    starts_at: dt.datetime | None = None,
    not_before: dt.datetime,
    as_of: dt.date,
) -> None:
    """Refuse what `fix_pass` refuses, and change nothing."""
    if not outfit and starts_at is None:
        raise BadFixing(
            _("Say what to hold to: an outfit, an hour, or both."),
            fields={"outfit": "or starts_at is needed"},
        )
    row = FieldPass.objects.select_related("season__field__pivot__pump", "farm").get(pk=field_pass.pk)
    farm = row.farm
    if row.state not in OPEN_STATES:
        raise CannotBeFixed(
            _("{what} is {state}; there is nothing left to hold.").format(
                what=capital(spoken(row)), state=_(row.get_state_display())
            )
        )
    clock = Horizon(not_before, farm.zone, 1).clock
    if starts_at is not None:
        _refuse_odd_hour(row, starts_at.astimezone(clock), not_before.astimezone(clock))
    first_on = local_date(starts_at or not_before, farm.zone)
    outfits, fleet = outfits_that_can(farm=farm, field_pass=row, first_on=first_on, keep=[outfit])
    chosen = _chosen(row, outfit, outfits)
    if starts_at is not None:
        _refuse_hour(farm, row, chosen, outfits, fleet, starts_at, as_of)


def let_go(*, field_pass: FieldPass) -> FieldPass:
    """Let the planner choose outfit and hour of a pass again. Doing it twice changes nothing."""
    FieldPass.objects.filter(pk=field_pass.pk).update(fixed_from=None, fixed_outfit="")
    field_pass.refresh_from_db()
    return field_pass


def _refuse_odd_hour(row: FieldPass, starts_at: dt.datetime, not_before: dt.datetime) -> None:
    if starts_at.second or starts_at.microsecond:
        says = _("It begins at a whole minute, not at {clock}.").format(clock=f"{starts_at:%H:%M:%S}")
        raise _at_hour(says, "not a whole minute")
    if starts_at < not_before:
        says = _("{at} is over; nothing begins before {first}.").format(
            at=capital(moment_said(starts_at)), first=moment_said(not_before)
        )
        raise _at_hour(says, "is over")
    if starts_at - not_before > FARTHEST:
        raise _at_hour(
            _("{at} is more than {days} days ahead.").format(
                at=capital(moment_said(starts_at)), days=FARTHEST.days
            ),
            f"more than {FARTHEST.days} days ahead",
        )
    if row.earliest_on is not None and starts_at.date() < row.earliest_on:
        says = _("It may not start before {date}.").format(date=day_said(row.earliest_on))
        raise _at_hour(says, "too early")


def _chosen(row: FieldPass, outfit: str, outfits: list[Outfit]) -> Outfit | None:
    if not outfits:
        raise BadFixing(
            _("Nobody and nothing here can {work} in these days.").format(work=_work(row)),
            fields={"outfit": "there is none"},
        )
    if not outfit:
        return None
    chosen = next((one for one in outfits if one.id == outfit), None)
    if chosen is None or len(outfit) > LONGEST_OUTFIT:
        can = ", ".join(one.id for one in outfits[:MOST_NAMED])
        more = len(outfits) - MOST_NAMED
        says = _("{outfit} cannot {work} on {field}; these can: {can}.")
        if more > 0:
            says = _("{outfit} cannot {work} on {field}; these can: {can} and {more} more.")
        raise BadFixing(
            says.format(outfit=outfit, work=_work(row), field=row.season.field.name, can=can, more=more),
            fields={"outfit": "cannot do this"},
        )
    return chosen


def _refuse_hour(
    farm: Farm,
    row: FieldPass,
    chosen: Outfit | None,
    outfits: list[Outfit],
    fleet: Fleet,
    starts_at: dt.datetime,
    as_of: dt.date,
) -> None:
    why = holds_what_it_waits_for(field_pass=row, starts_at=starts_at)
    if not why and chosen is not None:
        why = not_at_that_hour(
            farm=farm, fleet=fleet, outfit=chosen, starts_at=starts_at
        ) or takes_what_is_held(farm=farm, field_pass=row, outfit=chosen, starts_at=starts_at, fleet=fleet)
    elif not why:
        whys = [not_at_that_hour(farm=farm, fleet=fleet, outfit=one, starts_at=starts_at) for one in outfits]
        none = _("No outfit can begin then.")
        why = f"{none} {whys[0]}" if all(whys) else ""
    if why:
        raise _at_hour(why, "cannot stand")
    shut = shut_at_that_hour(farm=farm, field_pass=row, starts_at=starts_at, as_of=as_of)
    if shut:
        local = starts_at.astimezone(Horizon(starts_at, farm.zone, 1).clock)
        raise _at_hour(
            _("{field} is shut for it at {at}: {why}.")
            .format(field=row.season.field.name, at=moment_said(local), why=shut)
            .replace("..", "."),
            "the field is shut",
        )


def _work(row: FieldPass) -> str:
    return work_words(Operation(row.operation), speaking())


def _at_hour(says: str, why: str) -> BadFixing:
    return BadFixing(says, fields={"starts_at": why})
