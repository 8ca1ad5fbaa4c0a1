"""Maps from categories to the lines of another form, or of another year, kept as a farm's own data."""

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from django.core.validators import slug_re
from django.db import transaction

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.models import CategoryMap, CategoryMapLine
from ledger.selectors.categories import CategoryBook, category_book

COLUMNS = ("category", "line", "label")
LONGEST = {"line": 12, "label": 80}
LONGEST_CODE, LONGEST_NAME = 40, 80
FIRST_YEAR, LAST_YEAR = 1990, 2100
MOST_BYTES = 1_000_000


class MapRefused(DomainError):
    """A map that cannot be kept; the sentence names the file and the line."""

    code = "map_refused"


@dataclass(frozen=True)
class MapLoaded:
    """A map that was kept, and whether it took the place of one of the same code and form year."""

    map: CategoryMap
    line_count: int
    is_new: bool


def load_map(*, farm: Farm, path: Path, code: str, name: str, form_year: int) -> MapLoaded:
    """Keep the map of a file for the form of a year and the years after, in the place of one that was there.

    The file has the columns category, line and label, each category once. All of it or nothing. Raises MapRefused.
    """
    if not slug_re.match(code) or len(code) > LONGEST_CODE:
        raise MapRefused(f"{code!r} is no code: letters, digits and dashes.", fields={"code": "A code."})
    if not name.strip() or len(name) > LONGEST_NAME or not name.isprintable():
        raise MapRefused(f"A map has a name of {LONGEST_NAME} letters at most.", fields={"name": "A name."})
    if not FIRST_YEAR <= form_year <= LAST_YEAR:
        raise MapRefused(
            f"The year {form_year} is not between {FIRST_YEAR} and {LAST_YEAR}.",
            fields={"form_year": "Which?"},
        )
    lines = _lines(path, category_book(farm=farm))
    with transaction.atomic():
        kept, is_new = CategoryMap.objects.update_or_create(
            farm=farm, code=code, form_year=form_year, defaults={"name": name.strip()}
        )
        kept.lines.all().delete()
        for line in lines:
            line.farm, line.map = farm, kept
        CategoryMapLine.objects.bulk_create(lines)
    return MapLoaded(kept, len(lines), is_new)


def _lines(path: Path, known: CategoryBook) -> list[CategoryMapLine]:
    reader = csv.DictReader(io.StringIO(_text(path), newline=""), strict=True)
    found: dict[str, CategoryMapLine] = {}
    try:
        if tuple(reader.fieldnames or ()) != COLUMNS:
            raise MapRefused(f"{path.name}, line 1: the columns are {', '.join(COLUMNS)}.")
        for row in reader:
            line = _line(f"{path.name}, line {reader.line_num}", row, known)
            if line.category in found:
                raise MapRefused(f"{path.name}, line {reader.line_num}: {line.category} stands there twice.")
            found[line.category] = line
    except csv.Error as error:
        raise MapRefused(f"{path.name}, after line {reader.line_num}: {error}.") from error
    if not found:
        raise MapRefused(f"{path.name} holds a header and no rows.")
    return list(found.values())


def _line(place: str, row: dict[str, str], known: CategoryBook) -> CategoryMapLine:
    if None in row or None in row.values():
        raise MapRefused(f"{place}: a row has {len(COLUMNS)} cells.")
    cells = {name: row[name].strip() for name in COLUMNS}
    if cells["category"] not in known:
        raise MapRefused(f"{place}, column category: {cells['category']!r} is not a category.")
    for name, most in LONGEST.items():
        if not cells[name] or len(cells[name]) > most or not cells[name].isprintable():
            raise MapRefused(f"{place}, column {name}: it has 1 to {most} signs that can be printed.")
    return CategoryMapLine(**cells)


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise MapRefused(f"{path.name} has more than {MOST_BYTES // 1_000_000} MB.")
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise MapRefused(f"{path} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise MapRefused(f"{path.name} is not UTF-8 text (byte {error.start + 1}).") from error
    if "\0" in text:
        raise MapRefused(f"{path.name} holds zero bytes; it is not a text file.")
    return text
