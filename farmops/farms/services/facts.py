"""Entering and changing the facts of a farm one at a time. What the files of a farm may say, this may say too."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Any, TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import IntegrityError, models, transaction
from django.db.models import ProtectedError
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError, Kind
from farmops.farms.boundaries import BoundaryError, read_boundary
from farmops.farms.models import (
    RETENTION_COLUMNS,
    CareRuleHand,
    Farm,
    Field,
    HandAway,
    HandLicense,
    HandSkill,
    Implement,
    ImplementOperation,
    PumpShutHours,
    Shift,
    SoilZone,
)
from farmops.farms.services.measured_soil import OWN_LIMITS
from farmops.farms.services.ranges import RANGES
from farmops.farms.services.tool_rules import odd_tool
from farmops.science.textures import TEXTURES

FIXED = ("code", "field", "crop_year", "crop", "part")
"""What a row is known by; work and costs hang on it."""
PARTS: dict[str, tuple[type[models.Model], str]] = {
    "operations": (ImplementOperation, "implement"),
    "skills": (HandSkill, "hand"),
    "shifts": (Shift, "hand"),
    "away": (HandAway, "hand"),
    "licenses": (HandLicense, "hand"),
    "shut_hours": (PumpShutHours, "pump"),
    "hands": (CareRuleHand, "rule"),
}

Row = TypeVar("Row", bound=models.Model)


class FactRefused(DomainError):
    """A fact of a farm that cannot be; `fields` names the part."""

    code = "fact_refused"


class FactTaken(DomainError):
    """There is such a row on this farm already, or something still hangs on a row that would go."""

    code = "fact_taken"
    kind = Kind.CONFLICT


@transaction.atomic
def add_fact(*, farm: Farm, model: type[Row], values: Mapping[str, Any]) -> Row:
    """Store one row of a farm with its parts (shifts, skills, zones and the like)."""
    own, parts = _split(model, values)
    if model is Field and not parts.get("zones"):
        raise FactRefused("A field needs at least one soil zone.", fields={"zones": "is missing"})
    row = model(farm=farm, **_worked_out(farm, own))
    _store(row)
    _put_parts(row, parts)
    return row


@transaction.atomic
def change_fact(*, row: Row, values: Mapping[str, Any]) -> Row:
    """Change some columns of a row; a list that is given takes the place of the one before."""
    own, parts = _split(type(row), values)
    for name in FIXED:
        if name in own and getattr(row, name, own[name]) != own[name]:
            raise FactRefused(f"The {name} of a row stays as it is.", fields={name: "cannot change"})
    farm = row if isinstance(row, Farm) else row.farm  # type: ignore[attr-defined]
    for name, value in _worked_out(farm, own).items():
        setattr(row, name, value)
    _store(row)
    _put_parts(row, parts)
    return row


def _split(model: type[models.Model], values: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    columns = {field.name for field in model._meta.concrete_fields}
    own = {name: value for name, value in values.items() if name in columns}
    return own, {name: value for name, value in values.items() if name not in columns}


def _worked_out(farm: Farm, own: dict[str, Any]) -> dict[str, Any]:
    """Check the numbers, and read a boundary: its acres and its middle are worked out, never taken."""
    for name, value in own.items():
        if name in RANGES and value is not None:
            least, most, _decimals = RANGES[name]
            if not Decimal(str(least)) <= value <= Decimal(str(most)):
                raise FactRefused(
                    _("{name}: {value} is outside {least} to {most}.").format(
                        name=name, value=value, least=f"{least:g}", most=f"{most:g}"
                    ),
                    fields={name: f"{value} is outside {least:g} to {most:g}"},
                )
    if "boundary" not in own:
        return own
    try:
        read = read_boundary(
            own["boundary"],
            near_latitude_deg=float(farm.latitude_deg),
            near_longitude_deg=float(farm.longitude_deg),
        )
    except BoundaryError as error:
        where = f"boundary/{error.at}" if error.at else "boundary"
        raise FactRefused(f"The boundary cannot be used: {error}.", fields={where: error.says}) from error
    return {
        **own,
        "boundary": read.geometry,
        "area_ac": read.area_ac,
        "latitude_deg": read.latitude_deg,
        "longitude_deg": read.longitude_deg,
    }


def _store(row: models.Model) -> None:
    odd = odd_tool(vars(row)) if isinstance(row, Implement) else None
    if odd is not None:
        raise FactRefused(f"{odd.key}: {odd.says}.", fields={odd.key: odd.says})
    try:
        row.full_clean()
        with transaction.atomic():
            row.save()
    except ValidationError as error:
        raise _refusal(error) from error
    except IntegrityError as error:
        raise FactTaken(_("Somebody else stored the same at the same moment; look at it first.")) from error


def _refusal(error: ValidationError) -> DomainError:
    fields: dict[str, str] = {}
    is_taken = False
    for name, found in error.error_dict.items():
        for one in found:
            is_taken |= one.code in ("unique", "unique_together") or "already exists" in " ".join(
                one.messages
            )
            at = "" if name == NON_FIELD_ERRORS else name
            fields[at] = " ".join(one.messages)
    says = " ".join(f"{name}: {text}" if name else text for name, text in fields.items())
    return (FactTaken if is_taken else FactRefused)(says, fields={k: v for k, v in fields.items() if k})


def _put_parts(row: models.Model, parts: Mapping[str, Any]) -> None:
    for name, rows in parts.items():
        if name == "zones":
            _put_zones(row, rows)
            continue
        model, owner = PARTS[name]
        if name in ("shifts", "shut_hours"):
            _refuse_overlaps(name, rows)
        model._default_manager.filter(**{owner: row}).delete()
        for one in rows:
            _store(model(farm=row.farm, **{owner: row}, **one))  # type: ignore[attr-defined]


def _refuse_overlaps(name: str, rows: Sequence[Mapping[str, Any]]) -> None:
    ordered = sorted(rows, key=lambda one: (one["weekday"], one["starts_at"]))
    for before, after in pairwise(ordered):
        if before["weekday"] == after["weekday"] and after["starts_at"] < before["ends_at"]:
            raise FactRefused(
                f"{name}: two stretches of weekday {after['weekday']} overlap at {after['starts_at']:%H:%M}.",
                fields={name: "overlap"},
            )


def _refuse_odd_soil(zone: Mapping[str, Any]) -> None:
    """Refuse numbers of a measured soil that are out of range, or of which a part is missing."""
    curve = [zone.get(name) for name in RETENTION_COLUMNS]
    if None in curve and any(number is not None for number in curve):
        raise FactRefused(
            f"Zone {zone['name']!r}: a retention curve has {len(curve)} numbers, and one is missing.",
            fields={"zones": "a part of the retention curve"},
        )
    for name in (*RETENTION_COLUMNS, *OWN_LIMITS):
        if zone.get(name) is not None:
            least, most, _decimals = RANGES[name]
            if not Decimal(str(least)) <= zone[name] <= Decimal(str(most)):
                raise FactRefused(
                    f"Zone {zone['name']!r}: {name} is {zone[name]}, outside {least:g} to {most:g}.",
                    fields={"zones": name},
                )
    for low, high in (
        ("dry_m3_m3", "workable_m3_m3"),
        ("retention_residual_m3_m3", "retention_saturation_m3_m3"),
    ):
        if None not in (zone.get(low), zone.get(high)) and zone[low] >= zone[high]:
            raise FactRefused(
                f"Zone {zone['name']!r}: {low} {zone[low]} is not below {high} {zone[high]}.",
                fields={"zones": low},
            )


def _put_zones(field: Any, rows: Sequence[Mapping[str, Any]]) -> None:
    """Bring the zones of a field to what is given, by their names; the shares make up the whole field."""
    names = [one["name"] for one in rows]
    for one in rows:
        if one["texture"] not in TEXTURES:
            raise FactRefused(
                f"{one['texture']!r} is not a texture; known: {', '.join(sorted(TEXTURES))}.",
                fields={"zones": one["texture"]},
            )
        _refuse_odd_soil(one)
    if len(set(names)) < len(names):
        raise FactRefused(_("Two zones have one name."), fields={"zones": "one name twice"})
    whole = sum((one["share_pct"] for one in rows), Decimal(0))
    if whole != 100:
        raise FactRefused(
            _("The shares of the zones add up to {whole}, not 100.").format(whole=whole),
            fields={"zones": str(whole)},
        )
    known = {zone.name: zone for zone in SoilZone.objects.filter(field=field)}
    try:
        SoilZone.objects.filter(field=field).exclude(name__in=names).delete()
    except ProtectedError as error:
        raise FactTaken(
            _("Something was said about a zone that would go."), fields={"zones": "in use"}
        ) from error
    for one in rows:
        zone = known.get(one["name"]) or SoilZone(farm=field.farm, field=field, name=one["name"])
        zone.texture, zone.share_pct = one["texture"], one["share_pct"]
        for name in (*RETENTION_COLUMNS, *OWN_LIMITS):
            if name in one:
                setattr(zone, name, None if one[name] is None else float(one[name]))
        _store(zone)
