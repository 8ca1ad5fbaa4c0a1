"""What is posted, at which price, once; and what waits.

Long because each kind of source and each way to collide is held in the one world of prices that stands here.
"""

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import psycopg
import pytest
from django.db import IntegrityError, OperationalError
from django.db.models import Sum

from farmops.farms.models import Farm
from ledger.models import Account, Category, Entry, Line, PostingWait
from ledger.selectors.prices import missing_rates
from ledger.services import posting
from ledger.services.bill_items import NewBillItem
from ledger.services.journal import ReversalRefused, reverse_entry
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from scheduling.models import InputUse
from tests.factories import make_hand, make_machine
from tests.ledger.makers import (
    DAY,
    NEW_YEAR,
    NOON,
    Place,
    make_bill,
    make_place,
    make_work,
    set_rates,
    use_input,
)

LATER = NOON + dt.timedelta(hours=3)


@pytest.fixture
def bare_wage(db: None) -> Place:
    """A farm where nothing but the wage has a price."""
    place = make_place(rated=False)
    set_rate(farm=place.farm, kind="wage", usd_per_unit="18", valid_from=NEW_YEAR, now=NOON)
    return place


def season_cents(farm: Farm) -> dict[str, int]:
    """Return what the farm's seasons bear, by category."""
    lines = Line.objects.filter(farm=farm, account=Account.SEASON)
    return dict(lines.values_list("category").annotate(Sum("cents")))


def account_cents(farm: Farm) -> dict[str, int]:
    return dict(Line.objects.filter(farm=farm).values_list("account").annotate(Sum("cents")))


def test_a_day_of_disking_costs_what_the_sum_by_hand_says(place: Place) -> None:
    """5 h at $18 = 90.00, 1 h of overtime at $9 = 9.00, 4.5 h at $40 = 180.00 and at $12 = 54.00;

    fuel 0.044 x 180 x 4.5 = 35.64 gal at $3.20 = 114.05 (114.048), lubricants 15 % = 17.11 (17.1075).
    """
    make_work(place, overtime_min=60)
    report = post_pending(now=NOON)
    assert str(report) == "1 posted, 0 reversed, 0 waiting"
    assert season_cents(place.farm) == {
        "labor": 9_000,
        "overtime": 900,
        "machine": 18_000,
        "fuel": 11_405,
        "lubricants": 1_711,
        "implement": 5_400,
    }
    assert account_cents(place.farm) == {
        "season": 46_416,
        "wages_owed": -9_900,
        "machine_pool": -(18_000 + 1_711 + 5_400),
        "fuel_stock": -11_405,
    }


def test_a_line_keeps_quantity_price_and_the_row_of_the_price(place: Place) -> None:
    make_work(place)
    post_pending(now=NOON)
    fuel = Line.objects.get(account=Account.SEASON, category=Category.FUEL)
    assert (fuel.quantity, fuel.unit, fuel.price_e4) == (Decimal("35.6400"), "gal", 32_000)
    assert fuel.rate is not None
    assert (fuel.rate.kind, fuel.rate.price_e4) == ("fuel", 32_000)
    labor = Line.objects.get(account=Account.SEASON, category=Category.LABOR)
    assert (labor.quantity, labor.unit, labor.says) == (Decimal(300), "min", "Imani")


def test_nothing_posts_twice(place: Place) -> None:
    make_work(place)
    make_bill(place, paid_on=DAY, check_no="1042")
    assert post_pending(now=NOON).posted == 3
    lines = Line.objects.count()
    assert post_pending(now=LATER).posted == 0
    assert (Entry.objects.count(), Line.objects.count()) == (3, lines)


def test_the_owners_hours_stand_apart_and_are_owed_to_nobody(place: Place) -> None:
    owner = make_hand(place.farm, "marlene", is_owner=True)
    make_work(place, hand=owner, machine=None, implement=None, machine_min=0, overtime_min=60)
    post_pending(now=NOON)
    assert season_cents(place.farm) == {"owner_time": 9_000}
    assert account_cents(place.farm) == {"season": 9_000, "owner_time": -9_000}


def test_a_machine_rate_that_holds_fuel_adds_none(place: Place) -> None:
    set_rate(
        farm=place.farm,
        kind="machine",
        subject=place.machine.code,
        usd_per_unit="62.50",
        valid_from=NEW_YEAR,
        holds_fuel=True,
        now=NOON,
    )
    make_work(place)
    post_pending(now=NOON)
    assert season_cents(place.farm) == {"labor": 9_000, "machine": 28_125, "implement": 5_400}


