"""Punctures against acres covered, field by field, less what walks found; the passes that a walk would come before."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Q, QuerySet, Sum

from farmops.farms.models import WORKING_KINDS, Farm, Field, Hand, Implement, Machine
from farmops.farms.operations import PIVOT_WORK, TILLAGE, Operation
from scheduling.debris.rates import Counted, FieldRate, field_rates
from scheduling.debris.walked import Walked, share_left
from scheduling.models import DebrisNumbers, FieldPass, IncidentKind, PassLink, PassState, WorkRecord
from scheduling.selectors.incidents import IncidentFacts, incident_facts
from scheduling.selectors.passes import OPEN_STATES, open_passes

NOT_BEGUN = (PassState.WAITING, PassState.PLANNED, PassState.SENT)


@dataclass(frozen=True)
class FieldDebris:
    """A field's punctures by debris, the acres that machines covered, and what may be believed of its rate.

    `by_stubs` punctures are no debris and in no rate. `rate` is that of ground that nobody walked, and None where
    nothing was covered on the whole farm; `walked` are the walks done, the first one first.
    """

    field: Field
    punctures: tuple[IncidentFacts, ...]
    by_stubs: int
    covered_ac: Decimal
    rate: FieldRate | None
    walked: tuple[Walked, ...] = ()
    found_share: float = 0.0

    @property
    def raw_per_1000_ac(self) -> float | None:
        """Return the punctures per 1,000 acres as counted; None where no acre was covered."""
        return len(self.punctures) / float(self.covered_ac) * 1000 if self.covered_ac else None

    def left_on(self, season_id: int) -> float:
        """Return the share of a season's debris that the walks have left, above 0 to 1."""
        return share_left(self.walked, season_id=season_id, found_share=self.found_share)

    def rate_on(self, season_id: int) -> FieldRate | None:
        """Return the rate on a season's ground as the walks have left it."""
        return None if self.rate is None else self.rate.thinned(self.left_on(season_id))


@dataclass(frozen=True)
class FarmDebris:
    """All fields of a farm, and the punctures that name no field and so are in no field's rate."""

    fields: tuple[FieldDebris, ...]
    nowhere: int

    @property
    def covered_ac(self) -> Decimal:
        """Return the acres that machines covered on all fields."""
        return sum((one.covered_ac for one in self.fields), Decimal(0))

    @property
    def punctures(self) -> int:
        """Return the punctures by debris on all fields."""
        return sum(len(one.punctures) for one in self.fields)


def farm_debris(*, farm: Farm) -> FarmDebris:
    """Return each field's punctures per 1,000 acres covered, leaning on the other fields; in the order of their codes.

    Covered are the acres of work records that stand and that name a machine, each pass anew. Work by somebody hired is
    on somebody else's tires, and a walk or a pivot on none. Acres covered after a walk of the season weigh by the share
    of debris that it left, so that a quiet time after a walk does not speak for the field.
    """
    fields = list(Field.objects.filter(farm=farm).order_by("code").defer("boundary"))
    walked = _walked(farm)
    found_share = float(debris_numbers(farm=farm).found_share_pct) / 100 if walked else 0.0
    covered, weighed = _covered_ac(farm, walked, found_share)
    on_field: dict[int, list[IncidentFacts]] = {}
    nowhere = 0
    for one in incident_facts(farm=farm, kind=IncidentKind.PUNCTURE):
        if one.is_mistake:
            continue
        if one.incident.field_id is None:
            nowhere += 1
        else:
            on_field.setdefault(one.incident.field_id, []).append(one)
    by_debris = {pk: tuple(one for one in found if not one.is_by_stub) for pk, found in on_field.items()}
    counted = {
        str(field.pk): Counted(len(by_debris.get(field.pk, ())), weighed.get(field.pk, 0.0))
        for field in fields
    }
    rates = field_rates(counted) if any(covered.values()) else {}
    found_fields = tuple(
        FieldDebris(
            field,
            by_debris.get(field.pk, ()),
            len(on_field.get(field.pk, ())) - len(by_debris.get(field.pk, ())),
            covered.get(field.pk, Decimal(0)),
            rates.get(str(field.pk)),
            tuple(walked.get(field.pk, ())),
            found_share,
        )
        for field in fields
    )
    return FarmDebris(found_fields, nowhere)


def debris_numbers(*, farm: Farm) -> DebrisNumbers:
    """Return the farm's own numbers, or the defaults in a row that is not kept."""
    row = DebrisNumbers.objects.filter(farm=farm).first()
    if row is None:
        row = DebrisNumbers(farm=farm)
        for name in ("found_share_pct", "swath_ft", "walk_mph"):
            setattr(row, name, Decimal(getattr(row, name)))  # defaults may be whole numbers
    return row


def machine_passes(*, farm: Farm) -> Mapping[int, list[FieldPass]]:
    """Return the open passes in which the farm's own tires roll, by field and in the order of the work.

    Strips that a parked pivot stood on go with the ground beside them and are no passes of their own here.
    """
    found: dict[int, list[FieldPass]] = {}
    rows = open_passes(farm=farm).defer("season__field__boundary")
    for one in rows.order_by("season__field__code", "id"):
        if _rolls(one):
            found.setdefault(one.season.field_id, []).append(one)
    return found


def pass_to_walk_before(passes: list[FieldPass]) -> FieldPass | None:
    """Return the pass that a walk would come before: the first tillage not begun, else the first work not begun."""
    not_begun = [one for one in passes if one.state in NOT_BEGUN]
    return next((one for one in not_begun if one.operation in TILLAGE), not_begun[0] if not_begun else None)


