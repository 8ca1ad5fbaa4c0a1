"""The pages of pools, share-outs and owning machines."""

import datetime as dt
import re
import uuid
from decimal import Decimal

import pytest
from django.test import Client

from farmops.core import clock
from farmops.farms.models import Implement, Machine, Pump
from ledger.models import Entry, MachineCostFacts, MachineYear, ShareOut
from ledger.services.bill_items import NewBillItem
from ledger.services.bills import enter_bill
from ledger.services.posting import post_pending
from tests.factories import make_field, make_season
from tests.farmops.pages.conftest import Yard, signed_in
from tests.ledger.makers import Place, make_bill, make_work, set_rates, use_input

NOON = dt.datetime(2026, 5, 4, 16, tzinfo=dt.UTC)
ADDRESS = "/farms/heron-slough/share-outs/"
YEARS = "/farms/heron-slough/machine-years/"


@pytest.fixture
def farm(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    """Two fields of 40 and 10 acres, and 100.01 dollars of insurance of the farm as a whole."""
    monkeypatch.setattr(clock, "now", lambda: NOON)
    make_season(make_field(yard.farm, "slip-10", name="Slip & Ten", planted_ac=Decimal(10)))
    enter_bill(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        payee="Plain Mutual",
        bill_on=dt.date(2026, 4, 20),
        amount_usd="100.01",
        category="insurance",
        now=NOON,
    )
    return yard


def typed(**boxes: str) -> dict[str, str]:
    return {
        "client_id": str(uuid.uuid4()),
        "pool": "overhead",
        "shared_by": "acres",
        "crop_year": "2026",
        "first_on": "2026-01-01",
        "last_on": "2026-04-30",
        "why": "end of April",
        **boxes,
    }


def test_looking_first_shows_what_each_season_would_get_and_books_nothing(farm: Yard) -> None:
    """By hand: four fifths of 100.01 are 80.008, one fifth 20.002."""
    answer = signed_in("bo").post(ADDRESS, typed(then="look"))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "So it would be shared out" in page
    for says in ("$80.01", "$20.00", "40.0 ac", "80.00 %", "10.0 ac", "20.00 %", "50.0 ac", "$100.01"):
        assert says in page
    assert "Slip &amp; Ten, cotton 2026" in page
    assert 'value="book"' in page
    assert not ShareOut.objects.exists()


def test_a_machine_is_shared_by_its_hours_unless_another_way_is_chosen(farm: Yard) -> None:
    """A field where a machine never ran pays nothing for it: the form does not begin with acres for all pools."""
    post_pending(farm=farm.farm, now=NOON)
    page = signed_in("bo").get(ADDRESS).content.decode()
    assert '<option value="as_used" selected>the use of it' in page
    enter_bill(
        farm=farm.farm,
        client_id=uuid.uuid4(),
        payee="Cane Road Parts",
        bill_on=dt.date(2026, 4, 20),
        amount_usd="50.00",
        category="repairs",
        machine=Machine.objects.get(farm=farm.farm, code="tractor-1"),
        now=NOON,
    )
    post_pending(farm=farm.farm, now=NOON)
    answer = signed_in("bo").post(ADDRESS, typed(then="look", pool="machine:tractor-1", shared_by="as_used"))
    assert answer.status_code == 422, "no hours yet: nobody is charged by acres instead"
    page = signed_in("bo").post(ADDRESS, typed(then="look", shared_by="as_used")).content.decode()
    assert '<th scope="col" class="n">Acres</th>' in page
    assert "$80.01" in page


def test_shared_out_it_is_shown_with_the_reason_and_sent_twice_it_is_one(farm: Yard) -> None:
    client = signed_in("bo")
    form = offered(client.post(ADDRESS, typed(then="look")).text)
    page = client.post(ADDRESS, form, follow=True).content.decode()
    assert "$100.01 of the farm as a whole went to two seasons by acres." in page
    assert "Why: end of April. Jan 1, 2026 to Apr 30, 2026, crop year 2026," in page
    assert '<a href="/farms/heron-slough/entries/2/">entry 2</a>, by bo.' in page
    client.post(ADDRESS, form)
    [row] = ShareOut.objects.all()
    assert str(row.made_by) == "bo"
    page = client.get(ADDRESS).content.decode()
    assert f'href="{ADDRESS}{row.pk}/"' in page
    assert "No pool holds anything." in page
    assert "<select" not in page, "nothing to share out, no form"


def insured(farm: Yard, usd: str) -> None:
    """Let another bill of the farm as a whole come in."""
    enter_bill(
        farm=farm.farm,
        client_id=uuid.uuid4(),
        payee="Plain Mutual",
        bill_on=dt.date(2026, 4, 21),
        amount_usd=usd,
        category="insurance",
        now=NOON,
    )
    post_pending(farm=farm.farm, now=NOON)


def offered(page: str) -> dict[str, str]:
    """Return what the form under the figures that were shown would send."""
    [form] = re.findall(r'<section id="tried">.*?</section>', page, re.S)
    return dict(re.findall(r'name="(\w+)"[^>]* value="([^"]*)"', form)) | {"then": "book"}


def booked(client: Client) -> None:
    """Look at a share-out, then book it as it was shown."""
    answer = client.post(ADDRESS, offered(client.post(ADDRESS, typed(then="look")).text))
    assert answer.status_code == 302


def test_what_comes_without_what_was_shown_is_only_looked_at(farm: Yard) -> None:
    client = signed_in("bo")
    answer = client.post(ADDRESS, typed(then="book"))
    assert answer.status_code == 409
    assert "This is how it would be shared out now." in answer.text
    assert not ShareOut.objects.exists()
    assert client.post(ADDRESS, offered(answer.text)).status_code == 302
    assert ShareOut.objects.get().total_cents == 100_01


def test_nothing_is_booked_that_was_not_shown(farm: Yard) -> None:
    client = signed_in("bo")
    seen = offered(client.post(ADDRESS, typed(then="look")).text)
    insured(farm, "50.00")
    answer = client.post(ADDRESS, seen)
    assert answer.status_code == 409
    assert "Nothing was booked: something changed since you looked." in answer.text
    assert "Fields bear $150.01 in all" in answer.text
    assert not ShareOut.objects.exists()
    anew = offered(answer.text)
    assert anew["shown"] != seen["shown"]
    for _again in range(2):
        page = client.post(ADDRESS, anew, follow=True).text
        assert "$150.01 of the farm as a whole went to two seasons by acres." in page
    assert ShareOut.objects.get().total_cents == 150_01


def test_sent_twice_as_it_was_shown_it_is_one_whatever_came_in_between(farm: Yard) -> None:
    client = signed_in("bo")
    seen = offered(client.post(ADDRESS, typed(then="look")).text)
    client.post(ADDRESS, seen)
    insured(farm, "50.00")
    page = client.post(ADDRESS, seen, follow=True).text
    assert "$100.01 of the farm as a whole went to two seasons by acres." in page
    assert ShareOut.objects.get().total_cents == 100_01


def test_a_pool_that_was_emptied_meanwhile_stays_the_chosen_one(farm: Yard) -> None:
    client = signed_in("bo")
    enter_bill(
        farm=farm.farm,
        client_id=uuid.uuid4(),
        payee="Cane Road Parts",
        bill_on=dt.date(2026, 4, 20),
        amount_usd="50.00",
        category="repairs",
        machine=Machine.objects.get(farm=farm.farm, code="tractor-1"),
        now=NOON,
    )
    booked(client)
    page = client.post(ADDRESS, typed(then="look")).text
    assert "The pool of the farm as a whole holds nothing through April 30, 2026." in page
    assert '<option value="overhead" selected>The farm as a whole: $0.00</option>' in page


def test_every_pool_opens_to_its_lines(farm: Yard) -> None:
    pump = Pump.objects.create(farm=farm.farm, code="creek", name="creek pump", flow_gpm=400)
    for facts in ({"machine": Machine.objects.get()}, {"pump": pump}):
        enter_bill(
            farm=farm.farm,
            client_id=uuid.uuid4(),
            payee="Three Rivers Supply",
            bill_on=dt.date(2026, 4, 20),
            amount_usd="55.00",
            category="repairs",
            now=NOON,
            **facts,
        )
    post_pending(farm=farm.farm, now=NOON)
    client = signed_in("bo")
    page = client.get(ADDRESS).content.decode()
    links = re.findall(r'<td class="n fig"><a href="([^"]+)">\$[0-9.]+ to share out', page)
    assert len(links) == 3
    for link, says in zip(links, ("$55.00", "$55.00", "$100.01"), strict=True):
        assert says in client.get(link.replace("&amp;", "&")).content.decode()


def test_it_is_undone_with_a_reason_and_not_without(farm: Yard) -> None:
    client = signed_in("mona")
    booked(client)
    row = ShareOut.objects.get()
    page = client.post(f"{ADDRESS}{row.pk}/reverse/", {"why": " "}, follow=True).content.decode()
    assert "A reversal needs a reason in words." in page
    page = client.post(f"{ADDRESS}{row.pk}/reverse/", {"why": "by hours"}, follow=True).content.decode()
    assert "The share-out was reversed; its pool holds it again." in page
    assert "Reversed by entry 3: by hours. The pool holds it again." in page
    assert "Undo it" not in page
    page = client.post(f"{ADDRESS}{row.pk}/reverse/", {"why": "again"}, follow=True).content.decode()
    assert "Entry 2 was reversed before." in page
    assert "reversed by entry 3: by hours" in client.get(ADDRESS).content.decode()


@pytest.mark.parametrize(
    ("boxes", "says"),
    [
        ({"why": ""}, "A share-out needs a reason in words"),
        ({"shared_by": "hours"}, "Nothing ran in these days: no hour of any machine is recorded"),
        ({"shared_by": "moon"}, "Choose by what."),
        ({"pool": "machine:nowhere"}, "Choose a pool."),
        ({"pool": "machine:tractor-1"}, "The pool of tractor-1 holds nothing through April 30, 2026."),
        ({"crop_year": "26"}, "Give the crop year, as 2026."),
        ({"last_on": "2026-05-05"}, "May 5, 2026 has not come yet"),
        ({"last_on": "2025-12-31"}, "The days end on December 31, 2025"),
        ({"first_on": "soon"}, "“soon” is not a day."),
        ({"why": "a\x07b"}, "cannot be kept"),
    ],
)
def test_what_is_wrong_stands_at_its_box(farm: Yard, boxes: dict[str, str], says: str) -> None:
    answer = signed_in("bo").post(ADDRESS, typed(then="book", **boxes))
    assert answer.status_code == 422
    [wrong] = re.findall(r'class="wrong" role="alert">(.*?)</span>', answer.content.decode())
    assert says in wrong
    assert not ShareOut.objects.exists()


def test_what_another_farm_shared_out_does_not_exist_here(farm: Yard) -> None:
    booked(signed_in("bo"))
    row = ShareOut.objects.get()
    for name in ("bo", "mona"):
        assert signed_in(name).get(f"{ADDRESS}{row.pk + 1}/").status_code == 404
    assert signed_in("rosa").get(f"{ADDRESS}{row.pk}/").status_code == 403
    assert signed_in("rosa").post(f"{ADDRESS}{row.pk}/reverse/", {"why": "x"}).status_code == 403
    assert signed_in("bo").get(f"{ADDRESS}{row.pk}/reverse/").status_code == 302


def test_owning_machines_is_shown_for_management_and_booked_once(
    farm: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Worth after four years by ASAE D497 by hand: 0.7^2 of 150,000."""
    MachineCostFacts.objects.create(
        farm=farm.farm,
        machine=Machine.objects.get(),
        cost_class="tractor_2wd",
        list_price_cents=150_000_00,
        paid_cents=130_000_00,
        bought_on=dt.date(2022, 1, 1),
        life_h=Decimal(6_000),
        annual_h=Decimal(400),
        interest_pct=Decimal(8),
        insurance_housing_pct=Decimal(1),
        repair_rf1_factor=Decimal("0.007"),
        repair_rf2_factor=Decimal("2.0"),
        entered_at=NOON,
    )
    client = signed_in("bo")
    page = client.get(YEARS).content.decode()
    assert "For management, not for taxes" in page
    assert "$73,500.00" in page
    assert "2026 can be booked once it is over." in page
    assert "No price, life and yearly hours of disk-1 are known for 2026." in page
    answer = client.post(YEARS, {"year": "2026"}, follow=True)
    assert "2026 is not over; owning tractor-1 is booked once it is." in answer.content.decode()
    monkeypatch.setattr(clock, "now", lambda: dt.datetime(2027, 1, 5, 16, tzinfo=dt.UTC))
    client = signed_in("bo")
    assert "Book 2026 for 1 of them" in client.get(f"{YEARS}?year=2026").content.decode()
    page = client.post(YEARS, {"year": "2026"}, follow=True).content.decode()
    assert "1 booked, 0 known before, 1 left out." in page
    assert "Everything that can be booked for 2026 is booked." in page
    client.post(YEARS, {"year": "2026"})
    assert Entry.objects.filter(machine_year=MachineYear.objects.get()).count() == 1


@pytest.mark.parametrize("asked", ["", "x", "0001", "9999", "²⁰²⁶"])
def test_a_year_that_is_none_is_this_year(farm: Yard, asked: str) -> None:
    page = signed_in("mona").get(YEARS, {"year": asked}).content.decode()
    assert "Calendar year 2026" in page


def test_what_was_used_before_its_bill_came_is_offered_and_shared_out_by_its_use(farm: Yard) -> None:
    """By hand: ten bags priced at 275.50 and bought at 300.00 are 245.00 more, all of it on the field that used them."""
    tractor, disk = Machine.objects.get(), Implement.objects.get()
    place = Place(farm.farm, farm.field_pass.season, farm.field_pass, tractor, disk, farm.hand)
    set_rates(farm.farm)
    use_input(make_work(place), "cotton-seed", "10", "bag", usd="275.50", category="seed")
    post_pending(farm=farm.farm, now=NOON)
    item = NewBillItem("seed", "3000.00", item="cotton-seed", quantity="10", unit="bag")
    make_bill(place, "3000.00", category="seed", items=[item])
    post_pending(farm=farm.farm, now=NOON)
    client = signed_in("bo")
    page = client.get("/farms/heron-slough/stock/").content.decode()
    assert "Used at another price than the bills asked: cotton-seed: $245.00 to share out." in page
    assert "Cotton-seed: $245.00 to share out" in client.get(ADDRESS).content.decode()
    form = typed(pool="shed:cotton-seed", shared_by="as_used", why="the bill came")
    page = client.post(ADDRESS, {**form, "then": "look"}).content.decode()
    for says in ("Fields bear $245.00 in all", "10 bag", "100.00 %", "What was used"):
        assert says in page
    page = client.post(ADDRESS, offered(page), follow=True).content.decode()
    assert "$245.00 of cotton-seed went to one season by what was used." in page
    assert "Used at another price" not in client.get("/farms/heron-slough/stock/").content.decode()


def test_a_number_that_no_share_out_has_is_a_page_that_does_not_exist(farm: Yard) -> None:
    office = signed_in("bo")
    for number in (7, 2**63, 10**23):
        assert office.get(f"{ADDRESS}{number}/").status_code == 404, number
        assert office.post(f"{ADDRESS}{number}/reverse/", {"why": "not there"}).status_code == 404, number


def test_a_nul_in_the_name_of_a_pool_is_no_pool(farm: Yard) -> None:
    answer = signed_in("bo").post(ADDRESS, typed(pool="machine:\0", then="book"))
    assert (answer.status_code, "Choose a pool." in answer.content.decode()) == (422, True)
