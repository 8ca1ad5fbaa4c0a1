"""Maps from categories to the lines of a form: those that ship (`fixtures/maps`), and a farm's own.

Line numbers of a form move: a map is for the years of the form that it names.
"""

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from django.utils.translation import gettext_noop

from farmops.core.problems import DomainError, Kind
from farmops.farms.models import Farm
from ledger.models import CategoryMap

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "maps"
COLUMNS = ("first_form_year", "last_form_year", "line", "label", "category", "source")
SCHEDULE_F = "schedule_f"
NAMES = {SCHEDULE_F: gettext_noop("Schedule F (Form 1040), part II")}
LAST_YEAR = 9999


class MapsError(ValueError):
    """A file of a map that cannot be used; the sentence says where."""


class NoSuchMap(DomainError):
    """A map is asked for that nobody has made, or for a year of the form that it does not know."""

    code = "no_such_map"
    kind = Kind.MISSING


@dataclass(frozen=True)
class FormLine:
    """A line of a form: its number as the form has it, such as 21b, and its words."""

    line: str
    label: str


@dataclass(frozen=True)
class ShippedLine:
    """Where a category stands on a form of some years, and how that is known."""

    first_form_year: int
    last_form_year: int
    line: FormLine
    category: str
    source: str


@dataclass(frozen=True)
class FormMap:
    """Where each category stands on a form of a year; a category that is on no line is in none of them."""

    code: str
    name: str
    form_year: int
    lines: Mapping[str, FormLine]


def form_map(*, farm: Farm, code: str, form_year: int) -> FormMap:
    """Return a map for the form of a year: what ships, and over it the farm's own of that code.

    Of a farm's own maps the newest holds that is not for a later form. Raises NoSuchMap.
    """
    shipped = FOLDER / f"{code}.csv"
    lines = {
        row.category: row.line
        for row in (shipped_map(shipped) if code in NAMES else ())
        if row.first_form_year <= form_year <= row.last_form_year
    }
    own = (
        CategoryMap.objects.filter(farm=farm, code=code, form_year__lte=form_year)
        .order_by("-form_year")
        .prefetch_related("lines")
        .first()
    )
    if own is not None:
        lines |= {row.category: FormLine(row.line, row.label) for row in own.lines.all()}
    if not lines:
        raise NoSuchMap(f"{farm.name} has no map {code!r} for the form of {form_year}; {_known(farm)}.")
    name = own.name if own is not None else NAMES[code]
    return FormMap(code, name, form_year, lines)


def map_codes(*, farm: Farm) -> list[tuple[str, str]]:
    """Return code and name of each map that a farm can use, those that ship first."""
    own = CategoryMap.objects.filter(farm=farm).order_by("code", "form_year").values_list("code", "name")
    return list((NAMES | dict(own)).items())


def line_order(line: str) -> tuple[int, str]:
    """Return by what lines of a form are put in order: 9, 10, 21a, 21b."""
    digits = line[: len(line) - len(line.lstrip("0123456789"))]
    return (int(digits) if digits else LAST_YEAR, line)


@cache
def shipped_map(path: Path) -> Sequence[ShippedLine]:
    """Return the lines of a file like `fixtures/maps/schedule_f.csv`. Raises MapsError with the line."""
    found: list[ShippedLine] = []
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file, strict=True)
        if tuple(reader.fieldnames or ()) != COLUMNS:
            raise MapsError(f"{path.name}, line 1: the columns are {', '.join(COLUMNS)}")
        for row in reader:
            at = f"{path.name}, line {reader.line_num}"
            try:
                first, last = int(row["first_form_year"]), int(row["last_form_year"] or LAST_YEAR)
            except (ValueError, TypeError) as error:
                raise MapsError(f"{at}: years of the form are whole numbers") from error
            one = ShippedLine(
                first, last, FormLine(row["line"], row["label"]), row["category"], row["source"]
            )
            if last < first or not all((row["line"], row["label"], row["category"], row["source"])):
                raise MapsError(f"{at}: years follow each other, and no other cell is empty")
            if any(one.category == other.category and first <= other.last_form_year for other in found):
                raise MapsError(f"{at}: {one.category} stands there twice for the form of {first}")
            found.append(one)
    return tuple(found)


def _known(farm: Farm) -> str:
    years = sorted({row.first_form_year for row in shipped_map(FOLDER / f"{SCHEDULE_F}.csv")})
    own = CategoryMap.objects.filter(farm=farm).order_by("code", "form_year")
    known = [f"{SCHEDULE_F} from {years[0]} on", *(f"{one.code} from {one.form_year} on" for one in own)]
    return f"known: {', '.join(known)}"
