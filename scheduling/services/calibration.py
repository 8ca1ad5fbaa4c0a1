"""Fitting soil zones' own wet and dry limits to what growers said, and keeping the change."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from django.db import transaction
from django.utils.translation import gettext as _

from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Field, SoilZone
from farmops.farms.operations import Operation
from farmops.science.workability import dry_limit_m3_m3, workable_limit_m3_m3
from scheduling.models import Remark, ZoneLimitChange
from scheduling.selectors.field_facts import remarks_of
from scheduling.selectors.ground import FarmGround, farm_ground
from scheduling.selectors.limits import limits_of
from scheduling.services.record_rules import refuse_other_farms
from scheduling.windows.calibration import Told, ZoneFit, fit_zone
from scheduling.windows.columns import ZoneSoil
from scheduling.windows.limits import Limit, LimitKind, Quantity
from scheduling.windows.looks import bound_of

MOST_DAYS = 400
"""Farm judgement: what was said more than a year and a growing season ago was said of other ground."""

ENOUGH_MEMBERS = 21
"""Days that were read are alike in all; only today may still part."""


class NothingSaid(DomainError):
    """Nobody has said anything on the wetness of the ground that was asked for."""

    code = "nothing_said"
    kind = Kind.CONFLICT


@dataclass(frozen=True)
class ZoneCalibration:
    """A zone's limits before and after; `unplaced` remarks were on the whole of a field with several zones."""

    zone: SoilZone
    fit: ZoneFit
    unplaced: int


def calibrate(*, farm: Farm, field: Field | None = None, as_of: dt.date) -> list[ZoneCalibration]:
    """Fit the limits of each zone with remarks of the 400 days up to `as_of`; nothing is stored.

    Each remark is held beside the topsoil that the model had at that instant, without what any remark put into it. A
    remark that the whole field is too wet or too dry says nothing of one zone among several; that it fits says so of all.
    Raises NothingSaid, NotThisFarm, NoSoil, NoWeather.
    """
    refuse_other_farms(farm, field)
    remarks = [
        remark
        for remark in remarks_of(farm=farm, first=as_of - dt.timedelta(days=MOST_DAYS), last=as_of)
        if field is None or remark.field_id == field.pk
    ]
    if not remarks:
        where = farm.name if field is None else field.name
        raise NothingSaid(
            _("Nobody has said of {where} that it was too wet, too dry or fit for work.").format(where=where)
        )
    fields = list({remark.field_id: remark.field for remark in remarks}.values())
    days = [local_date(remark.said_at, farm.zone) for remark in remarks]
    limits = limits_of(farm=farm)
    worked_out = farm_ground(
        farm=farm,
        first=min(days) - dt.timedelta(days=1),
        last=max(days),
        as_of=as_of,
        fields=fields,
        limits=limits.everywhere,
        members=ENOUGH_MEMBERS,
        with_remarks=False,
    )
    zones = SoilZone.objects.filter(farm=farm, field__in=fields).select_related("field")
    by_field: dict[int, list[SoilZone]] = defaultdict(list)
    for zone in zones.order_by("field__code", "id"):
        by_field[zone.field_id].append(zone)
    found = []
    for field_id, of_field in by_field.items():
        places = worked_out.zones_of[field_id]
        for zone, place in zip(of_field, places, strict=True):
            mine = [one for one in remarks if one.field_id == field_id and one.zone_id in (None, zone.pk)]
            placed = [one for one in mine if _is_of_zone(one, len(of_field))]
            if mine:
                found.append(
                    ZoneCalibration(
                        zone=zone,
                        fit=_fit(placed, worked_out, place, limits.of(field_id)),
                        unplaced=len(mine) - len(placed),
                    )
                )
    return found


@transaction.atomic
def apply_calibration(
    *,
    farm: Farm,
    calibrations: Sequence[ZoneCalibration],
    set_by: User | None,
    set_by_name: str,
    now: dt.datetime,
) -> list[ZoneLimitChange]:
    """Give each zone whose limits move the new ones, with who, when and on how many remarks. Raises NotThisFarm."""
    refuse_other_farms(farm, *(one.zone for one in calibrations))
    changes = []
    for one in calibrations:
        wet, dry = one.fit.wet, one.fit.dry
        if not (wet.is_moved or dry.is_moved):
            continue
        SoilZone.objects.filter(pk=one.zone.pk).update(
            workable_m3_m3=wet.after_m3_m3 if wet.is_moved else one.zone.workable_m3_m3,
            dry_m3_m3=dry.after_m3_m3 if dry.is_moved else one.zone.dry_m3_m3,
        )
        changes.append(
            ZoneLimitChange.objects.create(
                farm=farm,
                zone=one.zone,
                workable_before_m3_m3=wet.before_m3_m3,
                workable_m3_m3=wet.after_m3_m3,
                dry_before_m3_m3=dry.before_m3_m3,
                dry_m3_m3=dry.after_m3_m3,
                remark_count=wet.remarks,
                set_by=set_by,
                set_by_name=set_by_name,
                set_at=now,
            )
        )
    return changes


def _is_of_zone(remark: Remark, zones: int) -> bool:
    return remark.zone_id is not None or zones == 1 or remark.what == "fits"


def _fit(remarks: Sequence[Remark], worked_out: FarmGround, place: int, limits: Sequence[Limit]) -> ZoneFit:
    ground = worked_out.ground
    soil, column = ground.zones[place], ground.columns[place]
    told = []
    for remark in remarks:
        hour = _hour_before(remark.said_at, ground.grid.starts)
        water = float(np.median(ground.topsoil_m3_m3[hour, column]))
        share = _workable_share(Operation(remark.operation), limits, soil)
        told.append(Told(water_m3_m3=water, what=remark.what, workable_share=share))
    return fit_zone(
        told=told,
        wet_m3_m3=soil.workable_below_m3_m3,
        dry_m3_m3=soil.dry_below_m3_m3,
        texture_wet_m3_m3=float(workable_limit_m3_m3(texture=soil.texture)),
        texture_dry_m3_m3=float(dry_limit_m3_m3(texture=soil.texture)),
        saturation_m3_m3=soil.texture.saturation_m3_m3,
    )


def _hour_before(instant: dt.datetime, starts: Sequence[dt.datetime]) -> int:
    """Return the last hour of the grid that had ended at an instant; what stands there is the water of that moment."""
    ended = sum(start <= instant for start in starts) - 2
    return max(ended, 0)


def _workable_share(operation: Operation, limits: Sequence[Limit], soil: ZoneSoil) -> float:
    """Return the share of the workable limit at which a kind of work stops; a planter runs a little wetter than a disk."""
    rows = (
        limit
        for limit in limits
        if operation in limit.operations
        and limit.kind is LimitKind.WETNESS
        and limit.quantity in (Quantity.TOPSOIL, Quantity.TRAFFIC)
        and limit.is_used
    )
    limit = next(rows, None)
    return 1.0 if limit is None else bound_of(limit, soil) / soil.workable_below_m3_m3
