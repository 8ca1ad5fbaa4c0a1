"""Budgets from a CSV file: `crop_year,crop,category,usd_per_ac` and, where wanted, `field` (code of the ground).

All of a file or nothing. UTF-8, with or without a byte order mark; numbers have a point. What is wrong is named by
file, line and column.
"""

import csv
import datetime as dt
import io
from pathlib import Path
from typing import Any

from django.db import transaction

from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Season
from ledger.selectors.drafts import ground_code
from ledger.services.budgets import set_budget

COLUMNS = ("crop_year", "crop", "category", "usd_per_ac")
EXTRA = "field"
MOST_BYTES = 2_000_000


class BudgetFileRefused(DomainError):
    """A file of budgets that cannot be used; nothing of it was kept."""

    code = "budget_file_refused"


def load_budgets(
    *, farm: Farm, path: Path, corrects: bool = False, entered_by: Any = None, now: dt.datetime
) -> tuple[int, int]:
    """Keep the budgets of a file; returns how many rows were new and how many were known before."""
    new = known = 0
    with transaction.atomic():
        for line, row in _rows(path):
            try:
                _kept, is_new = set_budget(
                    farm=farm,
                    crop_year=_year(row["crop_year"]),
                    crop=row["crop"],
                    category=row["category"],
                    usd_per_ac=row["usd_per_ac"],
                    season=_season(farm, row) if row.get(EXTRA) else None,
                    corrects=corrects,
                    entered_by=entered_by,
                    now=now,
                )
            except DomainError as error:
                column = f", column {', '.join(error.fields)}" if error.fields else ""
                raise BudgetFileRefused(f"{path.name}, line {line}{column}: {error.says}") from error
            new, known = new + is_new, known + (not is_new)
    return new, known


def _year(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) == 4):
        raise BudgetFileRefused(
            f"{text!r} is not a year such as 2026.", fields={"crop_year": "Not a crop year."}
        )
    return int(text)


def _season(farm: Farm, row: dict[str, str]) -> Season:
    seasons = Season.objects.filter(
        farm=farm, crop_year=_year(row["crop_year"]), crop=row["crop"]
    ).select_related("field")
    found = [season for season in seasons if ground_code(season) == row[EXTRA]]
    if not found:
        raise BudgetFileRefused(
            f"{row[EXTRA]!r} has no {row['crop']} in {row['crop_year']}.", fields={EXTRA: "Not known."}
        )
    return found[0]


def _rows(path: Path) -> list[tuple[int, dict[str, str]]]:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BudgetFileRefused(f"{path.name} has more than {MOST_BYTES // 1_000_000} MB.")
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise BudgetFileRefused(f"{path} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise BudgetFileRefused(f"{path.name} is not UTF-8 text (byte {error.start + 1}).") from error
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        header = next(reader, [])
        if set(header) - {EXTRA} != set(COLUMNS) or len(set(header)) != len(header):
            raise BudgetFileRefused(
                f"{path.name}, line 1: the header is {','.join(COLUMNS)} and may have {EXTRA}, not {','.join(header)!r}."
            )
        rows = []
        for cells in reader:
            if not any(cells):
                continue
            if len(cells) != len(header):
                raise BudgetFileRefused(
                    f"{path.name}, line {reader.line_num}: {len(cells)} cells where the header has {len(header)}."
                )
            rows.append((reader.line_num, dict(zip(header, (cell.strip() for cell in cells), strict=True))))
    except csv.Error as error:
        raise BudgetFileRefused(f"{path.name}, line {reader.line_num}: {error}.") from error
    if not rows:
        raise BudgetFileRefused(f"{path.name} holds a header and no rows.")
    return rows