def test_inputs_leave_the_shed_under_their_own_category(place: Place) -> None:
    """By hand: 42.5 bags at $275.50 = 11,708.75."""
    record = make_work(place, machine=None, implement=None, machine_min=0)
    use_input(record, "cotton-seed", "42.5", "bag", usd="275.50", category="seed")
    post_pending(now=NOON)
    assert season_cents(place.farm) == {"labor": 9_000, "seed": 1_170_875}
    assert account_cents(place.farm)["input_stock"] == -1_170_875


def test_work_of_nobody_is_booked_as_nothing_and_not_asked_again(place: Place) -> None:
    make_work(place, hand_min=0, machine=None, implement=None, machine_min=0)
    assert post_pending(now=NOON).posted == 1
    assert Entry.objects.get().line_count == 0
    assert post_pending(now=NOON).posted == 0


def test_the_price_of_the_day_counts(place: Place) -> None:
    set_rate(farm=place.farm, kind="wage", usd_per_unit="20", valid_from=DAY, now=NOON)
    alone = {"machine": None, "implement": None, "machine_min": 0, "hand_min": 60}
    make_work(place, work_on=DAY - dt.timedelta(days=1), **alone)
    make_work(place, work_on=DAY, **alone)
    post_pending(now=NOON)
    prices = Line.objects.filter(account=Account.SEASON).order_by("entry__happened_on")
    assert [line.cents for line in prices] == [1_800, 2_000]


@pytest.mark.django_db
def test_a_missing_rate_keeps_the_work_and_says_which_and_when() -> None:
    place = make_place(rated=False)
    record = make_work(place, machine=None, implement=None, machine_min=0)
    make_bill(place)
    report = post_pending(now=NOON)
    assert report.posted == 1
    assert [(wait.code, wait.source_id) for wait in report.waiting] == [("no_rate_on_date", record.pk)]
    wait = PostingWait.objects.get()
    assert "wage of Imani" in wait.says
    assert "2026-04-20" in wait.says
    assert (wait.source_kind, wait.source_id) == ("work_record", record.pk)
    post_pending(now=LATER)
    again = PostingWait.objects.get()
    assert (again.first_at, again.checked_at) == (NOON, LATER)

    set_rates(place.farm)
    assert post_pending(now=LATER).posted == 1
    assert PostingWait.objects.count() == 0
    assert season_cents(place.farm) == {"labor": 9_000}


def test_a_rate_that_starts_later_does_not_reach_back(place: Place) -> None:
    make_work(place, work_on=NEW_YEAR - dt.timedelta(days=1))
    report = post_pending(now=NOON)
    assert report.posted == 0
    assert "2025-12-31" in report.waiting[0].says


def test_an_input_in_another_unit_than_its_price_waits(place: Place) -> None:
    record = make_work(place)
    use_input(record, "urea", "2", "ton", usd="0.31", priced_by="lb")
    report = post_pending(now=NOON)
    assert report.waiting[0].code == "unit_differs"
    assert "2.000 ton of urea" in report.waiting[0].says or "2 ton of urea" in report.waiting[0].says
    assert Entry.objects.count() == 0


def test_a_superseding_record_reverses_and_posts_anew(place: Place) -> None:
    first = make_work(place)
    post_pending(now=NOON)
    second = make_work(place, hand_min=240, machine_min=210, supersedes=first)
    report = post_pending(now=LATER)
    assert (report.posted, report.reversed) == (1, 1)
    original, reversal, anew = Entry.objects.order_by("number")
    assert (reversal.reverses, anew.work_record) == (original, second)
    assert reversal.happened_on == original.happened_on
    assert "superseded" in reversal.why
    assert season_cents(place.farm)["labor"] == 7_200
    assert season_cents(place.farm)["machine"] == 14_000
    assert post_pending(now=LATER).posted == 0
    assert verify_ledger().faults == []


def test_a_record_superseded_before_it_was_posted_is_never_posted(place: Place) -> None:
    first = make_work(place)
    second = make_work(place, hand_min=240, supersedes=first)
    third = make_work(place, hand_min=60, machine=None, implement=None, machine_min=0, supersedes=second)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (1, 0)
    assert Entry.objects.get().work_record == third
    assert season_cents(place.farm) == {"labor": 1_800}


