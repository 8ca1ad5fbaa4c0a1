"""Months close in their order, take nothing more, and open again with a reason; each of it is an entry."""

import datetime as dt
import io

import pytest
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from ledger.models import Entry, Line, PeriodMark, SourceKind
from ledger.selectors.chain import chain_head
from ledger.selectors.periods import booking_day, closed_through, next_month, periods
from ledger.services import periods as service
from ledger.services.held_books import ReversalRefused
from ledger.services.journal import reverse_entry, write_entry
from ledger.services.periods import (
    PeriodClosedError,
    PeriodRefused,
    close_period,
    refuse_closed,
    reopen_period,
)
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_bill, make_place, make_work

MARCH, APRIL, MAY, JUNE = (dt.date(2026, month, 1) for month in (3, 4, 5, 6))
IN_JUNE = dt.datetime(2026, 6, 2, 16, tzinfo=dt.UTC)
pytestmark = pytest.mark.django_db


def close(place: Place, month: dt.date, now: dt.datetime = IN_JUNE) -> service.PeriodClosed:
    return close_period(farm=place.farm, month=month, now=now)


def test_a_close_posts_what_is_pending_and_keeps_the_head_in_an_entry_without_lines(place: Place) -> None:
    user = get_user_model().objects.create(username="bertil")
    make_work(place)
    make_bill(place)
    done = close_period(farm=place.farm, month=DAY, made_by=user, now=IN_JUNE)
    last_cost = Entry.objects.get(number=2)
    assert (done.head.number, done.head.digest) == (2, last_cost.hash)
    entry = Entry.objects.get(number=3)
    assert (entry, entry.source_kind, entry.purpose) == (done.entry, SourceKind.PERIOD, "close")
    assert (entry.hash_before, entry.line_count, entry.why) == (last_cost.hash, 0, "closed with 2 entries")
    assert (entry.happened_on, entry.booked_on) == (dt.date(2026, 4, 30), dt.date(2026, 4, 30))
    assert (entry.source_key, entry.made_by, entry.period_mark) == ("2026-04 close 1", user, done.mark)
    assert closed_through(farm=place.farm) == APRIL
    assert verify_ledger().is_whole


def test_late_work_goes_to_the_open_month_and_keeps_its_true_date(place: Place) -> None:
    make_work(place)
    close(place, APRIL)
    make_work(place, work_on=DAY + dt.timedelta(days=1))
    make_work(place, work_on=MAY + dt.timedelta(days=8))
    assert post_pending(now=IN_JUNE).posted == 2
    days = list(Entry.objects.filter(number__gt=2).values_list("happened_on", "booked_on"))
    assert days == [(dt.date(2026, 4, 21), MAY), (dt.date(2026, 5, 9), dt.date(2026, 5, 9))]
    assert booking_day(farm=place.farm, day=DAY) == MAY
    assert verify_ledger().is_whole


def test_what_waited_for_a_price_is_booked_into_the_month_that_is_open_then() -> None:
    place = make_place(rated=False)
    make_work(place, machine=None, implement=None, machine_min=0)
    make_bill(place)
    assert close(place, APRIL).waiting == 1
    set_rate(farm=place.farm, kind="wage", usd_per_unit="18", valid_from=NEW_YEAR, now=NOON)
    assert post_pending(now=IN_JUNE).posted == 1
    late = Entry.objects.get(source_kind=SourceKind.WORK_RECORD)
    assert (late.happened_on, late.booked_on) == (DAY, MAY)


def test_a_correction_of_a_closed_month_reverses_into_the_open_one(place: Place) -> None:
    first = make_work(place)
    close(place, APRIL)
    make_work(place, hand_min=60, supersedes=first)
    post_pending(now=IN_JUNE)
    entry, mark, reversal, anew = Entry.objects.order_by("number")
    assert (entry.booked_on, mark.source_kind) == (DAY, "period")
    assert {row.booked_on for row in (reversal, anew)} == {MAY}
    assert {row.happened_on for row in (reversal, anew)} == {DAY}
    assert reverse_entry(entry=anew, why="twice", now=IN_JUNE).booked_on == MAY
    assert verify_ledger().is_whole


