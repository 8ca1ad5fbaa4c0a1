"""Laying an order of work out on many fields at once, all or none, and taking it back while nothing of it is done."""

import datetime as dt
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import ProtectedError
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core.keeping import ClientIdReused
from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Season
from scheduling.models import (
    FieldPass,
    OrderLaidField,
    OrderLaying,
    OrderOfWork,
    OrderTakenBack,
    PassLink,
    PassState,
    WorkRecord,
)
from scheduling.selectors.orders import kept
from scheduling.selectors.passes import named_pass, pass_key
from scheduling.selectors.speaking import speaking
from scheduling.services.order_keeping import OrderChanged
from scheduling.services.order_links import Slot
from scheduling.services.order_preview import (
    TAKEN_BACK,
    FieldPreview,
    Preview,
    Standing,
    Window,
    preview_order,
)

Progress = Callable[[int, int], None]


class OrderDoesNotFit(DomainError):
    """An order of work that cannot be laid out on every field asked for; `fields` says where not and why."""

    code = "order_does_not_fit"
    kind = Kind.CONFLICT


class OrderBegun(DomainError):
    """Something that an order of work laid out was sent, begun or done, so it is not taken back as a whole."""

    code = "order_begun"
    kind = Kind.CONFLICT


@dataclass(frozen=True)
class Laid:
    """What a laying did."""

    laying: OrderLaying
    is_new: bool


@transaction.atomic
def lay_order(
    *,
    row: OrderOfWork,
    windows: Mapping[Season, Window],
    seen: str,
    client_id: uuid.UUID,
    laid_by: User | None,
    now: dt.datetime,
    today: dt.date,
    progress: Progress | None = None,
) -> Laid:
    """Lay the newest version out on seasons as it was looked at (`seen` of the preview), all or none.

    The same `client_id` again is the same laying. Passes that exist are not laid twice. Raises OrderDoesNotFit,
    OrderChanged where the order or what stands on the fields is no longer as it was seen, ClientIdReused.
    """
    Farm.objects.select_for_update().get(pk=row.farm_id)
    list(Season.objects.select_for_update().filter(pk__in=[one.pk for one in windows]).order_by("pk"))
    before = OrderLaying.objects.filter(farm=row.farm, client_id=client_id).first()
    if before is not None:
        return Laid(_the_same(before, row, windows), False)
    preview = preview_order(
        farm=row.farm, kept=kept(OrderOfWork.objects.get(pk=row.pk)), windows=windows, today=today
    )
    if preview.seen != seen:
        raise OrderChanged(
            _("The order of work or the fields changed since this was looked at: look at it once more.")
        )
    refuse_misfits(preview)
    laying = OrderLaying.objects.create(
        farm=row.farm, version=preview.kept.version, client_id=client_id, laid_by=laid_by, laid_at=now
    )
    _write(laying, preview, progress)
    return Laid(laying, True)


def refuse_misfits(preview: Preview) -> None:
    """Raise OrderDoesNotFit where a field has a reason, or no field was chosen."""
    if not preview.fields:
        raise OrderDoesNotFit(_("Choose at least one field."), fields={"seasons": "empty"})
    misfits = {str(one.season): " ".join(one.reasons) for one in preview.fields if not one.is_fit}
    if misfits:
        told = " ".join(f"{name}: {why}" for name, why in misfits.items())
        says = ngettext(
            "Nothing was laid out, since it does not fit one field.",
            "Nothing was laid out, since it does not fit {count} fields.",
            len(misfits),
        ).format(count=len(misfits))
        raise OrderDoesNotFit(
            f"{says} {told}",
            fields={
                f"seasons/{one.season.pk}": " ".join(one.reasons) for one in preview.fields if one.reasons
            },
        )


def _the_same(laying: OrderLaying, row: OrderOfWork, windows: Mapping[Season, Window]) -> OrderLaying:
    laid = {
        one.season_id: Window(one.plant_from_on, one.plant_to_on)
        for one in OrderLaidField.objects.filter(laying=laying)
    }
    if laying.version.order_id != row.pk or laid != {one.pk: window for one, window in windows.items()}:
        raise ClientIdReused(
            _("The id {id} was used before for something else.").format(id=laying.client_id),
            fields={"client_id": "used"},
        )
    return laying


def _write(laying: OrderLaying, preview: Preview, progress: Progress | None) -> None:
    """Write what a preview says: new passes of all fields at once, then what they wait for."""
    mine = [_Written(found, laying.farm) for found in preview.fields]
    FieldPass.objects.bulk_create([one for written in mine for one in written.new])
    standing = {
        (one.before_id, one.after_id): one
        for one in PassLink.objects.filter(
            farm=laying.farm, after__season__in=[one.season for one in preview.fields]
        )
    }
    made = [link for written in mine for link in written.link(standing)]
    PassLink.objects.bulk_create(made)
    rows = []
    for number, written in enumerate(mine, start=1):
        rows.append(written.row(laying))
        if progress is not None:
            progress(number, len(mine))
    OrderLaidField.objects.bulk_create(rows)


