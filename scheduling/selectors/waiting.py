"""Which open passes a week's problem can hold, and why the others must wait."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.db.models import Q

from farmops.farms.models import Farm
from farmops.farms.operations import PIVOT_WORK, Operation
from scheduling.models import FieldPass, PassLink, PassState
from scheduling.selectors.gaps import least_gap_min, met_gaps
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.not_due import FIXED_LATER, NOT_BEFORE
from scheduling.selectors.passes import open_passes, pass_key
from scheduling.selectors.plans import ALL_REPORTED

DAY_MIN = 24 * 60
NEARLY_ALL = Decimal("0.995")
"""Farm judgement: less than half an acre in a hundred is how acres are read off, and no work that is left."""


@dataclass(frozen=True)
class NotOffered:
    """A pass the problem does not hold. `is_a_clash`: it must be done this week, and nothing here can do it."""

    key: str
    why: str
    is_a_clash: bool = False


@dataclass(frozen=True)
class Offer:
    """The passes that can be planned, the links that still bind them, and the rest with its reasons."""

    passes: list[FieldPass]
    links_of: Mapping[int, list[PassLink]]
    met_links_of: Mapping[int, list[PassLink]]
    not_offered: list[NotOffered] = field(default_factory=list)
    soonest_of: Mapping[int, int] = field(default_factory=dict)
    """The first minute that the gap after finished work allows, by the row id of a pass."""


def offer_of(
    *, farm: Farm, horizon: Horizon, missing_of: Mapping[int, str], passes: Sequence[FieldPass] | None = None
) -> Offer:
    """Sort the farm's open passes into those that can be planned and those that cannot.

    `missing_of` names the passes that no outfit can do, with what is down or away for each, if anything is.
    """
    waiting = list(passes if passes is not None else open_passes(farm=farm))
    ids = [field_pass.pk for field_pass in waiting]
    links = _links(farm, ids)
    refused = {
        field_pass.pk: reason
        for field_pass in waiting
        if (reason := _own_reason(field_pass, horizon, missing_of.get(field_pass.pk))) is not None
    }
    done = {field_pass.pk for field_pass in waiting if is_all_reported(field_pass)}
    open_ids = set(ids)
    soonest = met_gaps([one for some in links.values() for one in some if _is_met(one, done)], horizon)
    for field_pass in waiting:
        if soonest.get(field_pass.pk, 0) >= horizon.minutes and field_pass.pk not in refused:
            refused[field_pass.pk] = _too_soon(field_pass, soonest[field_pass.pk], horizon)
    found_more = True
    while found_more:
        found_more = False
        for field_pass in waiting:
            if field_pass.pk in refused:
                continue
            for link in links.get(field_pass.pk, []):
                if _is_met(link, done):
                    continue
                if link.before_id in open_ids and link.before_id not in refused:
                    if least_gap_min(link) < horizon.minutes:
                        continue
                    refused[field_pass.pk] = _too_long(field_pass, link)
                    found_more = True
                    break
                refused[field_pass.pk] = _waits(field_pass, link.before, refused.get(link.before_id))
                found_more = True
                break
    offered = [field_pass for field_pass in waiting if field_pass.pk not in refused]
    return Offer(
        passes=offered,
        links_of={p.pk: [k for k in links.get(p.pk, []) if not _is_met(k, done)] for p in offered},
        met_links_of={p.pk: [k for k in links.get(p.pk, []) if _is_met(k, done)] for p in offered},
        not_offered=[refused[field_pass.pk] for field_pass in waiting if field_pass.pk in refused],
        soonest_of=soonest,
    )


def _links(farm: Farm, ids: Sequence[int]) -> dict[int, list[PassLink]]:
    """Return what each pass waits for; what was called off is passed over to what it waited for, with that one's gap."""
    rows: dict[int, list[PassLink]] = {}
    asked = PassLink.objects.filter(Q(after__in=ids) | Q(after__state=PassState.CALLED_OFF), farm=farm)
    for link in asked.select_related("before__season__field").order_by("id"):
        rows.setdefault(link.after_id, []).append(link)
    links: dict[int, list[PassLink]] = {}
    for pass_id in ids:
        waiting = list(rows.get(pass_id, []))
        while waiting:
            link = waiting.pop(0)
            if link.before.state == PassState.CALLED_OFF:
                waiting += [
                    PassLink(before=one.before, after_id=pass_id, min_gap_min=one.min_gap_min)
                    for one in rows.get(link.before_id, [])
                ]
            else:
                links.setdefault(pass_id, []).append(link)
    return links


def is_all_reported(field_pass: FieldPass) -> bool:
    """Return whether work records cover all acres of a pass, near enough, that nobody called finished yet."""
    return 0 < field_pass.area_ac * NEARLY_ALL <= field_pass.done_ac


def _is_met(link: PassLink, done: set[int]) -> bool:
    return link.before.state == PassState.FINISHED or link.before_id in done


def _own_reason(field_pass: FieldPass, horizon: Horizon, missing: str | None) -> NotOffered | None:
    key = pass_key(field_pass)
    if is_all_reported(field_pass):
        return NotOffered(
            key,
            f"All {field_pass.area_ac} {ALL_REPORTED}, or correct a record.",
        )
    if field_pass.earliest_on and horizon.midnight(field_pass.earliest_on) >= horizon.minutes:
        return NotOffered(key, f"{NOT_BEFORE}{field_pass.earliest_on:%A, %B} {field_pass.earliest_on.day}.")
    if field_pass.fixed_from and horizon.after(field_pass.fixed_from) >= horizon.minutes:
        there = field_pass.fixed_from.astimezone(horizon.clock)
        return NotOffered(key, f"{FIXED_LATER}{there:%A, %B} {there.day}, after this plan.")
    if missing is not None:
        says = f"{_no_outfit(field_pass)}{f': {missing}' if missing else ''}."
        return NotOffered(key, says, is_a_clash=field_pass.leave_cents is None)
    return None


def _no_outfit(field_pass: FieldPass) -> str:
    work = field_pass.get_operation_display()
    if field_pass.fixed_outfit:
        return f"Its fixed outfit {field_pass.fixed_outfit} cannot {work} in these days"
    if field_pass.operation == Operation.DEBRIS_WALK:
        return f"No hand here can {work} in these days"
    if field_pass.operation in PIVOT_WORK:
        return f"No pivot here, with a hand where it needs one, can do this ({work}) in these days"
    return f"No tractor, implement and hand here can {work} in these days"


def _waits(field_pass: FieldPass, before: FieldPass, reason: NotOffered | None) -> NotOffered:
    why = f"It waits for {pass_key(before)}, which is not in this plan."
    is_a_clash = field_pass.leave_cents is None and reason is not None and reason.is_a_clash
    return NotOffered(pass_key(field_pass), why, is_a_clash)


def _too_soon(field_pass: FieldPass, soonest_min: int, horizon: Horizon) -> NotOffered:
    there = horizon.at(soonest_min).astimezone(horizon.clock)
    says = f"{NOT_BEFORE}{there:%A, %B} {there.day}, after what it waits for."
    return NotOffered(pass_key(field_pass), says)


def _too_long(field_pass: FieldPass, link: PassLink) -> NotOffered:
    days = -(-least_gap_min(link) // DAY_MIN)
    before = pass_key(link.before)
    says = f"It waits for {before} and at least {days} days after it, which is not within this plan."
    return NotOffered(pass_key(field_pass), says)
