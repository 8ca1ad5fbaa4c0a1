"""The form that says of what soils a field is: a row for each, and some to spare."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.utils.translation import gettext as _

from farmops.farms.models import RETENTION_COLUMNS, SoilZone
from farmops.farms.services.field_soil import Soil
from farmops.farms.services.measured_soil import OWN_LIMITS
from farmops.pages.boxes import Boxes

SPARE = 2
MOST = 12
"""A field of more soils than the form has rows for is described in the farm's files."""


@dataclass(frozen=True)
class SoilRow:
    """A row of the form; `pk` is that of the zone that it changes, or empty."""

    number: int
    pk: str = ""
    name: str = ""
    texture: str = ""
    share_pct: str = ""
    is_measured: bool = False
    wrong_name: str = ""
    wrong_texture: str = ""
    wrong_share: str = ""

    @property
    def at(self) -> str:
        """Return the number as its boxes end in it."""
        return str(self.number)

    @property
    def shown(self) -> int:
        """Return the number that a reader counts by."""
        return self.number + 1


def stored_rows(zones: Sequence[SoilZone]) -> list[SoilRow]:
    """Return a row for each soil that a field has, and some empty ones."""
    rows = [
        SoilRow(
            number=number,
            pk=str(zone.pk),
            name=zone.name,
            texture=zone.texture,
            share_pct=f"{zone.share_pct.normalize():f}",
            is_measured=any(getattr(zone, name) is not None for name in (*RETENTION_COLUMNS, *OWN_LIMITS)),
        )
        for number, zone in enumerate(zones)
    ]
    spare = range(len(rows), max(len(rows), min(len(rows) + SPARE, MOST)))
    return rows + [SoilRow(number=number) for number in spare]


def refused_rows(stored: Sequence[SoilRow], boxes: Boxes) -> list[SoilRow]:
    """Return the rows as they were typed, each with what is wrong with it."""
    typed, wrong = boxes.typed, boxes.wrong
    return [
        replace(
            row,
            name=typed.get(f"name-{row.number}", ""),
            texture=typed.get(f"texture-{row.number}", ""),
            share_pct=typed.get(f"share_pct-{row.number}", ""),
            wrong_name=wrong.get(f"name-{row.number}", ""),
            wrong_texture=wrong.get(f"texture-{row.number}", ""),
            wrong_share=wrong.get(f"share_pct-{row.number}", ""),
        )
        for row in stored
    ]


def soils_told(boxes: Boxes, rows: int) -> tuple[list[Soil], Mapping[int, int], list[int]]:
    """Return the soils of the rows that say something, the row of each, and the rows of soils that were emptied."""
    told: list[Soil] = []
    row_of: dict[int, int] = {}
    emptied: list[int] = []
    for number in range(rows):
        pk, name = boxes.row_id(f"pk-{number}"), boxes.note(f"name-{number}")
        if not name and not boxes.text(f"share_pct-{number}"):
            emptied += [number] if pk is not None else []
            continue
        if not name:
            boxes.wrong[f"name-{number}"] = _("Say what this part is called, such as sand or north end.")
        share_pct = boxes.number(f"share_pct-{number}", says=_("Give its share of the field in percent."))
        row_of[len(told)] = number
        told.append(Soil(pk, name, boxes.text(f"texture-{number}"), share_pct or Decimal(0)))
    return told, row_of, emptied
