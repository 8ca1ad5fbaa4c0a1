"""Punctures against acres covered, field by field, less what walks found; the passes that a walk would come before."""

import datetime as dt
import hashlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

import numpy as np
from django.db.models import Case, Count, F, Max, Q, QuerySet, Sum, When, Window
from django.db.models.functions import RowNumber

from farmops.farms.models import WORKING_KINDS, Farm, Field, Hand, Implement, Machine
from farmops.farms.operations import PIVOT_WORK, TILLAGE, Operation
from scheduling.debris.rates import Counted, FarmRate, FieldRate, farm_rate
from scheduling.debris.walked import Walked, share_left
from scheduling.models import DebrisNumbers, FieldPass, IncidentKind, PassLink, PassState, WorkRecord
from scheduling.selectors.incidents import IncidentFacts, incident_facts
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.worked_out import worked_out

NOT_BEGUN = (PassState.WAITING, PassState.PLANNED, PassState.SENT)
NO_ACRES = (Decimal(0), 0.0)


@dataclass(frozen=True)
class FieldDebris:
    """A field's punctures by debris, the acres that machines covered, and what may be believed of its rate.

    `by_stubs` punctures are no debris and in no rate. `farm` is what may be believed of any field, None where nothing
    was covered on the whole farm; `counted` the field's own record; `walked` are the walks done, the first one first.
    """

    field: Field
    punctures: tuple[IncidentFacts, ...]
    by_stubs: int
    covered_ac: Decimal
    counted: Counted
    farm: FarmRate | None
    walked: tuple[Walked, ...] = ()
    found_share: float = 0.0

    @cached_property
    def rate(self) -> FieldRate | None:
        """Return the rate of ground that nobody walked; None where nothing was covered on the whole farm."""
        return None if self.farm is None else self.farm.of(self.counted)

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
    record = _Record(farm)
    fields = Field.objects.filter(farm=farm).order_by("code").defer("boundary")
    return FarmDebris(tuple(record.of(field) for field in fields), record.nowhere)


def field_debris(*, field: Field) -> FieldDebris:
    """Return what `farm_debris` says of one field."""
    return _Record(field.farm).of(field)


class _Record:
    """What is recorded of a farm's fields: punctures, acres and walks, each read once."""

    def __init__(self, farm: Farm) -> None:
        self._walked = _walked(farm)
        self._found_share = float(debris_numbers(farm=farm).found_share_pct) / 100 if self._walked else 0.0
        self._acres = _covered_ac(farm, self._walked, self._found_share)
        self._on_field: dict[int, list[IncidentFacts]] = {}
        self.nowhere = 0
        for one in incident_facts(farm=farm, kind=IncidentKind.PUNCTURE):
            if one.is_mistake:
                continue
            if one.incident.field_id is None:
                self.nowhere += 1
            else:
                self._on_field.setdefault(one.incident.field_id, []).append(one)
        self._farm = self._farm_rate(farm)

    def of(self, field: Field) -> FieldDebris:
        """Return what is recorded of a field."""
        found = self._on_field.get(field.pk, ())
        by_debris = tuple(one for one in found if not one.is_by_stub)
        covered_ac, _weighed = self._acres.get(field.pk, NO_ACRES)
        return FieldDebris(
            field,
            by_debris,
            len(found) - len(by_debris),
            covered_ac,
            self._counted(field.pk),
            self._farm,
            tuple(self._walked.get(field.pk, ())),
            self._found_share,
        )

    def _counted(self, field_id: int) -> Counted:
        by_debris = sum(1 for one in self._on_field.get(field_id, ()) if not one.is_by_stub)
        return Counted(by_debris, self._acres.get(field_id, NO_ACRES)[1])

    def _farm_rate(self, farm: Farm) -> FarmRate | None:
        if not any(covered_ac for covered_ac, _weighed in self._acres.values()):
            return None
        fields = Field.objects.filter(farm=farm).order_by("code").values_list("pk", flat=True)
        return _kept_farm_rate([self._counted(pk) for pk in fields])


def keep_ends(rates: Sequence[FieldRate]) -> None:
    """Have the shown intervals of some rates at hand, as they were worked out before for the same rates."""
    told = hashlib.sha256()
    for one in rates:
        for values in (one.weights, one.shapes, one.rates):
            told.update(values.tobytes())
    kept = worked_out("debris-ends-1", told.hexdigest(), lambda: {"ends": [one.ends for one in rates]})
    for one, ends in zip(rates, kept["ends"], strict=True):
        one.__dict__["ends"] = tuple(ends)  # where a cached property keeps what it gave


def debris_numbers(*, farm: Farm) -> DebrisNumbers:
    """Return the farm's own numbers, or the defaults in a row that is not kept."""
    row = DebrisNumbers.objects.filter(farm=farm).first()
    if row is None:
        row = DebrisNumbers(farm=farm)
        for name in ("found_share_pct", "swath_ft", "walk_mph"):
            setattr(row, name, Decimal(getattr(row, name)))  # defaults may be whole numbers
    return row


