"""The journal of a farm as CSV, form `journal/1`: everything that is hashed, so that the chain can be proved elsewhere.

RFC 4180 in UTF-8, commas, no byte order mark, one row for each line of an entry; an entry without lines is one row with an
empty `line_no`. Rows are in the order of entry and line. Columns:

* `entry` number, 1, 2, 3 ... without gaps; `form` of the canonical form that is hashed (1 or 2); `source_kind` and
  `source_key`, what caused it and its own lasting id; `purpose`; `happened_on`, the business date; `booked_on`, the day it
  counts for; `posted_at`, an instant in UTC with microseconds; `why`, of a reversal and a close; `reverses`, the number of
  the entry that it undoes.
* `line_no`, 1, 2, 3 ... of the entry; `account`; `subject`, whose account: a season, a machine, a pump; `outfit`, machine
  and implement of a season's cost; `operation`; `category`; `item` and `lot` of what is in stock; `drawn_from`, entry and
  line by which it came into stock, as `12/1`, where it was drawn at actual cost (the one column that is not hashed, with
  `currency`); `quantity` with four decimals and its `unit` (minutes are priced by the hour); `usd_per_unit` with four
  decimals; `amount_usd` with two, above zero a cost or what is had, below zero what is owed or used; `says`, in words.
* `hash_before` and `hash`, SHA-256 in hex digits: of the digest before and the entry, see `ledger/costing/chain.py`;
  `currency`, USD.

A text cell that a spreadsheet would take for a formula, or that begins with an apostrophe, has an apostrophe before it.
"""

from pathlib import Path

from farmops.farms.models import Farm
from ledger.exports.about import About, about, head_of, write_manifest
from ledger.exports.cells import text_cell
from ledger.exports.csv_forms import PLAIN, TOLD_EACH, Told, csv_writer
from ledger.exports.whole import refusing, whole_file
from ledger.selectors.journal_rows import COLUMNS, TEXT_COLUMNS, journal_rows
from ledger.services.bill_rules import CURRENCY

FORM = "journal/1"


def write_journal(*, farm: Farm, path: Path, told: Told | None = None) -> About:
    """Write the journal of a farm and return what the file is of: it ends at the head that it names.

    `told` hears now and then how many rows are written.
    """
    head = head_of(farm=farm)
    count, total = 0, 0
    with refusing(path), whole_file(path) as unfinished, csv_writer(unfinished, PLAIN) as writer:
        writer.writerow(COLUMNS)
        for row in journal_rows(farm=farm, through=head.number, currency=CURRENCY):
            writer.writerow(
                [text_cell(row.cells[name]) if name in TEXT_COLUMNS else row.cells[name] for name in COLUMNS]
            )
            count, total = count + 1, total + row.cents
            if told is not None and count % TOLD_EACH == 0:
                told(count)
    return about(
        farm=farm, form=FORM, period=f"entries 1 to {head.number}", row_count=count, cents=total, head=head
    )


def export_journal(*, farm: Farm, path: Path) -> About:
    """Write the journal, and its manifest beside it."""
    facts = write_journal(farm=farm, path=path)
    with refusing(path):
        write_manifest(path=path, facts=facts)
    return facts
