"""What a bill is for, found from the codes that a person types."""

from typing import Any

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm, Implement, Machine, Pump, Season
from ledger.models import Entity
from scheduling.models import Incident


class NoSuchTarget(DomainError):
    """A bill names a season, machine, implement, pump, entity or incident that the farm does not have."""

    code = "no_such_target"
    kind = Kind.MISSING


def bill_target(
    *,
    farm: Farm,
    incident_id: int | None = None,
    field_code: str | None = None,
    crop_year: int | None = None,
    machine_code: str | None = None,
    implement_code: str | None = None,
    pump_code: str | None = None,
    entity_code: str | None = None,
) -> dict[str, Any]:
    """Return the rows that `enter_bill` takes, of those named; NoSuchTarget says what is missing."""
    found: dict[str, Any] = {}
    if incident_id is not None:
        found["incident"] = _incident(farm, incident_id)
    if field_code is not None or crop_year is not None:
        found["season"] = _season(farm, field_code, crop_year)
    named: tuple[tuple[str, type[Any], str | None], ...] = (
        ("machine", Machine, machine_code),
        ("implement", Implement, implement_code),
        ("pump", Pump, pump_code),
        ("entity", Entity, entity_code),
    )
    for name, model, code in named:
        if code is not None:
            row = model.objects.filter(farm=farm, code=code).first()
            if row is None:
                known = ", ".join(model.objects.filter(farm=farm).values_list("code", flat=True)) or "none"
                raise NoSuchTarget(f"{farm.name} has no {name} {code!r}; it has {known}.")
            found[name] = row
    return found


def _incident(farm: Farm, incident_id: int) -> Incident:
    incident = Incident.objects.filter(farm=farm, pk=incident_id).first()
    if incident is None:
        newest = Incident.objects.filter(farm=farm).select_related("field").order_by("-happened_at")[:5]
        known = "; ".join(
            f"{one.pk} {one.get_kind_display()} {one.happened_at:%Y-%m-%d} {one.field or ''}".strip()
            for one in newest
        )
        raise NoSuchTarget(f"{farm.name} has no incident {incident_id}; the newest are: {known or 'none'}.")
    return incident


def _season(farm: Farm, field_code: str | None, crop_year: int | None) -> Season:
    if field_code is None or crop_year is None:
        raise NoSuchTarget("A season is named by its field and its crop year; give both.")
    seasons = Season.objects.filter(farm=farm, field__code=field_code, crop_year=crop_year)
    if len(seasons) != 1:
        says = "none" if not seasons else ", ".join(str(season) for season in seasons)
        raise NoSuchTarget(f"{field_code} has not one season of crop year {crop_year}, but: {says}.")
    return seasons[0]
