"""Per-field costs as CSV and XLSX: the same rows, the same bytes each time."""

import csv
import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from xlsxwriter.exceptions import FileCreateError

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.exports.cells import text_cell
from ledger.exports.workbook import write_workbook
from ledger.selectors.costs import CostRow, crop_years, field_costs

COLUMNS = (
    "crop_year",
    "field",
    "crop",
    "area_ac",
    "category",
    "quantity",
    "unit",
    "amount_usd",
    "usd_per_ac",
)


class ExportRefused(DomainError):
    """A file that cannot be written as asked."""

    code = "export_refused"


def write_csv(*, farm: Farm, crop_year: int, path: Path) -> list[CostRow]:
    """Write the rows as RFC 4180 text in UTF-8 and return them; the file appears whole or not at all.

    Numbers have a point and no thousands marks; text that a spreadsheet would take for a formula gets an apostrophe.
    """
    rows = field_costs(farm=farm, crop_year=crop_year)
    with _whole(path) as unfinished, unfinished.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\r\n")
        writer.writerow(COLUMNS)
        for row in rows:
            writer.writerow(
                [
                    row.crop_year,
                    text_cell(row.field),
                    text_cell(row.crop),
                    f"{row.area_ac:.2f}",
                    text_cell(row.category),
                    "" if row.quantity is None else f"{row.quantity:f}",
                    text_cell(row.unit),
                    f"{row.amount_usd:f}",
                    f"{row.usd_per_ac:f}",
                ]
            )
    return rows


def write_xlsx(*, farm: Farm, crop_year: int, path: Path) -> list[CostRow]:
    """Write the rows as a workbook with typed cells and a sheet of totals, and return them."""
    rows = field_costs(farm=farm, crop_year=crop_year)
    with _whole(path) as unfinished:
        write_workbook(farm=farm, crop_year=crop_year, columns=COLUMNS, rows=rows, path=unfinished)
    return rows


WRITERS: dict[str, Callable[..., list[CostRow]]] = {".csv": write_csv, ".xlsx": write_xlsx}


def write_field_costs(*, farm: Farm, crop_year: int, path: Path) -> list[CostRow]:
    """Write the file that the name's ending asks for."""
    writer = WRITERS.get(path.suffix.lower())
    if writer is None:
        raise ExportRefused(f"{path.name}: the name ends in .csv or .xlsx, which says what to write.")
    if not path.parent.is_dir():
        raise ExportRefused(f"There is no folder {path.parent} to write {path.name} into.")
    years = crop_years(farm=farm)
    if crop_year not in years:
        known = ", ".join(map(str, years)) or "none yet"
        raise ExportRefused(f"{farm} has no season of the crop year {crop_year}; known: {known}.")
    try:
        return writer(farm=farm, crop_year=crop_year, path=path)
    except OSError as error:
        raise ExportRefused(f"{path} cannot be written: {error.strerror}.") from error
    except FileCreateError as error:
        raise ExportRefused(f"{path} cannot be written: {error}.") from error


@contextmanager
def _whole(path: Path) -> Iterator[Path]:
    """Give a file beside the wanted one, which takes its place when it is finished."""
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    os.close(handle)
    unfinished = Path(name)
    try:
        yield unfinished
        unfinished.chmod(0o644)
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
