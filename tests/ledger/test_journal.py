"""The journal as a file: the chain can be proved from it alone, and read into empty books it gives the same head.

Long because each fault that a file can have has its row here, with the sentence that names its line.
"""

import copy
import csv
import datetime as dt
import hashlib
import io
import json
import unicodedata
import uuid
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db.models import Sum

from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from ledger.exports.journal_csv import export_journal, write_journal
from ledger.exports.journal_file import import_journal
from ledger.models import Entry, Line, PeriodMark
from ledger.selectors.chain import chain_head
from ledger.selectors.cost_cells import CostWhere, Dimension
from ledger.selectors.cost_tables import cost_table
from ledger.selectors.costs import field_costs
from ledger.selectors.journal_rows import COLUMNS
from ledger.selectors.periods import closed_through, periods
from ledger.selectors.pools import pool_costs
from ledger.selectors.share_weights import ShareOutRefused
from ledger.selectors.stock import stock_on_hand
from ledger.selectors.trial_balance import trial_balance
from ledger.services.bills import NewBillItem
from ledger.services.books import choose_year
from ledger.services.journal import reverse_entry
from ledger.services.journal_import import JournalRefused
from ledger.services.landlords import charge_landlord, set_landlord_term
from ledger.services.periods import close_period, reopen_period
from ledger.services.posting import post_pending
from ledger.services.verify import verify_ledger
from scheduling.models import InputUse
from tests.factories import make_farm
from tests.laying import Lay
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place, make_work
from tests.ledger.test_schedule_f import SOURCES

IN_JUNE = dt.datetime(2026, 6, 2, 16, 3, 4, 567, tzinfo=dt.UTC)
APRIL = dt.date(2026, 4, 1)
YEARS_END = dt.date(2026, 12, 31)


@pytest.fixture(scope="module")
def books_of_the_file(laid_once: Lay) -> Place:
    return laid_once(make_books)


@pytest.fixture
def books(books_of_the_file: Place, db: None) -> Place:
    return copy.deepcopy(books_of_the_file)


def make_books() -> Place:
    """Books with all that is booked in them: stock at actual cost, shares, reversals, a month closed, opened and closed."""
    place = make_place()
    choose_year(farm=place.farm, year=2026, stock_cost="actual", fuel_by="average_hour", now=NOON)
    items = [NewBillItem("seed", "400.00", item="cotton-seed", lot="L-7", quantity="100", unit="lb")]
    make_bill(place, "400.00", number="S 1", items=items, paid_on=DAY, check_no="-1001")
    make_bill(place, "-5.05", number="'C 1", payee="=Cotton & Söhne", category="insurance")
    post_pending(now=NOON)
    record = make_work(place, overtime_min=30)
    use = {"input_code": "cotton-seed", "quantity": Decimal("12.5"), "unit": "lb", "lot": "L-7"}
    InputUse.objects.create(farm=place.farm, work_record=record, **use)
    for name in (
        "the owner's time",
        "opening stock",
        "a service with parts",
        "a share-out",
        "a landlord's part",
        "a reversal",
    ):
        SOURCES[name](place)
    post_pending(now=NOON)
    close_period(farm=place.farm, month=APRIL, now=IN_JUNE)
    reopen_period(farm=place.farm, month=APRIL, why="a bill was missing, =1+1", now=IN_JUNE)
    close_period(farm=place.farm, month=APRIL, now=IN_JUNE)
    reverse_entry(entry=Entry.objects.get(work_record=record), why="-2+3: another field", now=IN_JUNE)
    post_pending(now=IN_JUNE)
    assert verify_ledger().is_whole
    return place


@pytest.fixture
def journal(books: Place, tmp_path: Path) -> Path:
    path = tmp_path / "journal.csv"
    export_journal(farm=books.farm, path=path)
    return path


def rows_of(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_bytes().decode(), newline="")))


