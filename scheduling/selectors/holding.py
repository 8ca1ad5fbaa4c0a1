"""What the manager can hold a pass to: the outfits that can do it, and what stands against an hour."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from farmops.farms.models import Farm
from farmops.farms.operations import Operation
from scheduling.models import FieldPass, PassLink
from scheduling.selectors.fleet import Fleet, fleet_of, fleet_to_choose_from
from scheduling.selectors.horizon import Horizon, Stretch
from scheduling.selectors.outfits import CUSTOM, Outfit, minutes_for, outfits_for
from scheduling.selectors.passes import OPEN_STATES, part_said, pass_key
from scheduling.selectors.prices import PlanPrices
from scheduling.selectors.resources import hand_calendar
from scheduling.selectors.speaking import SPANISH, day_said, moment_said, named_in, speaking
from scheduling.selectors.windows import pass_windows
from scheduling.slips.words import clock_words, work_words

LOOKED_AHEAD_DAYS = 21


def no_prices() -> PlanPrices:
    """Return prices that are all 0, for asking who can do a pass and not what it costs."""
    return PlanPrices(defaultdict(int), defaultdict(int), defaultdict(int), defaultdict(int))


def outfits_that_can(
    *, farm: Farm, field_pass: FieldPass, first_on: dt.date, keep: Sequence[str] = ()
) -> tuple[list[Outfit], Fleet]:
    """Return the outfits that can do a pass within three weeks of a day, those named in `keep` among them if they can."""
    fleet = fleet_of(farm=farm, horizon=_from(farm, first_on, LOOKED_AHEAD_DAYS))
    return _outfits_among(fleet, field_pass, keep), fleet


def outfits_to_offer(
    *, farm: Farm, field_pass: FieldPass, first_on: dt.date, keep: Sequence[str] = ()
) -> list[Outfit]:
    """Return the outfits that `outfits_that_can` finds, and read no more than it takes to name them."""
    fleet = fleet_to_choose_from(
        farm=farm,
        horizon=_from(farm, first_on, LOOKED_AHEAD_DAYS),
        operation=field_pass.operation,
        field_id=field_pass.season.field_id,
    )
    return _outfits_among(fleet, field_pass, keep)


def _outfits_among(fleet: Fleet, field_pass: FieldPass, keep: Sequence[str]) -> list[Outfit]:
    kept = {*keep, field_pass.fixed_outfit} - {""}
    return outfits_for(field_pass=field_pass, fleet=fleet, prices=no_prices(), keep=kept)


def outfit_in_words(outfit: Outfit) -> str:
    """Return the names of what goes out together, such as `tractor 2 + 28 ft disk, Rosa`."""
    pulled = " + ".join(named_in(one) for one in (outfit.machine, outfit.implement) if one is not None)
    if outfit.id == CUSTOM:
        return _("somebody hired")
    names = [pulled] if pulled else [_("the pivot")] if ":" in outfit.id and outfit.machine is None else []
    return ", ".join([*names, *([outfit.hand.name] if outfit.hand is not None else [])])


def not_at_that_hour(*, farm: Farm, fleet: Fleet, outfit: Outfit, starts_at: dt.datetime) -> str:
    """Return why an outfit cannot begin at an instant, in a sentence; empty where nothing of it stands against it."""
    horizon = Horizon(starts_at, farm.zone, 1)
    for one in (outfit.machine, outfit.implement):
        if one is not None and one.down_until is not None and one.down_until > starts_at:
            return _("{what} is down until about {at}.").format(
                what=capital(named_in(one)), at=moment_said(one.down_until.astimezone(horizon.clock))
            )
    if outfit.hand is None:
        return ""
    day = horizon.local_start.date()
    whole = _from(farm, day, 1)
    shifts = hand_calendar(hand=outfit.hand, fleet=fleet, horizon=whole, extra_cents_per_h=0)
    minute = whole.after(starts_at)
    if any(shift.from_min <= minute < shift.to_min for shift in shifts):
        return ""
    if not shifts:
        return _("{hand} does not work on {day}.").format(hand=outfit.hand.name, day=day_said(day))
    joint = pgettext("between the last two", "and")
    told = f" {joint} ".join(
        _("{begins} to {ends}").format(begins=_clock(whole, s.from_min), ends=_clock(whole, s.to_min))
        for s in _joined(shifts)
    )
    return _("{hand} works {hours} on {day}.").format(hand=outfit.hand.name, hours=told, day=day_said(day))


def shut_at_that_hour(*, farm: Farm, field_pass: FieldPass, starts_at: dt.datetime, as_of: dt.date) -> str:
    """Return what shuts the field for a pass at an instant, by what is known at the end of `as_of`; empty if it is open."""
    day = starts_at.astimezone(Horizon(starts_at, farm.zone, 1).clock).date()
    whole = _from(farm, day, 1)
    windows = pass_windows(
        farm=farm,
        passes=[field_pass],
        starts_at=whole.start,
        days=1,
        as_of=as_of,
        fields=[field_pass.season.field],
    ).of(pass_key(field_pass))
    minute = whole.after(starts_at)
    if any(one.from_min <= minute < one.to_min for one in windows.open):
        return ""
    return next(
        (
            one.says_es if speaking() == SPANISH else one.says_en
            for one in windows.shut
            if one.from_min <= minute < one.to_min
        ),
        _("no hour of it is known to be open"),
    )


def holds_what_it_waits_for(*, field_pass: FieldPass, starts_at: dt.datetime) -> str:
    """Return which pass before it or behind it is fixed the wrong way round, in a sentence; empty where none is."""
    links = PassLink.objects.select_related("before__season__field", "after__season__field")
    for link in links.filter(
        after=field_pass, before__fixed_from__gte=starts_at, before__state__in=OPEN_STATES
    ):
        return _("It waits for {what}, which is itself fixed to begin no sooner.").format(
            what=spoken(link.before)
        )
    for link in links.filter(
        before=field_pass, after__fixed_from__lte=starts_at, after__state__in=OPEN_STATES
    ):
        return _("{what} waits for it, and is itself fixed to begin no later.").format(
            what=capital(spoken(link.after))
        )
    return ""


def takes_what_is_held(
    *, farm: Farm, field_pass: FieldPass, outfit: Outfit, starts_at: dt.datetime, fleet: Fleet
) -> str:
    """Return which other fixed pass holds a part of the outfit at that time, in a sentence; empty where none does.

    Each pass is held for its bare minutes at least; nights and shut hours can make it longer, which the plan finds out.
    """
    ends_at = starts_at + _least_time(field_pass, outfit, fleet)
    others = FieldPass.objects.filter(
        farm=farm,
        state__in=OPEN_STATES,
        fixed_from__lt=ends_at,
        fixed_from__gt=starts_at - dt.timedelta(days=2),
    ).exclude(pk=field_pass.pk)
    for other in others.exclude(fixed_outfit="").select_related("season__field__pivot__pump").order_by("id"):
        outfits = outfits_for(field_pass=other, fleet=fleet, prices=no_prices(), keep=[other.fixed_outfit])
        theirs = next((one for one in outfits if one.id == other.fixed_outfit), None)
        if theirs is None or other.fixed_from is None:
            continue
        shared = set(theirs.resources) & set(outfit.resources)
        if shared and other.fixed_from + _least_time(other, theirs, fleet) > starts_at:
            there = other.fixed_from.astimezone(Horizon(other.fixed_from, farm.zone, 1).clock)
            return _("{who} is held then by {what}, fixed from {at}.").format(
                who=capital(_name(outfit, shared)), what=spoken(other), at=moment_said(there)
            )
    return ""


def spoken(field_pass: FieldPass) -> str:
    """Return a pass as people say it, such as `disk on Pond 80`."""
    part = f" ({part_said(field_pass.part, speaking())})" if field_pass.part else ""
    work = work_words(Operation(field_pass.operation), speaking())
    return _("{work} on {field}").format(work=f"{work}{part}", field=field_pass.season.field.name)


def _from(farm: Farm, day: dt.date, days: int) -> Horizon:
    clock = Horizon(dt.datetime(2000, 1, 1, tzinfo=dt.UTC), farm.zone, 1).clock
    return Horizon(dt.datetime.combine(day, dt.time(), tzinfo=clock), farm.zone, days)


def _least_time(field_pass: FieldPass, outfit: Outfit, fleet: Fleet) -> dt.timedelta:
    area_ac = max(field_pass.area_ac - field_pass.done_ac, field_pass.area_ac * 0)
    if field_pass.area_ac and not area_ac:
        return dt.timedelta()
    return dt.timedelta(
        minutes=minutes_for(field_pass=field_pass, outfit=outfit, area_ac=area_ac, fleet=fleet)
    )


def _name(outfit: Outfit, shared: set[str]) -> str:
    """Return the name of the first part of an outfit that is among the shared ones."""
    parts = [one for one in (outfit.machine, outfit.implement, outfit.hand) if one is not None]
    named = dict(zip(outfit.resources, parts)) if len(parts) == len(outfit.resources) else {}
    return next(
        (named_in(named[one]) for one in outfit.resources if one in shared and one in named),
        _("its outfit"),
    )


def _joined(shifts: Sequence[Stretch]) -> list[Stretch]:
    joined: list[Stretch] = []
    for one in shifts:
        if joined and joined[-1].to_min == one.from_min:
            joined[-1] = Stretch(joined[-1].from_min, one.to_min)
        else:
            joined.append(one)
    return joined


def _clock(horizon: Horizon, minute: int) -> str:
    local = horizon.at(minute).astimezone(horizon.clock)
    return clock_words(local.time(), speaking())


def capital(text: str) -> str:
    """Return a sentence with its first letter as a capital."""
    return text[:1].upper() + text[1:]
