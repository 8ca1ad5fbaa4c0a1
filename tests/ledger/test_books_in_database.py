"""What the database itself refuses about entries, whatever goes round the code."""

from typing import Any

import pytest
from django.db import DataError, IntegrityError, connection, transaction

from farmops.core.appendonly import AppendOnlyRefused
from ledger.models import Bill, Entry, EntryBalance, Line, PeriodMark, Rate
from ledger.services.posting import post_pending
from tests.ledger.makers import NOON, Place, make_bill, make_place

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def place(transactional_db: None, settings: Any) -> Place:
    settings.NUDGES = {}  # nothing posts on its own
    return make_place(rated=False)


def sql(statement: str, *values: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, list(values))


def add_entry(bill: Bill, *, number: int = 1, before: str = "", lines: int = 2) -> int:
    """Write an entry by hand, as somebody would who goes round the services."""
    sql(
        "INSERT INTO ledger_entry (farm_id, number, source_kind, source_id, bill_id, source_key, purpose,"
        " happened_on, booked_on, posted_at, why, is_imported, form_no, line_count, hash_before, hash)"
        " VALUES (%s, %s, 'bill', %s, %s, '', 'cost', '2026-04-20', '2026-04-20', %s, '', false, 2, %s, %s, %s)",
        bill.farm_id,
        number,
        bill.pk,
        bill.pk,
        NOON,
        lines,
        before,
        f"digest {number}",
    )
    return Entry.objects.get(farm_id=bill.farm_id, number=number).pk


def add_line(bill: Bill, entry: int, line_no: int, cents: object) -> None:
    sql(
        "INSERT INTO ledger_line (farm_id, entry_id, line_no, account, subject, category, cents, unit, says,"
        " operation, outfit, item, lot, is_imported) VALUES"
        " (%s, %s, %s, 'overhead', '', 'other', %s, '', '', '', '', '', '', false)",
        bill.farm_id,
        entry,
        line_no,
        cents,
    )


def book(bill: Bill, *cents: object, lines: int = 2, then: str = "") -> None:
    """Write an entry and its lines, and perhaps something more, in one transaction."""
    with transaction.atomic():
        entry = add_entry(bill, lines=lines)
        for line_no, amount in enumerate(cents, start=1):
            add_line(bill, entry, line_no, amount)
        if then:
            sql(then)


def test_a_balanced_entry_is_committed(place: Place) -> None:
    book(make_bill(place), 1250, -1250)
    assert Line.objects.count() == 2
    balance = EntryBalance.objects.get()
    assert (balance.imbalance_id, balance.lines_missing_id) == (0, 0)


def test_an_entry_out_of_balance_by_one_cent_is_refused_at_commit(place: Place) -> None:
    bill = make_bill(place)
    with pytest.raises(IntegrityError):
        book(bill, 1250, -1249)
    assert Entry.objects.count() == 0
    assert Line.objects.count() == 0


def test_an_entry_that_lacks_a_line_is_refused_at_commit(place: Place) -> None:
    bill = make_bill(place)
    with pytest.raises(IntegrityError):
        book(bill, 1250, -1250, lines=3)
    assert Entry.objects.count() == 0


def test_no_line_comes_later_than_its_entry(place: Place) -> None:
    bill = make_bill(place)
    post_pending(now=NOON)
    entry = Entry.objects.get()
    with pytest.raises(IntegrityError, match="only the lines it was made with"), transaction.atomic():
        add_line(bill, entry.pk, 3, 500)


def test_half_a_cent_is_refused(place: Place) -> None:
    bill = make_bill(place)
    with pytest.raises((IntegrityError, DataError), match=r"whole numbers|bigint"):
        book(bill, "1.5", "-1.5")
    assert Line.objects.count() == 0


@pytest.mark.parametrize(("number", "before"), [(3, "?"), (3, ""), (2, "not the digest before"), (1, "")])
def test_numbers_and_digests_follow_without_a_gap(place: Place, number: int, before: str) -> None:
    make_bill(place)
    post_pending(now=NOON)
    second = make_bill(place)
    last = Entry.objects.get().hash
    with pytest.raises(IntegrityError), transaction.atomic():
        add_entry(second, number=number, before=last if before == "?" else before, lines=0)
    with transaction.atomic():
        add_entry(second, number=2, before=last, lines=0)
    assert Entry.objects.count() == 2


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE ledger_entrybalance SET imbalance = 0, lines_missing = 0",
        "DELETE FROM ledger_entrybalance",
        "INSERT INTO ledger_zero (v) VALUES (1)",
        "UPDATE ledger_zero SET v = 1",
        "DELETE FROM ledger_zero",
    ],
)
def test_the_counting_beside_an_entry_cannot_be_talked_out_of_it(place: Place, statement: str) -> None:
    bill = make_bill(place)
    with pytest.raises(IntegrityError):
        book(bill, 1250, then=statement)
    assert Entry.objects.count() == 0


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE ledger_line SET cents = 2 * cents",
        "UPDATE ledger_entry SET why = 'because'",
        "UPDATE ledger_bill SET cents = 1",
        "DELETE FROM ledger_line",
        "DELETE FROM ledger_entry",
        "DELETE FROM ledger_bill",
        "DELETE FROM farms_farm",
    ],
)
def test_the_database_refuses_to_change_what_was_booked(place: Place, statement: str) -> None:
    make_bill(place)
    post_pending(now=NOON)
    with pytest.raises(IntegrityError), transaction.atomic():
        sql(statement)
    assert Line.objects.count() == 2


