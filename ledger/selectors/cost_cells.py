"""What a number of a cost table is about: the ways a table can be cut, and the lines behind one of its cells."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from enum import StrEnum
from typing import Any, NamedTuple

from django.db.models import Func, Q, TextField
from django.utils.translation import gettext_noop

from farmops.core.problems import DomainError
from farmops.farms.models import Crop, Farm, Implement, Machine, Season
from farmops.farms.operations import WORDS, Operation
from ledger.models import Account
from ledger.selectors.categories import CategoryBook
from ledger.selectors.periods import next_month
from ledger.selectors.source_words import thing_says


class NoSuchCell(DomainError):
    """A cost table is asked for by something that costs are not told by."""

    code = "no_such_cell"


class Dimension(StrEnum):
    """By what costs can be told apart. The month is that in which a line is booked."""

    FIELD = "field"
    CROP = "crop"
    OPERATION = "operation"
    CATEGORY = "category"
    MACHINE = "machine"
    MONTH = "month"


OF_SEASON = frozenset({Dimension.FIELD, Dimension.CROP})
"""Dimensions that a season has by itself."""
NONE_SAYS = {
    Dimension.OPERATION: gettext_noop("not of one operation"),
    Dimension.MACHINE: gettext_noop("without a machine"),
}
"""How a line is said that has no such thing."""


@dataclass(frozen=True)
class CostWhere:
    """Which costs of a crop year's seasons: each that is given must hold; an empty text means "of none".

    `field` is the code of the ground, with `.part` for a part of a field; `month` is written 2026-04; `machine` is the
    code of a machine, or of an implement that no machine pulled.
    """

    field: str | None = None
    crop: str | None = None
    operation: str | None = None
    category: str | None = None
    machine: str | None = None
    month: str | None = None

    def given(self) -> dict[str, str]:
        """Return what is given, by the name of its dimension, as an address carries it."""
        return {one.name: value for one in fields(self) if (value := getattr(self, one.name)) is not None}

    def narrowed(self, by: Iterable[Dimension], key: Iterable[str]) -> "CostWhere":
        """Return the cell of a row: these conditions and the row's own."""
        return CostWhere(**{**self.given(), **{one.value: value for one, value in zip(by, key, strict=True)}})


def where_from(given: Mapping[str, str]) -> CostWhere:
    """Return the conditions that an address carries; NoSuchCell where a month is no month."""
    where = CostWhere(**{one.value: given[one.value] for one in Dimension if one.value in given})
    if where.month is not None:
        month_start(where.month)
    return where


def dimensions(names: Iterable[str]) -> tuple[Dimension, ...]:
    """Return the dimensions of these names, each once; NoSuchCell names one that is none."""
    found: list[Dimension] = []
    for name in names:
        if name not in set(Dimension):
            raise NoSuchCell(f"Costs are not told by {name!r}, but by {', '.join(Dimension)}.")
        if Dimension(name) not in found:
            found.append(Dimension(name))
    return tuple(found)


def month_start(month: str) -> dt.date:
    """Return the first day of a month written 2026-04; NoSuchCell where it is none."""
    try:
        if len(month) != 7:
            raise ValueError(month)
        return dt.date.fromisoformat(f"{month}-01")
    except ValueError as error:
        raise NoSuchCell(f"{month!r} is no month; it is written like 2026-04.") from error


class CostSeason(NamedTuple):
    """What costs need to know of a season: its ground by code and name, with the part where it is not the whole field."""

    ground: str
    crop: str
    pk: int
    ground_name: str
    area_ac: Decimal


def seasons_where(*, farm: Farm, crop_year: int, where: CostWhere) -> dict[int, CostSeason]:
    """Return the seasons of a crop year that a condition leaves in, by id, in the order of ground and crop."""
    found = Season.objects.filter(farm=farm, crop_year=crop_year).order_by()
    if where.crop is not None:
        found = found.filter(crop=where.crop)
    if where.field is not None:
        # a code holds no dot
        found = found.filter(field__code=where.field.partition(".")[0])
    rows = found.values_list("pk", "crop", "area_ac", "part", "field__code", "field__name")
    seasons = [
        CostSeason(
            ground=f"{code}.{part}" if part else code,
            crop=crop,
            pk=pk,
            ground_name=f"{name} ({part})" if part else name,
            area_ac=area_ac,
        )
        for pk, crop, area_ac, part, code, name in rows
    ]
    return {
        season.pk: season for season in sorted(seasons) if where.field is None or season.ground == where.field
    }


def lines_where(where: CostWhere, season_ids: Iterable[int]) -> Q:
    """Return the condition on lines. The seasons say the farm, the crop year, the ground and the crop."""
    condition = Q(account=Account.SEASON, season_id__in=list(season_ids))
    if where.operation is not None:
        condition &= Q(operation=where.operation)
    if where.category is not None:
        condition &= Q(category=where.category)
    if where.machine == "":
        condition &= Q(machine=None, implement=None)
    elif where.machine is not None:
        condition &= Q(machine__code=where.machine) | Q(machine=None, implement__code=where.machine)
    if where.month is not None:
        first = month_start(where.month)
        condition &= Q(entry__booked_on__gte=first, entry__booked_on__lt=next_month(first))
    return condition


def can_carry(where: CostWhere) -> bool:
    """Return whether nothing that says which lines these are can change: the code of a machine can."""
    return not where.machine


class MonthText(Func):
    """The month of a day as 2026-04, worked out by the database itself: SQLite stores a day as text."""

    template = "substr(%(expressions)s, 1, 7)"
    output_field = TextField()

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        """Write the month out of a day that is one."""
        return self.as_sql(compiler, connection, template="to_char(%(expressions)s, 'YYYY-MM')", **context)


class Labels:
    """The words for the values of each dimension."""

    def __init__(self, *, farm: Farm, book: CategoryBook, seasons: Iterable[CostSeason]) -> None:
        self._book = book
        self._order = {code: at for at, code in enumerate(book)}
        self._grounds = {season.ground: season.ground_name for season in seasons}
        self._machines: dict[str, str] = {}
        self.codes: dict[tuple[type, int], str] = {}
        for model in (Implement, Machine):
            for thing in model.objects.filter(farm=farm):
                self.codes[model, thing.pk] = thing.code
                self._machines[thing.code] = thing_says(thing)

    def say(self, dimension: Dimension, value: str) -> str:
        """Return one value in words."""
        if not value:
            return NONE_SAYS.get(dimension, "none")
        if dimension == Dimension.FIELD:
            return self._grounds.get(value, value)
        if dimension == Dimension.CROP:
            return str(Crop(value).label) if value in Crop.values else value
        if dimension == Dimension.OPERATION:
            return WORDS[Operation(value)].english if value in set(Operation) else value
        if dimension == Dimension.CATEGORY:
            return self._book.label(value)
        if dimension == Dimension.MACHINE:
            return self._machines.get(value, value)
        return f"{month_start(value):%B %Y}"

    def order(self, dimension: Dimension, value: str) -> tuple[bool, int, str]:
        """Return where a value stands: categories as the book has them, others by their code, none at the end."""
        at = self._order.get(value, len(self._order)) if dimension == Dimension.CATEGORY else 0
        return (not value, at, value)
