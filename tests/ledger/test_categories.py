"""Categories: those that ship, the farm's own, and what they mean for a bill."""

from pathlib import Path

import pytest

from ledger.models import IN_THE_SHED, Account, Category, FarmCategory
from ledger.selectors.categories import CategoriesError, category_book, shipped_categories
from ledger.services.categories import CategoryRefused, add_category
from tests.ledger.makers import Place, make_place

OF_THE_TRADE = "utilities supplies taxes freight storage lp_gas wrap dues".split()


def test_every_word_of_the_books_ships_with_its_label() -> None:
    shipped = shipped_categories()
    assert {one.value: one.label for one in Category} == {
        code: row.label for code, row in shipped.items() if code in Category.values
    }
    assert set(OF_THE_TRADE) <= set(shipped)
    assert all(len(code) <= 20 for code in shipped)


def test_what_is_bought_into_stock_is_known_by_the_file(place: Place) -> None:
    book = category_book(farm=place.farm)
    assert {code for code in book if book.stock(code) == Account.INPUT_STOCK} == set(IN_THE_SHED)
    assert book.stock("fuel") == Account.FUEL_STOCK
    assert book.stock("wrap") is None
    assert book.stock("yachts") is None


def test_nobody_bills_the_owners_hours_or_what_the_books_work_out(place: Place) -> None:
    book = category_book(farm=place.farm)
    never = set(book) - {row.code for row in book.billed()}
    assert never == {"overtime", "owner_time", "lost_time", "ownership"}


def test_rent_and_services_count_for_form_1099_and_goods_do_not(place: Place) -> None:
    """Outside: IRS, Instructions for Forms 1099-MISC and 1099-NEC, rents and services of people who are not
    employees; merchandise, freight and storage are left out there. From memory."""
    book = category_book(farm=place.farm)
    assert all(book.is_counted(code) for code in ("land_rent", "custom_work", "scouting", "repairs"))
    assert not any(book.is_counted(code) for code in ("seed", "fuel", "freight", "storage", "labor", "taxes"))


def test_a_farm_keeps_categories_of_its_own_behind_those_that_ship(place: Place) -> None:
    row, is_new = add_category(farm=place.farm, code="bee_rent", label="hives for seed", counts_for_1099=True)
    again, is_new_again = add_category(
        farm=place.farm, code=" bee_rent", label="hives for seed ", counts_for_1099=True
    )
    assert (is_new, is_new_again, row) == (True, False, again)
    book = category_book(farm=place.farm)
    assert list(book)[-1] == "bee_rent"
    assert (book.label("bee_rent"), book.is_counted("bee_rent")) == ("hives for seed", True)
    assert "bee_rent" not in category_book(farm=make_place("other-bend").farm)


def test_a_code_that_nobody_knows_still_has_words(place: Place) -> None:
    assert category_book(farm=place.farm).label("old_thing") == "old thing"


@pytest.mark.parametrize(
    ("code", "label", "says"),
    [
        ("Bee rent", "hives", "'Bee rent' is no code of a category"),
        ("x" * 21, "hives", "at most 20"),
        ("bees", " ", "one line of 1 to 60"),
        ("bees", "a\nb", "one line of 1 to 60"),
        ("seed", "seed", "seed is a category that every farm has"),
        ("kept", "other words", "kept is a category of Heron Slough already, called 'as it is'"),
    ],
)
def test_a_category_that_cannot_be_kept_is_refused(place: Place, code: str, label: str, says: str) -> None:
    add_category(farm=place.farm, code="kept", label="as it is")
    with pytest.raises(CategoryRefused, match=says):
        add_category(farm=place.farm, code=code, label=label)
    assert FarmCategory.objects.count() == 1


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("code,label\n", "line 1: the columns are code, label"),
        ("{head}\nseed,seed,yes,yes,perhaps\n", "line 2: a category has a code"),
        ("{head}\nseed,seed,yes,yes,no\nseed,seed,yes,yes,no\n", "line 3: seed stands there twice"),
    ],
)
def test_a_file_of_categories_is_refused_by_its_line(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "categories.csv"
    path.write_text(text.format(head="code,label,is_stocked,is_billed,counts_for_1099"), encoding="utf-8")
    with pytest.raises(CategoriesError, match=says):
        shipped_categories(path)