def test_the_digests_follow_from_the_file_alone(books: Place, journal: Path) -> None:
    """Worked out from the cells with json, unicodedata and hashlib by the documented form, without a line of the project's."""

    def text(cell: str) -> str:
        return unicodedata.normalize("NFC", cell.removeprefix("'"))

    def whole(cell: str) -> int | None:
        return int(cell.replace(".", "")) if cell else None

    entries: dict[str, list[dict[str, str]]] = {}
    for row in rows_of(journal):
        entries.setdefault(row["entry"], []).append(row)
    digest = ""
    for number, rows in entries.items():
        first = rows[0]
        lines = [
            [
                int(row["line_no"]),
                row["account"],
                text(row["subject"]),
                row["category"],
                whole(row["amount_usd"]),
                whole(row["quantity"]),
                text(row["unit"]),
                whole(row["usd_per_unit"]),
                *(text(row[name]) for name in ("says", "outfit", "operation", "item", "lot")),
            ]
            for row in rows
            if row["line_no"]
        ]
        head = [first["source_kind"], text(first["source_key"]), first["purpose"], first["happened_on"]]
        canonical = [
            2,
            digest,
            int(number),
            *head,
            first["booked_on"],
            first["posted_at"],
            text(first["why"]),
            lines,
        ]
        told = json.dumps(canonical, ensure_ascii=False, separators=(",", ":"))
        digest = hashlib.sha256(told.encode()).hexdigest()
        assert (first["hash"], first["form"]) == (digest, "2")
    assert digest == chain_head(farm=books.farm).digest
    assert len(entries) == Entry.objects.count()


def test_a_farm_with_the_same_facts_gets_the_same_books(books: Place, journal: Path, tmp_path: Path) -> None:
    other = make_place("fox-hollow", rated=False)
    done = import_journal(farm=other.farm, path=journal)
    assert done.head == chain_head(farm=books.farm) == chain_head(farm=other.farm)
    assert (done.entries, done.not_linked) == (Entry.objects.filter(farm=books.farm).count(), {})
    assert (
        done.lines
        == Line.objects.filter(farm=other.farm).count()
        == Line.objects.filter(farm=books.farm).count()
    )
    assert verify_ledger(farm=other.farm).faults == []
    assert _reports(other.farm) == _reports(books.farm)
    assert closed_through(farm=other.farm) == APRIL
    again = tmp_path / "again.csv"
    write_journal(farm=other.farm, path=again)
    assert again.read_bytes() == journal.read_bytes()


def _reports(farm: Farm) -> list[object]:
    by = (Dimension.FIELD, Dimension.OPERATION, Dimension.MACHINE, Dimension.CATEGORY, Dimension.MONTH)
    table = cost_table(farm=farm, crop_year=2026, by=by, where=CostWhere())
    costs = [
        (row.field, row.category, row.quantity, row.unit, row.cents)
        for row in field_costs(farm=farm, crop_year=2026)
    ]
    held = [(one.item, one.unit, one.stock.held_e4, one.stock.held_cents) for one in stock_on_hand(farm=farm)]
    months = [
        (row.month, row.is_closed, row.entries, row.late, row.head, row.number)
        for row in periods(farm=farm, today=DAY)
    ]
    pools = pool_costs(farm=farm)
    balance = trial_balance(farm=farm, through=YEARS_END)
    return [[(row.key, row.cents) for row in table.rows], costs, held, months, pools, balance]


def test_a_bare_farm_gets_the_same_head_and_keeps_the_names(books: Place, journal: Path) -> None:
    bare = make_farm("bare-forty")
    done = import_journal(farm=bare, path=journal)
    assert chain_head(farm=bare) == chain_head(farm=books.farm)
    assert verify_ledger(farm=bare).faults == []
    assert set(done.not_linked) == {"pond-40 cotton 2026", "tractor-1", "disk-1"}
    lines = Line.objects.filter(farm=bare)
    assert lines.filter(season=None, machine=None, implement=None).count() == lines.count()
    sums = {
        row["account"]: row["cents"]
        for row in lines.order_by().values("account").annotate(cents=Sum("cents"))
    }
    theirs = Line.objects.filter(farm=books.farm).order_by().values("account").annotate(cents=Sum("cents"))
    assert sums == {row["account"]: row["cents"] for row in theirs}