def test_months_close_in_their_order_after_they_are_over_and_once(place: Place) -> None:
    make_work(place, work_on=MARCH)
    with pytest.raises(PeriodRefused, match=r"^June 2026 is not over yet\.$"):
        close(place, JUNE)
    with pytest.raises(
        PeriodRefused,
        match=r"^February 2026 is before the books of Heron Slough: they begin in March 2026\.$",
    ):
        close(place, dt.date(2026, 2, 1))
    close(place, MARCH)
    with pytest.raises(
        PeriodRefused,
        match=r"^April 2026 is still open and comes before May 2026; months close in their order\.$",
    ):
        close(place, MAY)
    with pytest.raises(
        PeriodRefused, match=r"^March 2026 is closed; the books of Heron Slough are closed through"
    ):
        close(place, MARCH)
    close(place, APRIL)
    close(place, MAY)
    assert Entry.objects.filter(source_kind="period").count() == 3
    assert verify_ledger().is_whole


def test_a_month_ends_by_the_clock_of_the_farm(place: Place) -> None:
    """30 April 23:30 in New York is 03:30 UTC of 1 May (UTC-4 in summer: IANA tz database, America/New_York)."""
    make_work(place)
    assert place.farm.zone == "America/New_York"
    with pytest.raises(PeriodRefused, match="not over yet"):
        close(place, APRIL, dt.datetime(2026, 5, 1, 3, 30, tzinfo=dt.UTC))
    close(place, APRIL, dt.datetime(2026, 5, 1, 4, 0, tzinfo=dt.UTC))


def test_books_without_an_entry_close_nothing(place: Place) -> None:
    with pytest.raises(
        PeriodRefused, match=r"April 2026 is before the books of Heron Slough: nothing is booked yet\."
    ):
        close(place, APRIL)
    assert (Entry.objects.count(), PeriodMark.objects.count()) == (0, 0)


def test_opening_again_is_an_entry_with_a_reason_and_lets_postings_in(place: Place) -> None:
    make_work(place)
    close(place, APRIL)
    mark = reopen_period(farm=place.farm, month=DAY, why=" the rent was forgotten ", now=IN_JUNE)
    entry = Entry.objects.get(number=3)
    assert (entry.purpose, entry.why, entry.source_key) == (
        "reopen",
        "the rent was forgotten",
        "2026-04 reopen 1",
    )
    assert (entry.period_mark, entry.line_count, closed_through(farm=place.farm)) == (mark, 0, None)
    make_bill(place, bill_on=DAY)
    post_pending(now=IN_JUNE)
    assert Entry.objects.get(number=4).booked_on == DAY
    again = close(place, APRIL)
    assert (again.mark.turn, again.entry.source_key, again.entry.why) == (
        2,
        "2026-04 close 2",
        "closed with 2 entries",
    )
    assert verify_ledger().is_whole


def test_only_the_last_closed_month_opens_again_and_only_with_a_reason(place: Place) -> None:
    make_work(place, work_on=MARCH)
    with pytest.raises(PeriodRefused, match=r"^March 2026 cannot be opened again: no month is closed\.$"):
        reopen_period(farm=place.farm, month=MARCH, why="because", now=IN_JUNE)
    close(place, MARCH)
    close(place, APRIL)
    with pytest.raises(
        PeriodRefused, match=r"^March 2026 cannot be opened again: the last closed month is April 2026\.$"
    ):
        reopen_period(farm=place.farm, month=MARCH, why="because", now=IN_JUNE)
    for why, says in (
        ("  ", "needs a reason in words"),
        ("x" * 201, "201 characters"),
        ("a\x07b", "printed"),
    ):
        with pytest.raises(PeriodRefused, match=says) as caught:
            reopen_period(farm=place.farm, month=APRIL, why=why, now=IN_JUNE)
        assert "why" in caught.value.fields
    reopen_period(farm=place.farm, month=APRIL, why="because", now=IN_JUNE)
    reopen_period(farm=place.farm, month=MARCH, why="because", now=IN_JUNE)
    assert closed_through(farm=place.farm) is None
    assert verify_ledger().is_whole