def test_the_database_refuses_to_empty_or_replace_what_was_booked(place: Place) -> None:
    make_bill(place)
    post_pending(now=NOON)
    line = Line.objects.order_by("line_no").first()
    assert line is not None
    if connection.vendor == "sqlite":
        columns = (
            "id, line_no, account, subject, category, cents, unit, says, operation, outfit, item, lot, is_imported,"
            " entry_id, farm_id"
        )
        statement = (
            f"REPLACE INTO ledger_line ({columns}) SELECT {columns.replace('cents', '7')} FROM ledger_line "
            f"WHERE id = {line.pk}"
        )
    else:
        statement = "SET CONSTRAINTS ALL IMMEDIATE; TRUNCATE ledger_line CASCADE"
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        sql(statement)
    assert sorted(Line.objects.values_list("cents", flat=True)) == [-10_000, 10_000]


def test_the_code_refuses_to_change_what_was_booked(place: Place) -> None:
    bill = make_bill(place)
    post_pending(now=NOON)
    line = Line.objects.order_by("line_no")[0]
    line.cents = 7
    for attempt in (
        line.save,
        line.delete,
        bill.delete,
        Line.objects.all().delete,
        Entry.objects.all().delete,
    ):
        with pytest.raises(AppendOnlyRefused):
            attempt()
    with pytest.raises(AppendOnlyRefused):
        Line.objects.update(cents=7)
    with pytest.raises(AppendOnlyRefused):
        Line.objects.bulk_update([line], ["cents"])


def test_a_line_cannot_point_into_another_farm(place: Place) -> None:
    theirs = make_place("other-bend", rated=False)
    bill = make_bill(place)
    post_pending(farm=place.farm, now=NOON)
    statement = (
        "INSERT INTO ledger_line (farm_id, entry_id, line_no, account, subject, category, cents, unit, says,"
        " season_id) VALUES (%s, %s, 1, 'season', '', 'other', 5, '', '', %s)"
    )
    with pytest.raises(IntegrityError, match="another owner"), transaction.atomic():
        sql(statement, place.farm.pk, bill.entries.get().pk, theirs.season.pk)


def close(place: Place, month: str, *, turn: int = 1, is_close: bool = True) -> None:
    PeriodMark.objects.create(
        farm=place.farm,
        month=month,
        turn=turn,
        is_close=is_close,
        why="" if is_close else "a late bill",
        made_at=NOON,
    )


def test_nothing_is_booked_into_a_month_that_is_closed(place: Place) -> None:
    bill = make_bill(place)
    close(place, "2026-04-01")
    with pytest.raises(IntegrityError, match="closed"):
        book(bill, 1250, -1250)
    close(place, "2026-04-01", is_close=False)
    book(bill, 1250, -1250)
    assert Entry.objects.count() == 1


def test_a_close_shuts_the_months_before_it_too(place: Place) -> None:
    close(place, "2026-05-01")
    with pytest.raises(IntegrityError, match="closed"):
        book(make_bill(place), 1250, -1250)


def test_late_work_goes_to_the_first_open_month_and_keeps_its_date(place: Place) -> None:
    make_bill(place)
    close(place, "2026-04-01")
    post_pending(now=NOON)
    entry = Entry.objects.get()
    assert (str(entry.happened_on), str(entry.booked_on)) == ("2026-04-20", "2026-05-01")


def rate(place: Place, valid_from: str, valid_until: str | None = None, **facts: Any) -> Rate:
    return Rate.objects.create(
        farm=place.farm,
        kind="fuel",
        unit="gal",
        price_e4=32_000,
        valid_from=valid_from,
        valid_until=valid_until,
        entered_at=NOON,
        **facts,
    )


@pytest.mark.parametrize(
    ("valid_from", "valid_until"),
    [("2026-02-01", None), ("2025-12-01", "2026-01-01"), ("2026-03-31", "2026-12-31")],
)
def test_prices_that_overlap_are_refused(place: Place, valid_from: str, valid_until: str | None) -> None:
    rate(place, "2026-01-01", "2026-03-31")
    with pytest.raises(IntegrityError, match="overlaps"), transaction.atomic():
        rate(place, valid_from, valid_until)


def test_prices_that_follow_and_corrections_are_taken(place: Place) -> None:
    rate(place, "2026-01-01", "2026-03-31")
    rate(place, "2026-04-01")
    rate(place, "2025-12-01", "2025-12-31")
    rate(place, "2026-01-01", "2026-02-28", correction_no=1)
    rate(place, "2026-03-01", "2026-03-31")
    assert Rate.objects.count() == 5
