"""Where a bill goes that names no place, and where it says that its lines go."""

import re
import uuid

import pytest

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Machine
from ledger.models import Bill, Entry
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from tests.factories import make_season
from tests.farmops.pages.conftest import Yard
from tests.farmops.pages.test_bill_corrections import corrected
from tests.farmops.pages.test_bill_pages import BILLS, FARM, NOW, make_bill, page_of, sent, told, typed
from tests.scheduling.incident_makers import make_puncture

ALL_FIELDS = "all fields of 2026, by acres"
TWO_LINES = {
    "category_0": "repairs", "amount_usd_0": "300", "place_0": "tractor-1",
    "category_1": "tires", "amount_usd_1": "112.38", "place_1": "pond-40",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _friday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


def usual(**boxes: str) -> tuple[Bill, str]:
    """Enter a bill with both boxes as they are offered; return it and what was said."""
    page = told("bills/enter/", **typed(category="", client_id=str(uuid.uuid4()), **boxes))
    return Bill.objects.latest("pk"), page


@pytest.mark.parametrize(
    "place", ["tractor-1", "disk-1", "pond-40", "pond-40 2027", "in equal parts", "by acres", "the farm"]
)
def test_as_usual_is_where_the_last_bill_of_the_payee_went(yard: Yard, place: str) -> None:
    make_season(yard.field, crop="rye", crop_year=2027)
    sent(**typed(place=place))
    sent(**typed(payee="Delta Supply", place="by acres", amount_usd="7"))
    first = Bill.objects.earliest("pk")
    bill, _page = usual(amount_usd="9")
    names = ("category", "season", "machine", "implement", "pump", "shared_by")
    assert [getattr(bill, name) for name in names] == [getattr(first, name) for name in names]


def test_a_bill_that_was_reversed_in_the_books_makes_no_place_or_purpose_usual(yard: Yard) -> None:
    sent(**typed(place="pond-40"))
    sent(**typed(category="tires", place="tractor-1", amount_usd="7"))
    post_pending(now=NOW)
    reverse_entry(entry=Entry.objects.get(bill=Bill.objects.latest("pk")), why="not so", now=NOW)
    bill, _page = usual(amount_usd="9")
    assert (bill.category, bill.season, bill.machine) == ("repairs", Bill.objects.earliest("pk").season, None)


def test_what_is_kept_names_what_it_is_for_and_where_it_goes(yard: Yard) -> None:
    sent(**typed(place="tractor-1"))
    assert "Kept: $9.00 of Cane Road Tire. For repairs; goes to tractor-1." in usual(amount_usd="9")[1]
    paid = usual(amount_usd="8", check_no="12")[1]
    assert "Kept: $8.00 of Cane Road Tire, paid. For repairs; goes to tractor-1." in paid
    fuel = told("bills/enter/", **typed(category="fuel", amount_usd="7", client_id=str(uuid.uuid4())))
    assert "For fuel; goes to stock." in fuel
    wages = told("bills/enter/", **typed(category="labor", amount_usd="6", client_id=str(uuid.uuid4())))
    assert "goes to what was owed." in wages


def test_a_bill_for_something_else_or_after_one_to_several_places_is_shared_by_acres(yard: Yard) -> None:
    sent(**typed(place="tractor-1"))
    sent(**typed(category="tires", amount_usd="9"))
    assert Bill.objects.latest("pk").shared_by == "acres"
    assert sent(**typed(category="repairs", number="B-2", bill_on="4/21", **TWO_LINES)).status_code == 302
    bill, page = usual(amount_usd="8")
    assert (bill.category, bill.shared_by, bill.machine) == ("repairs", "acres", None)
    assert f"goes to {ALL_FIELDS}." in page


def test_one_place_of_all_lines_is_the_usual_one_and_an_incident_is_none(yard: Yard) -> None:
    sent(**typed(**TWO_LINES | {"place_1": "tractor-1"}))
    assert usual(amount_usd="9")[0].machine == Machine.objects.get()
    puncture = make_puncture(yard.field)
    make_bill(
        yard, payee="Cane Road Tire", category="repairs", machine=Machine.objects.get(), incident=puncture
    )
    assert usual(amount_usd="7")[0].shared_by == "acres"


def test_the_season_of_a_year_ago_is_that_of_its_field_this_year(yard: Yard) -> None:
    before = make_season(yard.field, crop="rye", crop_year=2025)
    make_bill(yard, payee="Cane Road Tire", category="repairs", season=before)
    assert usual(amount_usd="9")[0].season == yard.field_pass.season
    make_season(yard.field, crop="oats", crop_year=2026)
    make_bill(yard, payee="Cane Road Tire", category="repairs", season=before)
    assert usual(amount_usd="8")[0].shared_by == "acres"


@pytest.mark.parametrize(("place", "shared_by"), [("", ""), ("by acres", "acres")])
def test_a_bill_split_by_lines_says_so_everywhere(yard: Yard, place: str, shared_by: str) -> None:
    sent(**typed(place=place, **TWO_LINES))
    bill = Bill.objects.get()
    assert bill.shared_by == shared_by
    post_pending(now=NOW)
    entry = Entry.objects.get(source_kind="bill")
    page = page_of()
    assert ALL_FIELDS not in page
    assert page.count("<small>its lines</small>") == 2
    one = page_of(f"{BILLS}{bill.pk}/")
    assert ALL_FIELDS not in one
    assert "<td>its lines</td>" in one
    assert 'placeholder="as usual" value=""' in one
    source = page_of(f"{FARM}cost-sources/{entry.number}/")
    assert "Acres" not in source
    assert "<td>its lines</td>" in source
    assert re.search(r"<td[^>]*>Pond 40 \w+ 2026</td>", source)
    User.objects.filter(username="bo").update(language="es")
    assert "<small>sus renglones</small>" in page_of()


def test_lines_that_share_a_place_say_it_and_what_has_none_goes_with_the_bill(yard: Yard) -> None:
    sent(**typed(**TWO_LINES | {"place_1": "tractor-1"}))
    page = page_of(f"{BILLS}{Bill.objects.get().pk}/")
    assert "<td>tractor-1</td></tr>" in page
    assert "its lines" not in page
    sent(**typed(amount_usd="412.39", **TWO_LINES | {"amount_usd_1": "112.39", "place_1": ""}))
    page = page_of(f"{BILLS}{Bill.objects.latest('pk').pk}/")
    assert "<td>its lines</td>" in page
    assert f"<td>{ALL_FIELDS}</td>" in page
    assert 'placeholder="as usual" value="by acres"' in page


def test_a_line_is_offered_only_the_places_that_it_may_go_to(yard: Yard) -> None:
    make_puncture(yard.field)
    page = page_of(BILLS)
    of_bill, of_line = (
        re.findall(r'value="([^"]+)"', page.split(f'<datalist id="{name}">')[1].split("</datalist>")[0])
        for name in ("places", "line-places")
    )
    assert {"by acres", "the farm", "disk-1", "tractor-1", "pond-40"} <= set(of_bill)
    assert of_line == ["tractor-1", "pond-40"]
    assert 'name="place_0" list="line-places"' in page
    assert 'name="place" list="places"' in page


def test_a_source_says_that_its_bill_was_corrected_and_leads_to_it(yard: Yard) -> None:
    sent(**typed())
    first = Bill.objects.get()
    post_pending(now=NOW)
    path = f"{FARM}cost-sources/{Entry.objects.get(source_kind='bill').number}/"
    page = page_of(path)
    assert f'<a href="{BILLS}{first.pk}/">the bill with its photos</a>' in page
    assert "<td>not paid yet</td>" in page
    assert "was corrected" not in page
    second = corrected(first, amount_usd="410", check_no="7", paid_on="4/23")
    page = page_of(path)
    assert f'This bill was corrected: <a href="{BILLS}{second.pk}/">what holds now</a>.' in page
    assert "<td>not before it was corrected</td>" in page
    third = corrected(second, amount_usd="411")
    entries = Entry.objects.filter(source_kind="bill", bill__in=(second, third)).order_by("number")
    before, now = (page_of(f"{FARM}cost-sources/{one.number}/") for one in entries)
    assert "<td>April 23, 2026, before it was corrected</td>" in before
    assert "<td>April 23, 2026</td>" in now
    payment = Entry.objects.get(payment__bill=third)
    assert sent(f"entries/{payment.number}/reverse/", why="never cashed").status_code == 302
    assert "<td>not paid yet</td>" in page_of(f"{FARM}cost-sources/{entries[1].number}/")
    of_payment = page_of(f"{FARM}cost-sources/{payment.number}/")
    assert "<td>April 23, 2026, reversed in the books since</td>" in of_payment
