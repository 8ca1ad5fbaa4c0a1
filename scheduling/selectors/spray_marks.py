"""Marks of all that the pages of spray records are worked out from and said with, beside the day that they are about.

Whoever makes these pages read another kind of row adds it here; a test holds the tables that they read against these.
"""

from farmops.farms.models import Farm, Field, Hand, HandLicense, Season
from farmops.farms.operations import SPRAYING
from scheduling.models import FieldPass, SprayDetail, Spraying, SprayProduct, WorkRecord
from scheduling.selectors.row_marks import Marked, every_row, mark_of

OF_RECORDS = (Spraying, SprayDetail, SprayProduct, Field, Hand)


def records_mark(*, farm: Farm) -> str:
    """Return words that change with the farm itself and every row by which records of sprayings are told."""
    return mark_of(farm, _of_records)


def sprays_mark(*, farm: Farm) -> str:
    """Return the same, and with every row by which licenses are told and sprayings that nobody wrote down."""
    return mark_of(farm, _of_all)


def _of_records(farm_id: int) -> list[Marked]:
    return every_row(farm_id, OF_RECORDS)


def _of_all(farm_id: int) -> list[Marked]:
    passes = FieldPass.objects.filter(farm=farm_id, operation__in=SPRAYING)
    return [
        *every_row(farm_id, (*OF_RECORDS, HandLicense, Season)),
        Marked("work", WorkRecord.objects.filter(farm=farm_id), added_at="recorded_at"),
        Marked("passes", passes, columns=("pk",)),
    ]
