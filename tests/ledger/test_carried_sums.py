"""Sums that are carried on are those that are made anew, whatever is booked, and however often they were asked for."""

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import Farm
from ledger.models import Account, Entry, Line
from ledger.selectors import carried_sums
from ledger.selectors.cost_cells import CostWhere, Dimension
from ledger.selectors.cost_tables import CostTables
from ledger.selectors.costs import field_costs
from ledger.selectors.early_uses import differences_at_head, price_differences
from ledger.selectors.export_sizes import booked_lines, journal_size, season_cost_rows
from ledger.selectors.general_ledger import account_days, account_page
from ledger.selectors.lines import cell_sum
from ledger.selectors.pools import pool_balances, pool_costs
from ledger.selectors.stock import stock_at_head, stock_on_hand, uncounted_cents
from ledger.services.bill_items import NewBillItem
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_bill, make_place, make_work, use_input

SEED = NewBillItem("seed", "9000.00", item="cotton-seed", quantity="40", unit="bag")
YEAR_END = dt.date(2026, 12, 31)
CUTS = ((Dimension.FIELD, Dimension.CROP, Dimension.CATEGORY), *((one,) for one in Dimension))
CELLS = (CostWhere(), CostWhere(crop="cotton"), CostWhere(machine="tractor-1"), CostWhere(category="labor"))


def told(farm: Farm, *, carry: bool) -> list[Any]:
    """Return every sum that can be carried on."""
    found: list[Any] = []
    for where in CELLS:
        tables = CostTables(farm=farm, crop_year=2026, where=where, carry=carry)
        found += [tables.sums(by) for by in CUTS]
        found.append(cell_sum(farm=farm, crop_year=2026, where=where, carry=carry))
    found.append(pool_costs(farm=farm, carry=carry))
    found.append(pool_balances(farm=farm, through=DAY, carry=carry))
    return found


def post_a_bill(place: Place, amount: str, **facts: Any) -> None:
    make_bill(place, amount, category="tires", season=place.season, **facts)
    post_pending(now=NOON)


@pytest.mark.long
def test_after_each_posting_they_are_what_is_summed_anew(place: Place) -> None:
    post_a_bill(make_place("fox-hollow"), "999.00")
    steps: tuple[Callable[[], object], ...] = (
        lambda: None,
        lambda: make_work(place, hand_min=60),
        lambda: make_bill(place, "50.00", category="tires", season=place.season),
        lambda: make_bill(place, "70.00", category="repairs", machine=place.machine),
        lambda: make_bill(place, "3.00", bill_on=DAY - dt.timedelta(days=40), season=place.season),
        lambda: use_input(make_work(place), "cotton-seed", "8.125", "bag", usd="275.50", category="seed"),
        lambda: make_bill(place, "200.00", category="fuel"),
        lambda: make_bill(place, "9000.00", category="", items=[SEED]),
        lambda: use_input(make_work(place), "cotton-seed", "2", "bag", usd="275.50", category="seed"),
        lambda: make_work(place, hand_min=120, work_on=DAY + dt.timedelta(days=20)),
        lambda: reverse_entry(entry=Entry.objects.filter(farm=place.farm)[0], why="wrong", now=NOON),
    )
    for step in steps:
        step()
        post_pending(now=NOON)
        assert told(place.farm, carry=True) == told(place.farm, carry=False)
        for account in Account:
            asked: dict[str, Any] = {"farm": place.farm, "account": account, "first": DAY, "last": YEAR_END}
            days, lines = account_page(**asked, skip=0, most=99)
            assert days == account_days(**asked)
            assert len(list(lines)) == days.line_count
        stocked = stock_at_head(farm=place.farm)
        kept = differences_at_head(farm=place.farm, through=DAY)
        assert kept == price_differences(farm=place.farm, through=DAY, on_hand=stock_on_hand(farm=place.farm))
        assert stocked == stock_on_hand(farm=place.farm)
        lines_of_farm = list(Line.objects.filter(farm=place.farm))
        assert journal_size(farm=place.farm).rows == len(lines_of_farm)
        year = booked_lines(farm=place.farm, first=NEW_YEAR, last=YEAR_END)
        assert (year.rows, year.cents) == (len(lines_of_farm), 0)
        costs = field_costs(farm=place.farm, crop_year=2026)
        assert season_cost_rows(farm=place.farm, crop_year=2026) == (
            len(costs),
            sum(row.cents for row in costs),
        )
    assert [one.stocked.item for one in kept] == ["cotton-seed"]
    assert uncounted_cents(farm=place.farm) == {"fuel": 200_00}


def test_only_lines_of_later_entries_are_read(booked: Place) -> None:
    def asked() -> list[str]:
        with CaptureQueriesContext(connection) as seen:
            cell_sum(farm=booked.farm, crop_year=2026, where=CostWhere(), carry=True)
        return [one["sql"] for one in seen.captured_queries if 'FROM "ledger_line"' in one["sql"]]

    [all_of_them] = asked()
    assert '"number" >' not in all_of_them
    assert asked() == []
    post_a_bill(booked, "1.00")
    [later] = asked()
    assert '"number" >' in later
    assert asked() == []


def test_what_was_kept_of_an_entry_that_is_not_in_the_books_does_not_count(booked: Place) -> None:
    told(booked.farm, carry=True)
    with transaction.atomic():
        post_a_bill(booked, "11.00", number="A")
        told(booked.farm, carry=True)
        transaction.set_rollback(True)
    assert told(booked.farm, carry=True) == told(booked.farm, carry=False)
    with transaction.atomic():
        post_a_bill(booked, "12.00", number="B")
        told(booked.farm, carry=True)
        transaction.set_rollback(True)
    post_a_bill(booked, "13.00", number="C")
    post_a_bill(booked, "14.00", number="D")
    assert told(booked.farm, carry=True) == told(booked.farm, carry=False)


def test_what_is_booked_while_they_are_summed_counts_once(
    booked: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, others = carried_sums.chain_head, [booked]

    def head_before(*, farm: Farm) -> Any:
        found = real(farm=farm)
        if others:
            post_a_bill(others.pop(), "5.00")
        return found

    monkeypatch.setattr(carried_sums, "chain_head", head_before)
    for _time in range(3):
        found = cell_sum(farm=booked.farm, crop_year=2026, where=CostWhere(), carry=True)
        assert found == cell_sum(farm=booked.farm, crop_year=2026, where=CostWhere())
        post_a_bill(booked, "6.00")


def test_a_season_whose_crop_is_said_otherwise_is_told_under_it_at_once(booked: Place) -> None:
    def crops() -> set[tuple[str, ...]]:
        return set(CostTables(farm=booked.farm, crop_year=2026, carry=True).sums((Dimension.CROP,)))

    assert crops() == {("cotton",)}
    booked.season.crop = "corn"
    booked.season.save()
    assert crops() == {("corn",)}


def test_another_release_makes_them_anew(booked: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    def made(what: str) -> str:
        return carried_sums.at_head(farm=booked.farm, what="x", asked=1, make=lambda: what)

    assert made("first") == made("second") == "first"
    monkeypatch.setattr(carried_sums, "release_mark", lambda: "later")
    assert made("third") == "third"
