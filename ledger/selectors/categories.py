"""Categories of cost: those that ship (`fixtures/categories.csv`), then the farm's own."""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from farmops.core.ready import Ready
from farmops.farms.models import Farm
from ledger.models import Account, Category, FarmCategory

SHIPPED = Path(__file__).resolve().parents[2] / "fixtures" / "categories.csv"
COLUMNS = ("code", "label", "is_stocked", "is_billed", "counts_for_1099")
YES_NO = {"yes": True, "no": False}


class CategoriesError(ValueError):
    """A file of categories that cannot be used; the sentence says where."""


@dataclass(frozen=True)
class CategoryFacts:
    """One category: its label, and what it means for a bill."""

    code: str
    label: str
    is_stocked: bool
    is_billed: bool
    counts_for_1099: bool


class CategoryBook(Mapping[str, CategoryFacts]):
    """The categories of a farm by code, in the order in which they are offered."""

    def __init__(self, rows: Mapping[str, CategoryFacts]) -> None:
        self._rows = dict(rows)

    def __getitem__(self, code: str) -> CategoryFacts:
        return self._rows[code]

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)

    def label(self, code: str) -> str:
        """Return the words of a category; the code in words where the farm does not know it any more."""
        row = self._rows.get(code)
        return row.label if row is not None else code.replace("_", " ")

    def billed(self) -> tuple[CategoryFacts, ...]:
        """Return the categories that a bill may be of."""
        return tuple(row for row in self._rows.values() if row.is_billed)

    def stock(self, code: str) -> Account | None:
        """Return the stock that a category is bought into: the tank, the shed, or none."""
        row = self._rows.get(code)
        if row is None or not row.is_stocked:
            return None
        return Account.FUEL_STOCK if code == Category.FUEL else Account.INPUT_STOCK

    def is_counted(self, code: str) -> bool:
        """Return whether what is paid of a category counts for form 1099."""
        row = self._rows.get(code)
        return row is not None and row.counts_for_1099


OWN = Ready(lambda farm_id: FarmCategory.objects.filter(farm=farm_id).order_by("code"), -1)


def category_book(*, farm: Farm) -> CategoryBook:
    """Return the categories of a farm: those that ship, then its own by code."""
    rows = dict(shipped_categories())
    for own in OWN.ask(farm.pk):
        rows.setdefault(
            own.code,
            CategoryFacts(own.code, own.label, own.is_stocked, True, own.counts_for_1099),
        )
    return CategoryBook(rows)


@cache
def shipped_categories(path: Path = SHIPPED) -> Mapping[str, CategoryFacts]:
    """Return the categories of a file like `fixtures/categories.csv` by code. Raises CategoriesError with the line."""
    found: dict[str, CategoryFacts] = {}
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file, strict=True)
        if tuple(reader.fieldnames or ()) != COLUMNS:
            raise CategoriesError(f"{path.name}, line 1: the columns are {', '.join(COLUMNS)}")
        for row in reader:
            code = row["code"]
            if code in found:
                raise CategoriesError(f"{path.name}, line {reader.line_num}: {code} stands there twice")
            told = [row[name] for name in COLUMNS[2:]]
            if not code or not row["label"] or any(one not in YES_NO for one in told):
                raise CategoriesError(
                    f"{path.name}, line {reader.line_num}: a category has a code, a label, and yes or no after them"
                )
            found[code] = CategoryFacts(code, row["label"], *(YES_NO[one] for one in told))
    return found
