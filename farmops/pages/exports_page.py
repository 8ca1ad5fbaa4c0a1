"""What stands on the page of files to take away: what each will hold, counted now, and how it is fetched."""

import datetime as dt
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.desk.long_exports import JOURNAL, LEDGER, LINES, holds, is_long
from farmops.farms.models import Farm
from farmops.pages import words
from ledger.selectors.chain import chain_head
from ledger.selectors.costs import crop_years
from ledger.selectors.export_sizes import Holds, season_cost_rows


@dataclass(frozen=True)
class Fetch:
    """A form of a file: its words, and the address that gives it at once."""

    says: str
    address: str


@dataclass(frozen=True)
class File:
    """One file: what it is, what it will hold, and how it is had: at once, or written as long work."""

    name: str
    holds: str
    fetch: list[Fetch]
    what: str = ""
    """What is asked for where it is long work; empty where it is given at once."""
    days: tuple[dt.date, dt.date] | None = None


def exports_facts(*, farm: Farm, year: int, first: dt.date, last: dt.date) -> dict[str, Any]:
    """Return the files of a crop year, of the days of the general ledger, and of the whole books."""
    row_count, cents = season_cost_rows(farm=farm, crop_year=year)
    at = {"year": year}
    of_year = (dt.date(year, 1, 1), dt.date(year, 12, 31))
    days = {"from": first.isoformat(), "to": last.isoformat()}
    files = [
        File(
            _("Costs of the crop year {year} by season and category").format(year=year),
            _rows(row_count, cents),
            [
                Fetch(_("workbook with totals"), _costs(farm, "xlsx", at)),
                Fetch(_("plain CSV"), _costs(farm, "csv", at)),
                Fetch(_("its control totals"), _costs(farm, "csv", at | {"manifest": "yes"})),
                Fetch(_("CSV with commas for a spreadsheet"), _costs(farm, "spreadsheet", at)),
                Fetch(_("CSV with semicolons for a spreadsheet"), _costs(farm, "semicolon", at)),
            ],
        ),
        _file(
            _("Every line booked in {year}").format(year=year),
            holds(farm=farm, what=LINES, first=of_year[0], last=of_year[1]),
            _costs(farm, "lines", at),
            _costs(farm, "lines", at | {"manifest": "yes"}),
            LINES,
            of_year,
        ),
        _file(
            _("General ledger, {first} to {last}").format(
                first=words.full_date(first), last=words.full_date(last)
            ),
            holds(farm=farm, what=LEDGER, first=first, last=last),
            _at(reverse("pages:general_ledger_file", args=[farm.code]), days),
            _at(reverse("pages:general_ledger_file", args=[farm.code]), days | {"manifest": "yes"}),
            LEDGER,
            (first, last),
        ),
        _file(
            _("The whole journal, to be read in again elsewhere"),
            holds(farm=farm, what=JOURNAL, first=first, last=last),
            reverse("pages:journal_file", args=[farm.code]),
            _at(reverse("pages:journal_file", args=[farm.code]), {"manifest": "yes"}),
            JOURNAL,
            (first, last),
        ),
    ]
    return {
        "year": year,
        "years": crop_years(farm=farm),
        "first": first,
        "last": last,
        "files": files,
        "any_long": any(file.what for file in files),
        "head": chain_head(farm=farm),
    }


def lines_said(count: int) -> str:
    """Return a count of lines."""
    return ngettext("{count} line", "{count} lines", count).format(count=f"{count:,}")


def _file(
    name: str, size: Holds, address: str, manifest: str, what: str, days: tuple[dt.date, dt.date]
) -> File:
    if is_long(size):
        return File(name, _size(size), [], what, days)
    fetch = [Fetch(_("plain CSV"), address), Fetch(_("its control totals"), manifest)]
    return File(name, _size(size), fetch)


def _size(size: Holds) -> str:
    if size.first is None or size.last is None:
        return _("Nothing but the names of its columns: nothing is booked.")
    return _("{lines}, booked {first} to {last}; debits less credits are {sum}.").format(
        lines=lines_said(size.rows),
        first=words.table_date(size.first),
        last=words.table_date(size.last),
        sum=words.dollars(size.cents),
    )


def _rows(count: int, cents: int) -> str:
    if not count:
        return _("Nothing but the names of its columns: nothing is booked.")
    return _("{lines}; they come to {sum}.").format(lines=lines_said(count), sum=words.dollars(cents))


def _costs(farm: Farm, kind: str, query: dict[str, Any]) -> str:
    return _at(reverse("pages:download", args=[farm.code, kind]), query)


def _at(address: str, query: dict[str, Any]) -> str:
    return f"{address}?{urlencode(query)}"
