"""Large files of the books, written as long work: counted beforehand, kept for a week."""

import datetime as dt
import tempfile
from pathlib import Path
from typing import Any

from django.utils.translation import gettext_noop

from farmops.core.long_work import Progress, Result, ResultFile, begin
from farmops.core.models import LongWork, User
from farmops.farms.models import Farm
from ledger.exports.about import About, write_manifest
from ledger.exports.csv_forms import Told
from ledger.exports.general_ledger import write_general_ledger
from ledger.exports.journal_csv import write_journal
from ledger.exports.ledger_files import write_year_lines
from ledger.selectors.chain import chain_head
from ledger.selectors.export_sizes import Holds, booked_lines, journal_size

EXPORT = "export"
OFFICE_KINDS = (EXPORT,)
"""The kinds of long work that are of the books: who keeps them sees these."""
JOURNAL, LEDGER, LINES = "journal", "ledger", "lines"
WHAT = (JOURNAL, LEDGER, LINES)
WRITING = gettext_noop("writing lines")
KEEPING = gettext_noop("keeping the file")
MOST_AT_ONCE = 20_000
"""So many rows are written while somebody waits: 7,500 (general ledger) to 70,000 rows a second were measured on one core."""
CSV_TYPE = "text/csv; charset=utf-8"


def holds(*, farm: Farm, what: str, first: dt.date, last: dt.date) -> Holds:
    """Return what a file will hold; the journal is whole, whatever the days."""
    return journal_size(farm=farm) if what == JOURNAL else booked_lines(farm=farm, first=first, last=last)


def is_long(holds: Holds) -> bool:
    """Whether a file takes longer to write than anybody waits for a page."""
    return holds.rows > MOST_AT_ONCE


def begin_export(
    *, farm: Farm, what: str, first: dt.date, last: dt.date, asked_by: User | None, now: dt.datetime
) -> LongWork:
    """Have a file written; the same of the same books asked for twice is one. Lines are those of the year of `first`."""
    head = chain_head(farm=farm).number
    asked: dict[str, Any] = {"what": what, "first": first.isoformat(), "last": last.isoformat()}
    key = f"{what} {first} {last} entry {head}"
    return begin(farm=farm, kind=EXPORT, asked_by=asked_by, asked=asked, key=key, now=now)


def export(work: LongWork, progress: Progress) -> Result:
    """Write the file and keep it, with its manifest beside."""
    asked, farm = work.asked, work.farm
    first, last = dt.date.fromisoformat(asked["first"]), dt.date.fromisoformat(asked["last"])
    rows = holds(farm=farm, what=asked["what"], first=first, last=last).rows
    progress(0, rows, WRITING)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / file_name(farm=farm, what=asked["what"], first=first, last=last)
        facts = _written(farm, asked["what"], first, last, path, lambda count: progress(count, rows))
        progress(rows, rows, KEEPING)
        progress.keep_file(ResultFile(path, path.name, CSV_TYPE))
        manifest = write_manifest(path=path, facts=facts).read_text(encoding="utf-8")
    return Result({"rows": facts.row_count, "sum_usd": facts.sum_usd, "manifest": manifest})


def file_name(*, farm: Farm, what: str, first: dt.date, last: dt.date) -> str:
    """Return what a file is called."""
    if what == JOURNAL:
        return f"{farm.code}-journal.csv"
    if what == LEDGER:
        return f"{farm.code}-general-ledger-{first}-to-{last}.csv"
    return f"{farm.code}-{first.year}-lines.csv"


def _written(farm: Farm, what: str, first: dt.date, last: dt.date, path: Path, told: Told) -> About:
    if what == JOURNAL:
        return write_journal(farm=farm, path=path, told=told)
    if what == LEDGER:
        return write_general_ledger(farm=farm, first=first, last=last, path=path, told=told)
    return write_year_lines(farm=farm, crop_year=first.year, path=path, told=told)
