"""The limits that hold on a farm's fields: those that ship, with the farm's own choices and each field's over them."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from farmops.farms.models import Farm
from scheduling.models import LimitChoice
from scheduling.windows.choices import known_choices, with_choices
from scheduling.windows.limits import Choice, Effect, Limit
from scheduling.windows.limits_file import load_limits


@dataclass(frozen=True)
class FarmLimits:
    """`everywhere` holds on fields without a choice of their own; `choices` are those followed, the farm's first.

    `notes` has a sentence for each choice that no limit can follow any more.
    """

    everywhere: tuple[Limit, ...]
    by_field: Mapping[int, tuple[Limit, ...]]
    choices: tuple[Choice, ...]
    notes: tuple[str, ...]

    def of(self, field_id: int) -> tuple[Limit, ...]:
        """Return the limits of a field by its row id."""
        return self.by_field.get(field_id, self.everywhere)


def limits_of(*, farm: Farm) -> FarmLimits:
    """Return the limits of a farm, in one query; a field's choice goes before the farm's, that before what ships."""
    newest: dict[tuple[int | None, str], LimitChoice] = {}
    rows = LimitChoice.objects.filter(farm=farm).select_related("field", "set_by").order_by("set_at", "id")
    for row in rows:
        newest[row.field_id, row.key] = row
    of_farm, of_fields = [], defaultdict(list)
    for (field_id, _), row in newest.items():
        choice = _choice(row)
        if choice.is_empty:
            continue
        if field_id is None:
            of_farm.append(choice)
        else:
            of_fields[field_id].append(choice)
    shipped = load_limits()
    followed, notes = known_choices(shipped, of_farm)
    everywhere = with_choices(shipped, followed)
    by_field = {}
    for field_id, choices in of_fields.items():
        mine, more_notes = known_choices(shipped, choices)
        by_field[field_id] = with_choices(everywhere, mine)
        followed += mine
        notes += more_notes
    return FarmLimits(everywhere, by_field, tuple(followed), tuple(notes))


def _choice(row: LimitChoice) -> Choice:
    return Choice(
        key=row.key,
        field=row.field.code if row.field is not None else "",
        number=row.number,
        is_used=row.is_used,
        effect=Effect(row.effect) if row.effect else None,
        source=row.source,
        set_by=(row.set_by.get_full_name() or str(row.set_by)) if row.set_by is not None else "",
        set_at=row.set_at.isoformat(),
    )