def test_what_is_booked_by_hand_into_a_closed_month_is_refused_with_the_sentence(place: Place) -> None:
    make_work(place)
    refuse_closed(farm=place.farm, day=DAY)
    close(place, APRIL)
    refuse_closed(farm=place.farm, day=MAY)
    for day in (dt.date(2026, 4, 30), NEW_YEAR):
        with pytest.raises(PeriodClosedError) as caught:
            refuse_closed(farm=place.farm, day=day)
        assert caught.value.says == (
            f"{day} is in a closed month: the books of Heron Slough are closed through April 2026. "
            "Take a later day, or open the month again."
        )
        assert caught.value.code == "period_closed"


def test_the_entry_of_a_close_is_not_reversed(place: Place) -> None:
    make_work(place)
    entry = close(place, APRIL).entry
    with pytest.raises(
        ReversalRefused, match=r"^Entry 2 closes or opens a month; open or close the month instead\.$"
    ):
        reverse_entry(entry=entry, why="no", now=IN_JUNE)


def test_the_database_refuses_a_posting_that_was_booked_before_the_close_was_seen(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A writer that looked for closed months too early, and so books on the work's own day, is stopped all the same."""
    bill = make_bill(place)
    make_work(place)
    post_pending(now=NOON)
    late = make_work(place)
    close(place, APRIL)
    del bill
    early = make_work(place)
    monkeypatch.setattr("ledger.services.held_books.closed_through", lambda *, farm: None)
    with transaction.atomic(), pytest.raises(IntegrityError, match="the month is closed"):
        write_entry(farm=place.farm, source=early, lines=[], happened_on=DAY, now=IN_JUNE)
    assert connection.needs_rollback is False
    assert Entry.objects.get(work_record=late).booked_on == DAY
    assert not Entry.objects.filter(work_record=early).exists()


def test_a_close_that_fails_leaves_the_month_open(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    make_work(place)

    def crash(**_facts: object) -> None:
        raise OSError("power cut")

    monkeypatch.setattr(service, "write_entry", crash)
    with pytest.raises(OSError, match="power cut"):
        close(place, APRIL)
    assert (closed_through(farm=place.farm), PeriodMark.objects.count()) == (None, 0)
    monkeypatch.undo()
    close(place, APRIL)
    assert verify_ledger().is_whole


def test_what_comes_before_the_close_is_booked_into_the_month(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Postings of a whole month are made with the books held, before the mark."""
    make_work(place)
    met = []

    def before(*, farm: object, through: dt.date, now: dt.datetime) -> None:
        assert closed_through(farm=place.farm) is None
        met.append((farm, through, now))

    monkeypatch.setattr(service, "BEFORE_CLOSE", (before,))
    close(place, APRIL)
    assert met == [(place.farm, dt.date(2026, 4, 30), IN_JUNE)]


def test_each_month_says_what_it_holds_who_closed_it_and_with_which_head(place: Place) -> None:
    user = get_user_model().objects.create(username="bertil")
    make_work(place, work_on=MARCH)
    done = close_period(farm=place.farm, month=MARCH, made_by=user, now=IN_JUNE)
    make_work(place, work_on=MARCH)
    make_work(place, work_on=MAY)
    post_pending(now=IN_JUNE)
    rows = periods(farm=place.farm, today=dt.date(2026, 6, 2))
    told = [(row.month, row.is_closed, row.entries, row.late, row.head, len(row.marks)) for row in rows]
    assert told == [
        (JUNE, False, 0, 0, "", 0),
        (MAY, False, 1, 0, "", 0),
        (APRIL, False, 1, 1, "", 0),
        (MARCH, True, 1, 0, done.head.digest, 1),
    ]
    assert (rows[-1].marks[0].made_by, rows[-1].number) == (user, 2)
    reopen_period(farm=place.farm, month=MARCH, why="rent", made_by=user, now=IN_JUNE)
    march = periods(farm=place.farm, today=dt.date(2026, 6, 2))[-1]
    assert (march.is_closed, march.head, [mark.why for mark in march.marks]) == (False, "", ["", "rent"])


def test_each_farm_closes_for_itself(place: Place) -> None:
    other = make_place("other-bend")
    make_work(place)
    make_work(other)
    close(place, APRIL)
    assert closed_through(farm=other.farm) is None
    make_work(other)
    post_pending(now=IN_JUNE)
    assert set(Entry.objects.filter(farm=other.farm).values_list("booked_on", flat=True)) == {DAY}


def test_the_month_after_is_the_month_after() -> None:
    """All months of 400 years, against the standard library's calendar (proleptic Gregorian, repeats after 400)."""
    month = dt.date(1801, 1, 1)
    for ordinal in range(12 * 400):
        assert month == dt.date(1801 + ordinal // 12, ordinal % 12 + 1, 1)
        month = next_month(month)


def test_the_command_closes_and_opens_and_says_what_was_done(place: Place) -> None:
    make_work(place)
    out = io.StringIO()
    call_command("close_period", farm="heron-slough", month="2026-04", stdout=out)
    head = Entry.objects.get(number=1).hash
    assert out.getvalue() == f"heron-slough: 2026-04 closed with 1 entry; head {head} at entry 1.\n"
    with pytest.raises(CommandError, match=r"^April 2026 is closed; the books"):
        call_command("close_period", farm="heron-slough", month="2026-04", stdout=io.StringIO())
    call_command(
        "close_period",
        farm="heron-slough",
        month="2026-04",
        reopen=True,
        why="rent",
        stdout=(out := io.StringIO()),
    )
    assert out.getvalue() == "heron-slough: 2026-04 is open again.\n"
    assert chain_head(farm=place.farm).number == 3


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"month": "2026-4"}, "'2026-4' is not a month; write it as 2026-04."),
        ({"month": "2026-13"}, "'2026-13' is not a month; write it as 2026-04."),
        ({"month": "２０２６-04"}, "'２０２６-04' is not a month; write it as 2026-04."),
        ({"month": "0000-01"}, "'0000-01' is not a month; write it as 2026-04."),
        ({"month": "9999-12"}, "December 9999 is not over yet."),
        ({"month": "2026-04", "farm": "nowhere"}, "No farm has the code 'nowhere'"),
        ({"month": "2026-04", "why": "rent"}, "--why is the reason of a reopening; say --reopen too."),
        ({"month": "2026-04", "reopen": True}, "Opening a month again needs a reason in words."),
    ],
)
def test_the_command_refuses_with_a_sentence(place: Place, options: dict[str, object], says: str) -> None:
    make_work(place)
    with pytest.raises(CommandError) as caught:
        call_command("close_period", **{"farm": "heron-slough", **options}, stdout=io.StringIO())
    assert says in str(caught.value)
    assert caught.value.returncode == 1
    assert PeriodMark.objects.count() == 0


def test_nothing_of_a_closed_month_changes_by_any_posting(place: Place) -> None:
    """The sums of a closed month are the same before and after late work, corrections and bills."""

    def april() -> list[tuple[int, ...]]:
        lines = Line.objects.filter(entry__booked_on__lt=MAY, entry__booked_on__gte=APRIL)
        return list(lines.order_by("pk").values_list("pk", "cents"))

    first = make_work(place)
    close(place, APRIL)
    before = april()
    make_work(place, hand_min=10, supersedes=first)
    make_work(place)
    make_bill(place, paid_on=DAY, check_no="7")
    post_pending(now=IN_JUNE)
    assert (april(), len(before)) == (before, 10)
    assert connection.in_atomic_block
