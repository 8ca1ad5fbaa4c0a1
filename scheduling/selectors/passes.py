"""Which passes there are, and what each is called in plans, files and on pages."""

from django.db.models import QuerySet

from farmops.farms.models import Farm
from scheduling.models import FieldPass, PassState

OPEN_STATES = (PassState.WAITING, PassState.PLANNED, PassState.SENT, PassState.UNDER_WAY)


def pass_key(field_pass: FieldPass) -> str:
    """Return the pass's stable name, such as `pond-80/disk`, `pond-80/disk-2` or `pond-80.north/plant/strip`."""
    season = field_pass.season
    ground = season.field.code + (f".{season.part}" if season.part else "")
    turn = f"-{field_pass.turn}" if field_pass.turn > 1 else ""
    part = f"/{field_pass.part}" if field_pass.part else ""
    return f"{ground}/{field_pass.operation}{turn}{part}"


def open_passes(*, farm: Farm) -> QuerySet[FieldPass]:
    """Return the passes that are still to be done, with what naming and planning them needs."""
    return (
        FieldPass.objects.filter(farm=farm, state__in=OPEN_STATES)
        .select_related("season__field__pivot", "farm")
        .order_by("season__field__code", "season__part", "id")
    )
