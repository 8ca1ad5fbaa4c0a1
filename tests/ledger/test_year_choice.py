"""How a year counts its stocks and fuel is chosen once, and not against what was booked."""

import datetime as dt
import io

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction

from ledger.models import YearChoice
from ledger.services.books import ChoiceMade, ChoiceUnknown, choose_year
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from tests.ledger.makers import NOON, Place, make_work
from tests.ledger.test_stock import buy_seed, plant


def choose(place: Place, stock_cost: str = "actual", fuel_by: str = "average_hour", year: int = 2026) -> bool:
    _row, is_new = choose_year(farm=place.farm, year=year, stock_cost=stock_cost, fuel_by=fuel_by, now=NOON)
    return is_new


def test_the_same_choice_again_is_no_other(place: Place) -> None:
    assert [choose(place), choose(place)] == [True, False]
    assert YearChoice.objects.count() == 1


def test_another_choice_for_the_same_year_is_refused(place: Place) -> None:
    choose(place)
    with pytest.raises(ChoiceMade) as refused:
        choose(place, "average")
    assert refused.value.says == (
        "For 2026 it was chosen on 2026-04-20: stocks at what that lot, else the oldest, was bought at; "
        "fuel by an average hour of the machine. A year is chosen once."
    )
    assert choose(place, "average", year=2027)


def test_a_year_in_which_stock_was_drawn_keeps_the_way_it_was_drawn(place: Place) -> None:
    buy_seed(place, "10", "2500.00")
    plant(place, "2")
    post_pending(now=NOON)
    with pytest.raises(ChoiceMade, match=r"entry 2 of 2026-04-20, and it counted stocks at the average"):
        choose(place)
    assert choose(place, "average")


def test_a_draw_that_was_undone_holds_no_choice(place: Place) -> None:
    buy_seed(place, "10", "2500.00")
    record = plant(place, "2")
    post_pending(now=NOON)
    reverse_entry(entry=record.entries.get(), why="entered for the wrong farm", now=NOON)
    assert choose(place)


def test_a_return_to_the_supplier_and_a_use_at_a_rate_hold_no_choice_of_the_cost(place: Place) -> None:
    buy_seed(place, "10", "2500.00")
    buy_seed(place, "1", "-250.00")
    make_work(place)
    post_pending(now=NOON)
    assert choose(place)


def test_fuel_that_was_booked_by_the_hour_keeps_the_year_to_it(place: Place) -> None:
    make_work(place)
    make_work(place, work_on=dt.date(2026, 4, 21))
    post_pending(now=NOON)
    with pytest.raises(ChoiceMade, match=r"entry 1 of 2026-04-20, and it counted fuel by an average hour"):
        choose(place, "average", "fill_ups")
    assert choose(place, "average", "fill_ups", year=2027)


@pytest.mark.parametrize(
    ("stock_cost", "fuel_by", "year", "says"),
    [
        ("lifo", "fill_ups", 2026, "stock_cost is actual or average, not 'lifo'"),
        ("actual", "guess", 2026, "fuel_by is average_hour or fill_ups, not 'guess'"),
        ("actual", "fill_ups", 26, "26 is no year of these books"),
    ],
)
def test_what_is_not_offered_is_refused(
    place: Place, stock_cost: str, fuel_by: str, year: int, says: str
) -> None:
    with pytest.raises(ChoiceUnknown, match=says):
        choose(place, stock_cost, fuel_by, year)
    assert YearChoice.objects.count() == 0


def test_the_database_keeps_one_choice_a_year(place: Place) -> None:
    choose(place)
    with pytest.raises(IntegrityError), transaction.atomic():
        YearChoice.objects.create(farm=place.farm, calendar_year=2026, chosen_at=NOON)


def test_the_command_says_what_was_chosen_and_refuses_in_a_sentence(place: Place) -> None:
    said = io.StringIO()
    call_command(
        "choose_year", "--farm", place.farm.code, "--year", "2026", "--stock-cost", "actual", stdout=said
    )
    assert said.getvalue() == (
        "2026: stocks at what that lot, else the oldest, was bought at; fuel by an average hour of the machine.\n"
    )
    with pytest.raises(CommandError, match="A year is chosen once"):
        call_command("choose_year", "--farm", place.farm.code, "--year", "2026")