def test_a_chain_of_corrections_reverses_only_what_stands(place: Place) -> None:
    alone = {"machine": None, "implement": None, "machine_min": 0}
    first = make_work(place, hand_min=60, **alone)
    post_pending(now=NOON)
    second = make_work(place, hand_min=120, supersedes=first, **alone)
    third = make_work(place, hand_min=180, supersedes=second, **alone)
    assert post_pending(now=LATER).reversed == 1
    make_work(place, hand_min=240, supersedes=third, **alone)
    assert post_pending(now=LATER).reversed == 1
    assert season_cents(place.farm) == {"labor": 7_200}
    assert verify_ledger().faults == []


def test_a_correction_that_cannot_be_priced_leaves_the_old_entry_until_it_can(place: Place) -> None:
    first = make_work(place)
    post_pending(now=NOON)
    make_work(place, work_on=NEW_YEAR - dt.timedelta(days=1), supersedes=first)
    report = post_pending(now=LATER)
    assert (report.posted, report.reversed, len(report.waiting)) == (0, 0, 1)
    assert season_cents(place.farm)["labor"] == 9_000


def test_a_wait_goes_away_when_its_source_is_superseded(place: Place) -> None:
    first = make_work(place, work_on=NEW_YEAR - dt.timedelta(days=1))
    post_pending(now=NOON)
    make_work(place, supersedes=first)
    post_pending(now=LATER)
    assert PostingWait.objects.count() == 0


def test_reversing_by_hand_needs_a_reason_and_happens_once(place: Place) -> None:
    make_work(place)
    post_pending(now=NOON)
    entry = Entry.objects.get()
    with pytest.raises(ReversalRefused, match="reason"):
        reverse_entry(entry=entry, why="  ", now=LATER)
    reversal = reverse_entry(entry=entry, why="entered for the wrong farm", now=LATER)
    assert set(account_cents(place.farm).values()) == {0}
    with pytest.raises(ReversalRefused, match="reversed before"):
        reverse_entry(entry=entry, why="again", now=LATER)
    with pytest.raises(ReversalRefused, match="itself a reversal"):
        reverse_entry(entry=reversal, why="and back", now=LATER)
    assert post_pending(now=LATER).posted == 0
    assert verify_ledger().faults == []


def test_each_farm_has_its_own_numbers_rates_and_chain(place: Place) -> None:
    other = make_place("other-bend", rated=False)
    set_rates(other.farm, wage="25")
    make_work(place)
    make_work(other)
    make_work(place)
    assert post_pending(farm=other.farm, now=NOON).posted == 1
    assert post_pending(now=NOON).posted == 2
    assert season_cents(other.farm)["labor"] == 12_500
    assert list(Entry.objects.filter(farm=other.farm).values_list("number", "hash_before")) == [(1, "")]
    first, second = Entry.objects.filter(farm=place.farm)
    assert (first.number, second.number, second.hash_before) == (1, 2, first.hash)


def test_numbers_without_a_cost_wait_and_do_not_hold_up_the_rest(place: Place) -> None:
    """A power no tractor has, and an input that would cost more than a line holds; the bill is posted all the same."""
    mistyped = make_machine(place.farm, "tractor-9", power_hp=Decimal("18000"))
    make_work(place, machine=mistyped)
    record = make_work(place, machine=None, implement=None, machine_min=0)
    use_input(record, "lime", "999999", "t", usd="9999999")
    make_bill(place)
    report = post_pending(now=NOON)
    assert report.posted == 1
    assert {wait.code for wait in report.waiting} == {"cost_not_worked_out"}
    says = " ".join(PostingWait.objects.values_list("says", flat=True))
    assert "power_hp is 18000" in says
    assert "which no line holds" in says
    assert verify_ledger().books[0].not_posted == 2
    assert "The hour of tractor-9 cannot be worked out" in " ".join(missing_rates(farm=place.farm, on=DAY))