class _Written:
    """What laying out does on one field, and what is remembered of it."""

    def __init__(self, found: FieldPreview, farm: Farm) -> None:
        self.found, self.farm = found, farm
        self.passes: dict[Slot, FieldPass] = {}
        self.new: list[FieldPass] = []
        self.again: set[Slot] = set()
        self.was: dict[Slot, dict[str, Any]] = {}
        self.links: list[PassLink] = []
        self.changed_links: list[dict[str, Any]] = []
        for one in found.planned:
            standing, existing = found.standing_of(one), found.existing.get(one.slot)
            if standing is Standing.CHANGES and existing is not None:
                self.was[one.slot] = {name: _plain(getattr(existing, name)) for name in one.facts}
                _set(existing, one.facts)
            elif standing is Standing.NEW and existing is not None:
                self.again.add(one.slot)
                waits = {"state": PassState.WAITING, "called_off_why": "", "called_off_at": None}
                _set(existing, {**one.facts, **waits})
            if existing is None:
                operation, turn, part = one.slot
                existing = FieldPass(
                    farm=farm, season=found.season, operation=operation, turn=turn, part=part, **one.facts
                )
                self.new.append(existing)
                self.again.add(one.slot)
            self.passes[one.slot] = existing

    def link(self, standing: Mapping[tuple[int, int], PassLink]) -> list[PassLink]:
        """Return the links to make, and change those of passes that an order laid; others keep what they wait for."""
        mine = {self.passes[slot].pk for slot in self.again} | self.found.laid_ids
        for link in self.found.links:
            before, after = self.passes[link.before], self.passes[link.after]
            if after.state in (PassState.FINISHED, PassState.UNDER_WAY) or not {before.pk, after.pk} & mine:
                continue
            gaps = {"min_gap_min": link.min_gap_min, "max_gap_min": link.max_gap_min}
            existing = standing.get((before.pk, after.pk))
            if existing is None:
                self.links.append(PassLink(farm=self.farm, before=before, after=after, **gaps))
            elif any(getattr(existing, name) != value for name, value in gaps.items()):
                was = {name: getattr(existing, name) for name in gaps}
                self.changed_links.append({"id": existing.pk, "is_new": False, "was": was})
                PassLink.objects.filter(pk=existing.pk).update(**gaps)
        return self.links

    def row(self, laying: OrderLaying) -> OrderLaidField:
        """Return what is remembered, once everything has its id."""
        told: list[dict[str, Any]] = []
        for slot, one in self.passes.items():
            row = {"id": one.pk, "key": pass_key(one), "is_new": slot in self.again}
            told.append(row | ({"was": self.was[slot]} if slot in self.was else {}))
        return OrderLaidField(
            farm=self.farm,
            laying=laying,
            season=self.found.season,
            plant_from_on=self.found.window.first_on,
            plant_to_on=self.found.window.last_on,
            passes=told,
            links=[*({"id": one.pk, "is_new": True} for one in self.links), *self.changed_links],
        )


def _set(one: FieldPass, facts: Mapping[str, Any]) -> None:
    FieldPass.objects.filter(pk=one.pk).update(**facts)
    one.refresh_from_db()


def _plain(value: Any) -> Any:
    """Return a value of a pass as JSON keeps it."""
    return value if value is None or isinstance(value, int) else str(value)


@transaction.atomic
def take_back(*, laying: OrderLaying, taken_back_by: User | None, now: dt.datetime) -> OrderTakenBack:
    """Undo a laying while nothing of it is sent, begun or done; doing it twice is the same as once.

    Passes it made go, or are called off where a plan holds them; passes it changed get back what they had. Raises
    OrderBegun, which names the pass, or the later laying that must go first.
    """
    Farm.objects.select_for_update().get(pk=laying.farm_id)
    before = OrderTakenBack.objects.filter(laying=laying).first()
    if before is not None:
        return before
    fields = list(laying.fields.select_related("season__field"))
    list(Season.objects.select_for_update().filter(pk__in=[one.season_id for one in fields]).order_by("pk"))
    _refuse_begun(laying, fields)
    for one in fields:
        for row in one.links:
            if row["is_new"]:
                PassLink.objects.filter(pk=row["id"]).delete()
            else:
                PassLink.objects.filter(pk=row["id"]).update(**row["was"])
        for row in one.passes:
            if row["is_new"]:
                _remove(row["id"], now)
            elif "was" in row:
                FieldPass.objects.filter(pk=row["id"], state=PassState.WAITING).update(**row["was"])
    return OrderTakenBack.objects.create(
        farm=laying.farm, laying=laying, taken_back_by=taken_back_by, taken_back_at=now
    )


def _refuse_begun(laying: OrderLaying, fields: list[OrderLaidField]) -> None:
    later = OrderLaidField.objects.filter(
        farm=laying.farm,
        season__in=[one.season_id for one in fields],
        laying_id__gt=laying.pk,
        laying__taken_back__isnull=True,
    )
    found = later.select_related("season__field").first()
    if found is not None:
        raise OrderBegun(
            _("A later order of work was laid out on {field}: take that back first.").format(
                field=found.season.field
            )
        )
    ids = [row["id"] for one in fields for row in one.passes if row["is_new"]]
    mine = FieldPass.objects.filter(pk__in=ids).select_related("season__field").order_by("pk")
    worked = set(WorkRecord.objects.filter(field_pass__in=ids).values_list("field_pass_id", flat=True))
    for one in mine:
        if one.pk in worked or one.state in (PassState.SENT, PassState.UNDER_WAY, PassState.FINISHED):
            raise OrderBegun(
                _(
                    "“{work}” was sent, begun or done already, so it is not taken back as a whole: call off what is left."
                ).format(work=named_pass(one, language=speaking()))
            )


def _remove(pass_id: int, now: dt.datetime) -> None:
    """Delete a pass, or call it off where something speaks of it; one that is gone or called off stays so."""
    try:
        with transaction.atomic():
            FieldPass.objects.filter(pk=pass_id).delete()
    except ProtectedError:
        open_states = (PassState.WAITING, PassState.PLANNED)
        FieldPass.objects.filter(pk=pass_id, state__in=open_states).update(
            state=PassState.CALLED_OFF,
            called_off_why=TAKEN_BACK,
            called_off_at=now,
            fixed_from=None,
            fixed_outfit="",
        )
