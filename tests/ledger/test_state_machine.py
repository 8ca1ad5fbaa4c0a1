"""Any order of working, billing, paying, counting, sharing out, reversing, closing, opening and crashing leaves whole
books: balances of zero, nothing lost, nothing twice, nothing in a closed month, the chain whole."""

import datetime as dt
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection, transaction
from django.db.models import Count, Sum
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from ledger.models import Account, Bill, BillPayment, Entry, Line, OpeningStock, SharedBy, ShareOut
from ledger.selectors.periods import closed_through, month_of, next_month
from ledger.selectors.pools import pool_balances
from ledger.selectors.share_weights import ShareOutRefused
from ledger.services.bill_items import NewBillItem
from ledger.services.bills import enter_bill, pay_bill
from ledger.services.held_books import ReversalRefused
from ledger.services.journal import reverse_entry
from ledger.services.opening import OpeningDiffers, enter_opening_stock
from ledger.services.periods import PeriodClosedError, PeriodRefused, close_period, reopen_period
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.share_outs import share_out_pool
from ledger.services.source_types import pending_keys
from ledger.services.verify import verify_ledger
from scheduling.models import InputUse, WorkRecord
from tests.factories import make_field, make_pass, make_season
from tests.ledger.makers import NEW_YEAR, make_place, make_work

NOW = dt.datetime(2026, 6, 10, 16, tzinfo=dt.UTC)
FIRST = dt.date(2026, 2, 20)
DAYS = st.integers(0, 100).map(lambda days: FIRST + dt.timedelta(days=days))  # February to May
PICKS = st.integers(0, 10**6)
CENTS = st.integers(1, 10**6)


class Crash(BaseException):
    """The machine stops in the middle of something."""


@contextmanager
def crash_after(writes: int) -> Iterator[None]:
    """Stop at one of the next rows that are written."""
    left = writes

    def counted(execute: Any, sql: str, *rest: Any) -> Any:
        nonlocal left
        if sql.startswith("INSERT"):
            left -= 1
            if left < 0:
                raise Crash
        return execute(sql, *rest)

    with connection.execute_wrapper(counted):
        yield


def usd(cents: int) -> Decimal:
    return Decimal(cents).scaleb(-2)