def test_a_record_that_was_corrected_and_posted_anew_in_the_meantime_is_left_alone(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another run corrects and posts between the moment this one reads what waits and the moment it has the books."""
    first = make_work(place)
    hold, met = posting.open_books, []

    def hold_late(*, farm: Farm) -> object:
        if not met:
            met.append(farm)
            make_work(place, hand_min=60, supersedes=first)
            post_pending(now=NOON)
        return hold(farm=farm)

    monkeypatch.setattr(posting, "open_books", hold_late)
    assert post_pending(now=LATER).posted == 0
    assert Entry.objects.count() == 1
    assert verify_ledger().is_whole


def test_a_machine_that_did_not_run_asks_for_no_price(bare_wage: Place) -> None:
    make_work(bare_wage, machine_min=0)
    report = post_pending(now=NOON)
    assert (report.posted, report.waiting) == (1, [])
    assert season_cents(bare_wage.farm) == {"labor": 9_000}


def test_sources_are_posted_twenty_at_a_time_in_few_queries(
    place: Place, django_assert_max_num_queries: Callable[[int], AbstractContextManager[object]]
) -> None:
    """Forty records in two transactions, fewer than four queries each; by themselves they would take sixteen and more."""
    for minutes in range(40):
        make_work(place, hand_min=60 + minutes)
    with django_assert_max_num_queries(160):
        assert post_pending(farm=place.farm, now=NOON).posted == 40
    assert list(Entry.objects.values_list("number", flat=True)) == list(range(1, 41))
    assert verify_ledger().is_whole


def test_one_that_waits_leaves_the_others_of_its_transaction_posted(place: Place) -> None:
    works = [make_work(place, work_on=DAY + dt.timedelta(days=day)) for day in range(3)]
    use_input(works[1], "urea", "2", "ton", usd="0.31", priced_by="lb")
    report = post_pending(now=NOON)
    assert (report.posted, [wait.source_id for wait in report.waiting]) == (2, [works[1].pk])
    assert set(Entry.objects.values_list("work_record", flat=True)) == {works[0].pk, works[2].pk}
    assert verify_ledger().is_whole


def test_where_the_database_refuses_some_together_each_is_posted_by_itself(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(3):
        make_work(place)
    together, met = posting._post_together, []

    def refuse_several(run: Any, keys: list[int]) -> Any:
        met.append(len(keys))
        if len(keys) > 1:
            raise IntegrityError("one of them")
        return together(run, keys)

    monkeypatch.setattr(posting, "_post_together", refuse_several)
    assert post_pending(now=NOON).posted == 3
    assert met == [3, 1, 1, 1]
    assert verify_ledger().is_whole


def test_what_the_database_refuses_by_itself_too_is_no_secret(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_work(place)

    def refuse(run: Any, keys: list[int]) -> Any:
        raise IntegrityError("out of balance")

    monkeypatch.setattr(posting, "_post_together", refuse)
    with pytest.raises(IntegrityError, match="out of balance"):
        post_pending(now=NOON)


def test_who_collides_too_often_waits_for_the_next_run_and_nobody_is_shown_it(
    place: Place, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    make_work(place)

    def collide(work: Callable[[], object], *, also: object) -> object:
        error = OperationalError("deadlock detected")
        error.__cause__ = psycopg.errors.lookup("40P01")("deadlock detected")
        raise error

    monkeypatch.setattr(posting, "again", collide)
    with pytest.raises(OperationalError):
        post_pending(now=NOON)  # within a transaction only its owner can try again
    monkeypatch.setattr(posting, "connection", SimpleNamespace(in_atomic_block=False))
    report = post_pending(now=NOON)
    assert (report.posted, report.waiting) == (0, [])
    assert "1 postings left for the next run" in caplog.text
    monkeypatch.undo()
    assert post_pending(now=NOON).posted == 1


def test_stock_that_was_taken_for_what_waits_then_is_still_there(place: Place) -> None:
    """A record that takes 60 of 100 lb and then waits for another price takes nothing from the next one."""
    set_rate(
        farm=place.farm,
        kind="input",
        subject="urea",
        unit="lb",
        usd_per_unit="9",
        valid_from=NEW_YEAR,
        now=NOON,
    )
    item = NewBillItem("fertilizer", "50.00", item="urea", quantity="100", unit="lb")
    make_bill(place, "50.00", category="fertilizer", items=(item,))
    alone = {"machine": None, "implement": None, "machine_min": 0, "hand_min": 0}
    first, second = make_work(place, **alone), make_work(place, **alone)
    for record in (first, second):
        InputUse.objects.create(
            farm=place.farm, work_record=record, input_code="urea", quantity=Decimal(60), unit="lb"
        )
    InputUse.objects.create(
        farm=place.farm, work_record=first, input_code="zinc", quantity=Decimal(1), unit="lb"
    )
    report = post_pending(now=NOON)
    assert [wait.source_id for wait in report.waiting] == [first.pk]
    assert season_cents(place.farm) == {"fertilizer": 3_000}
    set_rate(
        farm=place.farm,
        kind="input",
        subject="zinc",
        unit="lb",
        usd_per_unit="1",
        valid_from=NEW_YEAR,
        now=NOON,
    )
    post_pending(now=NOON)
    # 40 lb of what was bought at 0.50, 20 lb at the price of 9.00, 1 lb of zinc
    assert sum(season_cents(place.farm).values()) == 3_000 + 2_000 + 18_000 + 100
    assert verify_ledger().is_whole
