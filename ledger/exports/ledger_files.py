"""Every line that was booked in a year, as the file that the name's ending asks for."""

from pathlib import Path

from farmops.farms.models import Farm
from ledger.exports.about import About
from ledger.exports.csv_forms import PLAIN, CsvForm, Told
from ledger.exports.ledger_lines import write_ledger_lines
from ledger.exports.ledger_lines_workbook import write_lines_workbook
from ledger.exports.tables import refuse_other_endings
from ledger.exports.whole import ExportRefused, refusing


def write_year_lines(*, farm: Farm, crop_year: int, path: Path, told: Told | None = None) -> About:
    """Write the lines booked in the calendar year that a crop year is named after, as plain CSV; `told` hears how many."""
    return write_ledger_lines(farm=farm, year=crop_year, path=path, told=told)


def write_lines(*, farm: Farm, year: int, path: Path, form: CsvForm = PLAIN) -> About:
    """Write the lines of a year and return what the file is of."""
    refuse_other_endings(path)
    if not 1990 <= year <= 2100:
        raise ExportRefused(f"The year {year} is not between 1990 and 2100.")
    with refusing(path):
        if path.suffix.lower() == ".csv":
            return write_ledger_lines(farm=farm, year=year, path=path, form=form)
        return write_lines_workbook(farm=farm, year=year, path=path)
