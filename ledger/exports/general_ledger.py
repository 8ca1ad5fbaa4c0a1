"""The general ledger as CSV: every account over some days, its lines with the balance after each, streamed.

An account begins with a row without an entry that holds the balance before the first day, and has no other row where
nothing was booked on it.
"""

import datetime as dt
from pathlib import Path
from typing import Any

from farmops.farms.models import Farm
from ledger.costing.money import usd_text
from ledger.exports.about import About, about, head_of, write_manifest
from ledger.exports.cells import text_cell
from ledger.exports.csv_forms import PLAIN, TOLD_EACH, CsvForm, Told, csv_writer
from ledger.exports.whole import ExportRefused, refusing, whole_file
from ledger.models import Account
from ledger.selectors.general_ledger import LedgerLine, account_days, general_ledger

FORM = "general-ledger/1"
COLUMNS = (
    "account",
    "account_name",
    "entry",
    "line_no",
    "booked_on",
    "happened_on",
    "source",
    "subject",
    "outfit",
    "operation",
    "category",
    "item",
    "lot",
    "quantity",
    "unit",
    "says",
    "amount_usd",
    "balance_usd",
)


def write_general_ledger(
    *, farm: Farm, first: dt.date, last: dt.date, path: Path, form: CsvForm = PLAIN, told: Told | None = None
) -> About:
    """Write every account over days, both included, and return what the file is of; `told` hears how many lines are written.

    What is booked meanwhile is not in it: the file ends at the head that it names. The amounts of all accounts come to zero in whole books. Raises ExportRefused where the days are turned round.
    """
    if last < first:
        raise ExportRefused(f"The days end on {last}, before they begin on {first}.")
    head = head_of(farm=farm)
    count, total = 0, 0
    with whole_file(path) as unfinished, csv_writer(unfinished, form) as writer:
        writer.writerow(COLUMNS)
        for account in Account:
            days = account_days(farm=farm, account=account, first=first, last=last, through=head.number)
            if not days.line_count and not days.before_cents:
                continue
            writer.writerow(_before(account, days.before_cents, first, form))
            for line in general_ledger(
                farm=farm, account=account, first=first, last=last, through=head.number
            ):
                writer.writerow(_row(account, line, form))
                count, total = count + 1, total + line.cents
                if told is not None and count % TOLD_EACH == 0:
                    told(count)
    return about(farm=farm, form=FORM, period=f"{first} to {last}", row_count=count, cents=total, head=head)


def export_general_ledger(*, path: Path, **asked: Any) -> About:
    """Write the file, and its manifest beside it."""
    with refusing(path):
        facts = write_general_ledger(path=path, **asked)
        write_manifest(path=path, facts=facts)
    return facts


def _before(account: Account, cents: int, first: dt.date, form: CsvForm) -> list[Any]:
    told = dict.fromkeys(COLUMNS, "") | {
        "account": account.value,
        "account_name": text_cell(str(account.label)),
        "says": f"balance before {first}",
        "balance_usd": _usd(cents, form),
    }
    return [told[name] for name in COLUMNS]


def _row(account: Account, line: LedgerLine, form: CsvForm) -> list[Any]:
    return [
        account.value,
        text_cell(str(account.label)),
        line.entry_number,
        line.line_no,
        line.booked_on.isoformat(),
        line.happened_on.isoformat(),
        *map(
            text_cell,
            (line.source_says, line.subject, line.outfit, line.operation, line.category, line.item, line.lot),
        ),
        form.number(line.quantity),
        text_cell(line.unit),
        text_cell(line.says),
        _usd(line.cents, form),
        _usd(line.balance_cents, form),
    ]


def _usd(cents: int, form: CsvForm) -> str:
    return usd_text(cents).replace(".", form.decimal_mark)