def passes_to_walk_before(*, farm: Farm, field: Field | None = None) -> dict[int, tuple[FieldPass, int]]:
    """Return by field the pass that a walk would come before, and how many passes it begins: those of its season in
    which the farm's own tires roll and that come no earlier. Of all fields or of one.

    It is the first tillage not begun, else the first work not begun. Strips that a parked pivot stood on go with the
    ground beside them and are no passes of their own here. The field of a pass's season is not read with it.
    """
    rows = FieldPass.objects.filter(
        farm=farm, state__in=OPEN_STATES, part="", custom_ac_per_h__isnull=True, area_ac__gt=F("done_ac")
    ).exclude(operation__in=(*PIVOT_WORK, Operation.DEBRIS_WALK))
    if field is not None:
        rows = rows.filter(season__field=field)
    rank = Case(When(~Q(state__in=NOT_BEGUN), then=2), When(operation__in=TILLAGE, then=0), default=1)
    rows = rows.annotate(
        place=Window(RowNumber(), partition_by=F("season__field_id"), order_by=[rank, F("id")]),
        begins=Window(Count("id"), partition_by=F("season_id"), order_by=F("id").desc()),
    )
    first = rows.filter(place=1).select_related("season").order_by("id")
    return {one.season.field_id: (one, one.begins) for one in first if one.state in NOT_BEGUN}


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


def _covered_ac(
    farm: Farm, walked: Mapping[int, Sequence[Walked]], found_share: float
) -> dict[int, tuple[Decimal, float]]:
    """Return by field the acres that machines covered, and the same weighed by the debris that was left.

    Records are only added, so the sums are kept under their number, the newest, and what walks they are weighed by.
    """
    records = WorkRecord.objects.filter(farm=farm)
    mark = records.aggregate(Count("pk"), Max("pk"), Max("recorded_at"), Sum("done_ac"))
    walks = [[pk, one.season_id, str(one.on), one.share] for pk, found in walked.items() for one in found]

    def make() -> dict[str, Any]:
        return {"fields": [[pk, str(acres), weighed] for pk, (acres, weighed) in summed().items()]}

    def summed() -> dict[int, tuple[Decimal, float]]:
        rows = records.filter(superseded_by__isnull=True, machine__isnull=False).order_by()
        seasons = {one.season_id for found in walked.values() for one in found}
        plain = rows.exclude(field_pass__season__in=seasons).values_list("field_pass__season__field_id")
        found = {pk: (acres, float(acres)) for pk, acres in plain.annotate(Sum("done_ac"))}
        by_day = rows.filter(field_pass__season__in=seasons).values_list(
            "field_pass__season__field_id", "field_pass__season_id", "work_on"
        )
        for pk, season_id, work_on, acres in by_day.annotate(Sum("done_ac")):
            left = share_left(walked[pk], season_id=season_id, found_share=found_share, on=work_on)
            covered, weighed = found.get(pk, NO_ACRES)
            found[pk] = (covered + acres, weighed + float(acres) * left)
        return found

    made_from = [farm.pk, [str(one) for one in mark.values()], walks, found_share]
    told = worked_out("debris-acres-1", made_from, make)
    return {pk: (Decimal(acres), weighed) for pk, acres, weighed in told["fields"]}


def _kept_farm_rate(fields: Sequence[Counted]) -> FarmRate:
    def make() -> dict[str, Any]:
        made = farm_rate(fields)
        return {name: getattr(made, name).tolist() for name in ("weights", "shapes", "rates")}

    told = worked_out("debris-farm-1", [[one.punctures, one.covered_ac] for one in fields], make)
    return FarmRate(**{name: np.array(values) for name, values in told.items()})


def _walked(farm: Farm) -> dict[int, list[Walked]]:
    """Return by field the walks of which acres or their end were reported, in the order of their last days."""
    walks = FieldPass.objects.filter(farm=farm, operation=Operation.DEBRIS_WALK).select_related("season")
    rows = {walk.pk: walk for walk in walks}
    last_on: dict[int, dt.date] = {}
    records = WorkRecord.objects.filter(field_pass__in=list(rows), superseded_by__isnull=True)
    for pass_id, work_on in records.values_list("field_pass_id", "work_on"):
        last_on[pass_id] = max(work_on, last_on.get(pass_id, work_on))
    found: dict[int, list[Walked]] = {}
    for walk in (rows[pk] for pk in sorted(last_on, key=lambda one: (last_on[one], one))):
        share = _share_walked(walk)
        if share:
            found.setdefault(walk.season.field_id, []).append(Walked(walk.season_id, last_on[walk.pk], share))
    return found


def _share_walked(walk: FieldPass) -> float:
    """Return the share of its ground that a walk covered: as reported, and all where its end is told without acres."""
    if walk.done_ac and walk.area_ac:
        return min(1.0, float(walk.done_ac / walk.area_ac))
    return 1.0 if walk.state == PassState.FINISHED else 0.0


def outfits_able(*, farm: Farm, operation: str) -> tuple[list[tuple[Machine, Implement]], list[Hand]]:
    """Return every machine with an implement that can do a kind of work, and every hand who can do it with each of
    them, whether they are free or not."""
    hands = [one for one in _able_hands(farm, operation) if one.works]
    implements = Implement.objects.filter(farm=farm, operations__operation=operation)
    machines = list(Machine.objects.filter(farm=farm, kind__in=WORKING_KINDS))
    able = [
        (machine, implement)
        for implement in implements
        for machine in machines
        if machine.kind == implement.carried_by and machine.power_hp >= implement.power_needed_hp
    ]
    return able, hands


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
