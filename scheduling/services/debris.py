"""The farm's own numbers for the worth of a debris walk, and a walk proposed before a pass."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from farmops.farms.models import Farm, Season
from farmops.farms.operations import PIVOT_WORK, Operation
from scheduling.debris.worth import Walk, WorthError
from scheduling.models import DebrisNumbers, FieldPass, PassLink
from scheduling.selectors.debris import NOT_BEGUN, may_anybody_walk, walk_before
from scheduling.selectors.passes import named_pass
from scheduling.selectors.speaking import speaking
from scheduling.services.fact_rules import refuse_bad_number
from scheduling.services.record_rules import refuse_other_farms
from scheduling.services.refusals import BadRecord, PassIsFinished
from scheduling.services.work import call_off

MOST_CENTS = 10_000_000
PERCENT = Decimal(100)


def set_debris_numbers(
    *,
    farm: Farm,
    found_share_pct: Decimal,
    swath_ft: Decimal,
    walk_mph: Decimal,
    wage_cents_per_h: int | None = None,
    puncture_cents: int | None = None,
    lost_h: Decimal | None = None,
    lost_cents_per_h: int | None = None,
) -> DebrisNumbers:
    """Keep the farm's numbers; None takes them from its rates, bills and reports again. Raises BadRecord by name."""
    for name, value in (("found_share_pct", found_share_pct), ("swath_ft", swath_ft), ("walk_mph", walk_mph)):
        refuse_bad_number(name, value, least=Decimal(0), most=Decimal(500), decimals=1)
    if lost_h is not None:
        refuse_bad_number("lost_h", lost_h, least=Decimal(0), most=Decimal(999), decimals=1)
    cents = {
        "wage_cents_per_h": wage_cents_per_h,
        "puncture_cents": puncture_cents,
        "lost_cents_per_h": lost_cents_per_h,
    }
    for name, amount in cents.items():
        if amount is not None and not 0 <= amount <= MOST_CENTS:
            raise BadRecord(
                _("{name} is {amount}; it is 0 to {most} cents.").format(
                    name=name, amount=amount, most=MOST_CENTS
                ),
                fields={name: "not 0 to $100,000"},
            )
    try:
        Walk(
            found_share=found_share_pct / PERCENT,
            swath_ft=swath_ft,
            walk_mph=walk_mph,
            wage_cents_per_h=wage_cents_per_h or 0,
            puncture_cents=puncture_cents or 0,
            lost_h=lost_h or Decimal(0),
            lost_cents_per_h=lost_cents_per_h or 0,
        )
    except WorthError as error:
        name = "found_share_pct" if error.name == "found_share" else error.name
        raise BadRecord(str(error), fields={name: "out of range"}) from error
    row, _is_new = DebrisNumbers.objects.update_or_create(
        farm=farm,
        defaults={
            "found_share_pct": found_share_pct,
            "swath_ft": swath_ft,
            "walk_mph": walk_mph,
            "lost_h": lost_h,
            **cents,
        },
    )
    return row


@transaction.atomic
def propose_walk(*, farm: Farm, field_pass: FieldPass, leave_cents: int) -> tuple[FieldPass, bool]:
    """Put a debris walk before a pass that is not begun; return it, and False if it was there already.

    It covers the ground of the pass, waits for the work that the pass waits for (pivot moves aside, a walker minds no
    pivot) and the pass waits for it. `leave_cents` is what leaving it out of a plan costs: what it is expected to save.
    Raises PassIsFinished for a pass that is under way or over, BadRecord for one that no walk comes before, and where
    nobody on the farm may walk, since then the pass would wait for ever.
    """
    refuse_other_farms(farm, field_pass)
    if not 0 <= leave_cents <= MOST_CENTS:
        raise BadRecord(
            _("{name} is {amount}; it is 0 to {most} cents.").format(
                name="leave_cents", amount=leave_cents, most=MOST_CENTS
            ),
            fields={"leave_cents": "out of range"},
        )
    Season.objects.select_for_update().get(pk=field_pass.season_id)  # two who ask at once wait here
    ground = FieldPass.objects.select_related("season__field", "farm").get(pk=field_pass.pk)
    if ground.operation in PIVOT_WORK or ground.operation == Operation.DEBRIS_WALK:
        raise BadRecord(
            _("No debris walk comes before {work}: no tire rolls in it.").format(work=_named(ground)),
            fields={"field_pass": "no tires"},
        )
    if ground.state not in NOT_BEGUN:
        raise PassIsFinished(
            _("{work} is {state}; a walk would come too late for it.").format(
                work=_named(ground), state=_(ground.get_state_display())
            )
        )
    known = walk_before(field_pass=ground)
    if known is not None:
        return known, False
    if not may_anybody_walk(farm=farm):
        raise BadRecord(
            _("Nobody on the farm may walk a field for debris yet: name it among what a hand may do."),
            fields={"hand": "nobody may walk"},
        )
    turns = FieldPass.objects.filter(season=ground.season, operation=Operation.DEBRIS_WALK)
    walk = FieldPass.objects.create(
        farm=farm,
        season=ground.season,
        operation=Operation.DEBRIS_WALK,
        turn=(turns.aggregate(last=Max("turn"))["last"] or 0) + 1,
        area_ac=ground.area_ac,
        earliest_on=None,
        due_on=ground.due_on,
        leave_cents=leave_cents,
    )
    for before in _work_before(ground):
        PassLink.objects.create(farm=farm, before=before, after=walk)
    PassLink.objects.create(farm=farm, before=walk, after=ground)
    return walk, True


def call_walk_off(*, walk: FieldPass, now: dt.datetime) -> FieldPass:
    """Call a proposed walk off: what waited for it waits for what it waited for itself."""
    if walk.operation != Operation.DEBRIS_WALK:
        raise BadRecord(
            _("{work} is no debris walk.").format(work=_named(walk)), fields={"walk": "other work"}
        )
    return call_off(field_pass=walk, why="Not walked after all.", now=now)


def _named(ground: FieldPass) -> str:
    return named_pass(ground, language=speaking())


def _work_before(ground: FieldPass) -> list[FieldPass]:
    """Return the nearest passes before one that are no pivot's, each once."""
    found: dict[int, FieldPass] = {}
    seen: set[int] = set()
    waiting = [ground.pk]
    while waiting:
        for one in _directly_before(waiting.pop()):
            if one.pk in seen:
                continue
            seen.add(one.pk)
            if one.operation in PIVOT_WORK:
                waiting.append(one.pk)
            else:
                found[one.pk] = one
    return [found[pk] for pk in sorted(found)]


def _directly_before(pass_id: int) -> Iterable[FieldPass]:
    return FieldPass.objects.filter(links_after__after_id=pass_id).order_by("pk")