def test_the_books_go_on_from_the_head_and_closed_months_stay_closed(books: Place, journal: Path) -> None:
    other = make_place("fox-hollow")
    import_journal(farm=other.farm, path=journal)
    before = chain_head(farm=other.farm)
    make_work(other)
    assert post_pending(farm=other.farm, now=IN_JUNE).posted == 1
    new = Entry.objects.get(farm=other.farm, number=before.number + 1)
    assert (new.hash_before, new.booked_on) == (before.digest, dt.date(2026, 5, 1))
    standing = Entry.objects.filter(
        farm=other.farm, reversed_by=None, reverses=None, source_kind="bill"
    ).first()
    assert standing is not None
    undone = reverse_entry(entry=standing, why="entered twice", now=IN_JUNE)
    assert undone.booked_on == dt.date(2026, 5, 1)
    assert verify_ledger(farm=other.farm).faults == []


def test_a_landlord_that_was_charged_in_the_journal_is_not_charged_again(books: Place, journal: Path) -> None:
    other = make_place("fox-hollow")
    import_journal(farm=other.farm, path=journal)
    set_landlord_term(
        farm=other.farm, season=other.season, landlord="Estate of Quill", share_pct="50", now=IN_JUNE
    )
    with pytest.raises(
        ShareOutRefused, match="Landlords were charged for crop year 2026 in the journal that was read"
    ):
        charge_landlord(
            farm=other.farm,
            client_id=uuid.uuid4(),
            landlord="Estate of Quill",
            crop_year=2026,
            last_on=dt.date(2026, 6, 1),
            why="half year",
            now=IN_JUNE,
        )


def test_formulas_and_apostrophes_come_back_as_they_were(books: Place, journal: Path) -> None:
    cells = {cell for row in rows_of(journal) for cell in row.values()}
    assert {"'-2+3: another field", "-5.05"} <= cells
    assert not any(cell.startswith(("=", "+", "@")) for cell in cells)
    other = make_farm("bare-forty")
    import_journal(farm=other, path=journal)
    assert Entry.objects.filter(farm=other, why="-2+3: another field").exists()
    assert Line.objects.filter(farm=other, says="bill of =Cotton & Söhne no. 'C 1").exists()


def test_empty_books_are_a_header(db: None, tmp_path: Path) -> None:
    place = make_place("empty-bend")
    facts = export_journal(farm=place.farm, path=tmp_path / "journal.csv")
    assert (tmp_path / "journal.csv").read_bytes() == ",".join(COLUMNS).encode() + b"\r\n"
    assert (facts.row_count, facts.head.number) == (0, 0)
    assert import_journal(farm=place.farm, path=tmp_path / "journal.csv").entries == 0


Edit = Callable[[list[dict[str, str]]], object]


def _first(column: str, value: str) -> Edit:
    return lambda rows: rows[0].__setitem__(column, value)


def _drop(where: Callable[[dict[str, str]], bool]) -> Edit:
    return lambda rows: rows.__setitem__(slice(None), [row for row in rows if not where(row)])


def _all_of(column: str, value: str) -> Edit:
    def edit(rows: list[dict[str, str]]) -> None:
        for row in rows:
            if row["entry"] == "1":
                row[column] = value

    return edit