def walk_before(*, field_pass: FieldPass) -> FieldPass | None:
    """Return the debris walk that a pass waits for, to be done or done; None where there is none but one called off."""
    rows = FieldPass.objects.filter(farm=field_pass.farm_id, operation=Operation.DEBRIS_WALK)
    rows = rows.exclude(state=PassState.CALLED_OFF).select_related("season__field")
    return rows.filter(links_after__after=field_pass).order_by("id").last()


def walks_before(*, farm: Farm) -> dict[int, FieldPass]:
    """Return the debris walk of `walk_before` of each pass that has one, by the pass's row id, in one query."""
    links = PassLink.objects.filter(farm=farm, before__operation=Operation.DEBRIS_WALK)
    links = links.exclude(before__state=PassState.CALLED_OFF).select_related("before__season__field")
    return {link.after_id: link.before for link in links.order_by("before")}


def walks_in_the_way(*, farm: Farm, passes: Collection[FieldPass] | None = None) -> dict[int, FieldPass]:
    """Return, by the pass that waits for it, each debris walk that is neither done nor called off: nothing goes out
    there before. Of all passes, or of those that some passes are or wait for."""
    links = PassLink.objects.filter(
        farm=farm,
        before__operation=Operation.DEBRIS_WALK,
        before__state__in=OPEN_STATES,
        after__state__in=OPEN_STATES,
    )
    if passes is not None:
        links = links.filter(Q(before__in=passes) | Q(after__in=passes))
    return {
        link.after_id: link.before for link in links.select_related("before__season__field").order_by("id")
    }


def _rolls(one: FieldPass) -> bool:
    if one.part or one.custom_ac_per_h is not None or one.operation in PIVOT_WORK:
        return False
    return one.operation != Operation.DEBRIS_WALK and one.area_ac > one.done_ac


def _covered_ac(
    farm: Farm, walked: Mapping[int, list[Walked]], found_share: float
) -> tuple[dict[int, Decimal], dict[int, float]]:
    """Return by field the acres that machines covered, and the same weighed by the debris that was left."""
    rows = (
        WorkRecord.objects.filter(farm=farm, superseded_by__isnull=True, machine__isnull=False)
        .values_list("field_pass__season__field_id", "field_pass__season_id", "work_on")
        .annotate(Sum("done_ac"))
        .order_by()
    )
    covered: dict[int, Decimal] = defaultdict(Decimal)
    weighed: dict[int, float] = defaultdict(float)
    for field_id, season_id, work_on, acres in rows:
        walks = walked.get(field_id, [])
        covered[field_id] += acres
        weighed[field_id] += float(acres) * share_left(
            walks, season_id=season_id, found_share=found_share, on=work_on
        )
    return dict(covered), dict(weighed)


def _walked(farm: Farm) -> dict[int, list[Walked]]:
    """Return by field the walks of which acres or their end were reported, in the order of their last days."""
    last_on: dict[int, dt.date] = {}
    records = WorkRecord.objects.filter(
        farm=farm, field_pass__operation=Operation.DEBRIS_WALK, superseded_by__isnull=True
    )
    for pass_id, work_on in records.values_list("field_pass_id", "work_on"):
        last_on[pass_id] = max(work_on, last_on.get(pass_id, work_on))
    found: dict[int, list[Walked]] = {}
    rows = FieldPass.objects.filter(pk__in=last_on).select_related("season")
    for walk in sorted(rows, key=lambda one: (last_on[one.pk], one.pk)):
        share = _share_walked(walk)
        if share:
            found.setdefault(walk.season.field_id, []).append(Walked(walk.season_id, last_on[walk.pk], share))
    return found


def _share_walked(walk: FieldPass) -> float:
    """Return the share of its ground that a walk covered: as reported, and all where its end is told without acres."""
    if walk.done_ac and walk.area_ac:
        return min(1.0, float(walk.done_ac / walk.area_ac))
    return 1.0 if walk.state == PassState.FINISHED else 0.0


def outfits_able(*, farm: Farm, operation: str) -> list[tuple[Machine, Implement | None, Hand]]:
    """Return every machine with an implement and a hand that can do a kind of work, whether they are free or not."""
    hands = [one for one in _able_hands(farm, operation) if one.works]
    implements = Implement.objects.filter(farm=farm, operations__operation=operation)
    machines = list(Machine.objects.filter(farm=farm, kind__in=WORKING_KINDS))
    return [
        (machine, implement, hand)
        for implement in implements
        for machine in machines
        if machine.kind == implement.carried_by and machine.power_hp >= implement.power_needed_hp
        for hand in hands
    ]


def walkers(*, farm: Farm) -> list[Hand]:
    """Return the hands that may walk a field for debris; where none is named for it, all that are paid, else all."""
    may = [one for one in _able_hands(farm, Operation.DEBRIS_WALK) if one.works]
    everybody = list(Hand.objects.filter(farm=farm, works=True))
    return may or [one for one in everybody if not one.is_owner] or everybody


def may_anybody_walk(*, farm: Farm) -> bool:
    """Return whether a hand who works is named for debris walks."""
    return _able_hands(farm, Operation.DEBRIS_WALK).filter(works=True).exists()


def _able_hands(farm: Farm, operation: str) -> QuerySet[Hand]:
    return Hand.objects.filter(farm=farm, skills__operation=operation).order_by("code")