class Books(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.whole = transaction.atomic()
        self.whole.__enter__()
        self.place = make_place()
        self.farm = self.place.farm
        self.other_pass = make_pass(make_season(make_field(self.farm, "slip-10", planted_ac=Decimal("9.7"))))
        self.by_hand: set[int] = set()
        self.kept: dict[dt.date, list[tuple[Any, ...]]] = {}
        set_rate(
            farm=self.farm,
            kind="input",
            subject="urea",
            unit="lb",
            usd_per_unit="0.31",
            valid_from=FIRST + dt.timedelta(days=20),  # what was used before then waits
            now=NOW,
        )

    def teardown(self) -> None:
        try:
            self.the_books_are_whole()
        finally:
            transaction.set_rollback(True)
            self.whole.__exit__(None, None, None)

    def pick(self, rows: Any, pick: int) -> Any:
        """Return one of some rows; None where there is none."""
        rows = list(rows.order_by("pk"))
        return rows[pick % len(rows)] if rows else None

    def the_books_are_whole(self) -> None:
        """Walk them, at the end of a story and at each close: that is the slow one."""
        assert verify_ledger(farm=self.farm).faults == []
        numbers = list(
            Entry.objects.filter(farm=self.farm).order_by("number").values_list("number", flat=True)
        )
        assert numbers == list(range(1, len(numbers) + 1))

    # what happens on the farm

    @rule(day=DAYS, minutes=st.integers(0, 1000), is_other=st.booleans(), used=st.integers(0, 3000))
    def work(self, day: dt.date, minutes: int, is_other: bool, used: int) -> None:
        facts = {"field_pass": self.other_pass} if is_other else {}
        record = make_work(self.place, work_on=day, hand_min=minutes, machine_min=minutes // 2, **facts)
        self.use(record, used)

    @rule(pick=PICKS, minutes=st.integers(0, 1000), used=st.integers(0, 3000))
    def correct(self, pick: int, minutes: int, used: int) -> None:
        record = self.pick(WorkRecord.objects.filter(superseded_by=None), pick)
        if record is not None:
            later = make_work(
                self.place,
                supersedes=record,
                hand_min=minutes,
                work_on=record.work_on,
                field_pass=record.field_pass,
            )
            self.use(later, used)

    def use(self, record: WorkRecord, tenths: int) -> None:
        if tenths:
            InputUse.objects.create(
                farm=self.farm, work_record=record, input_code="urea", quantity=usd(tenths * 10), unit="lb"
            )

    @rule(
        day=DAYS,
        cents=CENTS,
        where=st.sampled_from(["farm", "machine", "season", "acres"]),
        is_paid=st.booleans(),
    )
    def bill(self, day: dt.date, cents: int, where: str, is_paid: bool) -> None:
        place: dict[str, Any] = {
            "farm": {},
            "machine": {"machine": self.place.machine},
            "season": {"season": self.place.season},
            "acres": {"shared_by": SharedBy.ACRES},
        }[where]
        self.enter(day, cents, paid_on=day if is_paid else None, **place)

    @rule(day=DAYS, cents=CENTS, pounds=st.integers(1, 5000), is_credit=st.booleans())
    def bill_of_stock(self, day: dt.date, cents: int, pounds: int, is_credit: bool) -> None:
        cents = -cents if is_credit else cents
        item = NewBillItem("fertilizer", usd(cents), item="urea", quantity=Decimal(pounds), unit="lb")
        self.enter(day, cents, items=(item,), category="fertilizer")

    @rule(pick=PICKS, cents=CENTS)
    def correct_bill(self, pick: int, cents: int) -> None:
        bill = self.pick(Bill.objects.filter(superseded_by=None, items=None), pick)
        if bill is not None:
            self.enter(bill.bill_on, cents, supersedes=bill)

    def enter(self, day: dt.date, cents: int, **facts: Any) -> None:
        enter_bill(
            farm=self.farm,
            client_id=uuid.uuid4(),
            payee="Plain Supply",
            bill_on=day,
            amount_usd=usd(cents),
            now=NOW,
            **{"category": "repairs", **facts},
        )

    @rule(pick=PICKS, day=DAYS)
    def pay(self, pick: int, day: dt.date) -> None:
        bill = self.pick(Bill.objects.filter(superseded_by=None, payment=None), pick)
        if bill is not None:
            pay_bill(bill=bill, paid_on=day, now=NOW)

    @rule(cents=CENTS, pounds=st.integers(1, 5000))
    def count_stock(self, cents: int, pounds: int) -> None:
        known = OpeningStock.objects.filter(farm=self.farm, superseded_by=None).first()
        try:
            enter_opening_stock(
                farm=self.farm,
                client_id=uuid.uuid4(),
                item="urea",
                category="fertilizer",
                quantity=Decimal(pounds),
                unit="lb",
                amount_usd=usd(cents),
                on=FIRST,
                supersedes=known,
                now=NOW,
            )
        except OpeningDiffers:
            assert known is None

    @rule(tenths=st.integers(0, 400))
    def price(self, tenths: int) -> None:
        set_rate(
            farm=self.farm,
            kind="wage",
            usd_per_unit=Decimal(tenths).scaleb(-1),
            valid_from=NEW_YEAR,
            corrects=True,
            now=NOW,
        )

    # what the bookkeeper does

    @rule()
    def post(self) -> None:
        post_pending(farm=self.farm, now=NOW)

    @rule(writes=st.integers(0, 12))
    def crash_while_posting(self, writes: int) -> None:
        try:
            with crash_after(writes), transaction.atomic():
                post_pending(farm=self.farm, now=NOW)
        except Crash:
            pass

    @rule(pick=PICKS)
    def reverse(self, pick: int) -> None:
        entry = self.pick(Entry.objects.filter(farm=self.farm), pick)
        if entry is None:
            return
        is_refused = (
            entry.reverses_id is not None or entry.source_kind == "period" or hasattr(entry, "reversed_by")
        )
        try:
            reverse_entry(entry=entry, why="told to", now=NOW)
        except ReversalRefused:
            assert is_refused
        else:
            assert not is_refused
            self.by_hand.add(entry.pk)

    @rule(pick=PICKS, last_on=DAYS, by=st.sampled_from(["acres", "equal", "hours"]), is_crash=st.booleans())
    def share_out(self, pick: int, last_on: dt.date, by: str, is_crash: bool) -> None:
        pools = pool_balances(farm=self.farm, through=last_on)
        if not pools:
            return
        closed = closed_through(farm=self.farm)
        try:
            with crash_after(pick % 9 if is_crash else 10**6), transaction.atomic():
                share_out_pool(
                    farm=self.farm,
                    client_id=uuid.uuid4(),
                    pool=pools[pick % len(pools)],
                    shared_by=SharedBy(by),
                    crop_year=2026,
                    first_on=FIRST,
                    last_on=last_on,
                    why="end of a period",
                    now=NOW,
                )
        except Crash:
            assert is_crash
        except PeriodClosedError:
            assert closed is not None
            assert month_of(last_on) <= closed
        except ShareOutRefused:
            pass  # the pool was emptied by what was posted first, or nothing ran in these days

    @rule(is_crash=st.booleans(), writes=st.integers(0, 6))
    def close(self, is_crash: bool, writes: int) -> None:
        last = closed_through(farm=self.farm)
        first = Entry.objects.filter(farm=self.farm).order_by("booked_on").first()
        if last is None and first is None:
            return
        month = next_month(last) if last is not None else month_of(first.booked_on)  # type: ignore[union-attr]
        is_over = month < month_of(NOW.date())
        try:
            with crash_after(writes if is_crash else 10**6), transaction.atomic():
                close_period(farm=self.farm, month=month, now=NOW)
        except Crash:
            assert is_crash
        except PeriodRefused:
            assert not is_over or Entry.objects.filter(farm=self.farm, booked_on__gte=month).exists()
        else:
            assert is_over
            self.kept[month] = self.held(month)
            self.the_books_are_whole()

    @precondition(lambda self: closed_through(farm=self.farm) is not None)
    @rule()
    def reopen(self) -> None:
        month = closed_through(farm=self.farm)
        assert month is not None
        reopen_period(farm=self.farm, month=month, why="something was forgotten", now=NOW)
        del self.kept[month]

    # what holds at all times

    def held(self, month: dt.date) -> list[tuple[Any, ...]]:
        lines = Line.objects.filter(
            farm=self.farm, entry__booked_on__gte=month, entry__booked_on__lt=next_month(month)
        )
        return list(lines.order_by("pk").values_list("pk", "cents", "account", "category"))

    @invariant()
    def the_database_would_commit(self) -> None:
        connection.check_constraints()

    @invariant()
    def everything_is_in_balance(self) -> None:
        lines = Line.objects.filter(farm=self.farm)
        assert lines.aggregate(cents=Sum("cents", default=0))["cents"] == 0
        assert not lines.values("entry").annotate(cents=Sum("cents")).exclude(cents=0).exists()

    @invariant()
    def a_closed_month_keeps_what_it_held(self) -> None:
        for month, lines in self.kept.items():
            assert self.held(month) == lines

    @invariant()
    def nothing_is_lost_and_nothing_twice(self) -> None:
        """Each source has one entry, or waits, or was superseded; it stands at most once."""
        waiting = pending_keys(farm=self.farm)
        for key, rows in (
            ("work_record", WorkRecord.objects.filter(farm=self.farm)),
            ("bill", Bill.objects.filter(farm=self.farm)),
            ("opening", OpeningStock.objects.filter(farm=self.farm)),
        ):
            for row in rows.annotate(count=Count("entries")):
                assert row.count <= 1
                superseded = type(row).objects.filter(supersedes=row).exists()
                is_waiting = (key, row.pk) in waiting
                assert is_waiting == (row.count == 0 and not superseded)
                if superseded and row.superseded_by.entries.exists():
                    assert not row.entries.filter(reversed_by=None).exists()
        shared = ShareOut.objects.filter(farm=self.farm).annotate(count=Count("entries"))
        assert all(one.count == 1 for one in shared)

    @invariant()
    def the_bank_paid_what_stands(self) -> None:
        """By the payments alone: each that is booked and was not reversed took its bill from the bank, to the cent."""
        paid = BillPayment.objects.filter(
            farm=self.farm, entries__isnull=False, entries__reversed_by__isnull=True
        ).aggregate(cents=Sum("bill__cents", default=0))["cents"]
        bank = Line.objects.filter(farm=self.farm, account=Account.BANK).aggregate(
            cents=Sum("cents", default=0)
        )
        assert bank["cents"] == -paid


@pytest.mark.django_db
@pytest.mark.long
def test_any_order_of_events_leaves_whole_books() -> None:
    run_state_machine_as_test(
        Books,
        settings=settings(
            max_examples=10,
            stateful_step_count=18,
            deadline=None,
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
        ),
    )