BAD: list[tuple[Edit, str]] = [
    (_first("currency", "EUR"), "line 2, column currency: the books are in USD, and this row is in 'EUR'."),
    (_first("amount_usd", "400,00"), "line 2, column amount_usd: '400,00' is not an amount with two decimals after a point."),
    (_first("amount_usd", "1" + "0" * 15 + ".00"), f"line 2, column amount_usd: '1{'0' * 15}.00' is not an amount with two decimals after a point."),
    (_first("amount_usd", "400.01"), "line 2: the lines of entry 1 come to 0.01 and not to nothing."),
    (_first("quantity", "1e3"), "line 2, column quantity: '1e3' is not a number with four decimals after a point."),
    (_first("account", "shed"), "line 2, column account: 'shed' is none of "),
    (_first("says", "x" * 201), "line 2, column says: 201 characters; at most 200."),
    (_first("says", "bill of nobody"), "line 2: entry 1 is not what was booked: its rows do not give its digest."),
    (_all_of("why", "secretly"), "line 2: entry 1 is not what was booked: its rows do not give its digest."),
    (_first("why", "secretly"), "line 3, column why: it differs from the row before of the same entry."),
    (_all_of("happened_on", "2026-02-30"), "line 2, column happened_on: '2026-02-30' is not a date such as 2026-01-31."),
    (_all_of("booked_on", "2026-01-01"), "line 2: it is booked on 2026-01-01, before it happened on 2026-04-20."),
    (_all_of("posted_at", "2026-04-20 16:00"), "line 2, column posted_at: '2026-04-20 16:00' is not an instant"),
    (_all_of("source_kind", "gift"), "line 2, column source_kind: 'gift' is none of "),
    (_all_of("form", "3"), "line 2, column form: form 3 is newer than what is known here, 2."),
    (_all_of("hash", "0" * 64), "line 2: entry 1 is not what was booked: its rows do not give its digest."),
    (_all_of("hash", "no"), "line 2, column hash: 'no' is not a digest of 64 hex digits."),
    (_all_of("hash_before", "0" * 64), "line 2: the digest before is not that of entry 0."),
    (_all_of("reverses", "1"), "line 2: a reversal names the entry that it undoes, and nothing else does."),
    (_first("line_no", "7"), "line 2: the lines of entry 1 are not numbered 1, 2, 3 ..."),
    (_first("line_no", ""), "line 2, column line_no: '' is not a whole number above zero."),
    (_first("drawn_from", "1/2"), "line 2, column drawn_from: line 2 of entry 1 brought no cotton-seed into stock before."),
    (_drop(lambda row: row["entry"] == "1"), "line 2: entry 2 stands where entry 1 should."),
    (_first("subject", "nul\0"), "line 2: it holds a zero byte."),
]  # fmt: skip


def test_faults_are_named_by_their_line_and_nothing_is_kept(books: Place, journal: Path) -> None:
    bare = make_farm("bare-forty")
    whole = journal.read_bytes()
    for edit, says in BAD:
        journal.write_bytes(whole)
        rows = rows_of(journal)
        edit(rows)
        with journal.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, COLUMNS, lineterminator="\r\n")
            writer.writeheader()
            writer.writerows(rows)
        with pytest.raises(DomainError) as refused:
            import_journal(farm=bare, path=journal)
        assert refused.value.says[: len(says) + 13] == f"journal.csv, {says}"
        assert refused.value.code in ("journal_refused", "currency_differs")
        assert not Entry.objects.filter(farm=bare).exists()
        assert not PeriodMark.objects.filter(farm=bare).exists()


def test_a_fault_at_the_end_keeps_nothing_of_the_beginning(books: Place, journal: Path) -> None:
    body = journal.read_bytes()
    journal.write_bytes(body[: body.rindex(b"another field")] + b"another farm\r\n")
    bare = make_farm("bare-forty")
    with pytest.raises(JournalRefused):
        import_journal(farm=bare, path=journal)
    assert not Entry.objects.filter(farm=bare).exists()
    assert not PeriodMark.objects.filter(farm=bare).exists()


SPOILED: list[tuple[Callable[[bytes], bytes], str]] = [
    (lambda body: body.decode().encode("utf-16"), "journal.csv is not UTF-8 text after line 1"),
    (lambda body: body.decode().encode("cp1252"), "journal.csv is not UTF-8 text after line"),
    (lambda body: body.replace(b",", b";"), "journal.csv, line 1: the cells are parted by semicolons; a journal has commas."),
    (lambda body: b"", "journal.csv, line 1: this is no journal (missing entry, form,"),
    (lambda body: body.replace(b"lot,", b"lots,", 1), "journal.csv, line 1: this is no journal (missing lot)"),
    (lambda body: body + b"1,2\r\n", "journal.csv, line "),
]  # fmt: skip


def test_another_kind_of_file_is_refused_in_a_sentence(books: Place, journal: Path) -> None:
    bare = make_farm("bare-forty")
    whole = journal.read_bytes()
    for spoil, says in SPOILED:
        journal.write_bytes(spoil(whole))
        with pytest.raises(JournalRefused) as refused:
            import_journal(farm=bare, path=journal)
        assert refused.value.says[: len(says)] == says
        assert not Entry.objects.filter(farm=bare).exists()


def test_a_byte_order_mark_is_no_matter(books: Place, journal: Path) -> None:
    journal.write_bytes(b"\xef\xbb\xbf" + journal.read_bytes())
    assert import_journal(farm=make_farm("bare-forty"), path=journal).head == chain_head(farm=books.farm)


def test_what_was_cut_off_the_end_is_seen_by_the_manifest(books: Place, journal: Path) -> None:
    rows = journal.read_bytes().split(b"\r\n")
    last = chain_head(farm=books.farm)
    kept = [row for row in rows if not row.startswith(f"{last.number},".encode())]
    journal.write_bytes(b"\r\n".join(kept))
    make_farm("bare-forty")
    with pytest.raises(
        CommandError, match=f"The journal ends at entry {last.number - 1}, .* and not at {last.digest}"
    ):
        call_command("import_journal", str(journal), farm="bare-forty")
    assert not Entry.objects.filter(farm__code="bare-forty").exists()


def test_books_that_hold_something_take_no_journal(books: Place, journal: Path) -> None:
    with pytest.raises(JournalRefused, match="has entries already; a journal is read into empty books only"):
        import_journal(farm=books.farm, path=journal)
    other = make_place("fox-hollow")
    make_work(other)
    with pytest.raises(
        JournalRefused, match="has 1 reports, bills or the like that would be posted beside the journal"
    ):
        import_journal(farm=other.farm, path=journal)


def test_the_commands_say_the_head(books: Place, tmp_path: Path) -> None:
    path, out = tmp_path / "journal.csv", io.StringIO()
    call_command("export_journal", farm=books.farm.code, out=path, stdout=out)
    head = chain_head(farm=books.farm)
    assert f"through entry {head.number}, head {head.digest}." in out.getvalue()
    make_farm("bare-forty")
    call_command("import_journal", str(path), farm="bare-forty", stdout=out)
    assert f"{head.number} entries" in out.getvalue().splitlines()[-1]
    assert "tractor-1: not on this farm; " in out.getvalue()
    make_farm("other-forty")
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        call_command("import_journal", str(tmp_path / "none.csv"), farm="other-forty")
    ledger = tmp_path / "ledger.csv"
    days = {"first": dt.date(2026, 1, 1), "last": YEARS_END}
    call_command("export_journal", farm=books.farm.code, out=ledger, general_ledger=True, stdout=out, **days)
    cents = [Decimal(row["amount_usd"]) for row in rows_of(ledger) if row["entry"]]
    assert (len(cents), sum(cents)) == (Line.objects.filter(farm=books.farm).count(), 0)
    with pytest.raises(CommandError, match="give --from and --to"):
        call_command("export_journal", farm=books.farm.code, out=ledger, general_ledger=True)


def test_ids_of_sources_are_kept_as_the_journal_has_them(books: Place, journal: Path) -> None:
    bare = make_farm("bare-forty")
    import_journal(farm=bare, path=journal)
    keys = [
        list(Entry.objects.filter(farm=farm).values_list("source_key", flat=True))
        for farm in (books.farm, bare)
    ]
    assert keys[0] == keys[1]
    assert uuid.UUID(keys[1][0])
    assert set(Entry.objects.filter(farm=bare).values_list("is_imported", "work_record", "bill")) == {
        (True, None, None)
    }
