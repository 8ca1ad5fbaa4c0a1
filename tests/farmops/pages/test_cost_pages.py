"""The pages of costs: every number opens to lines that add up to it, every line to its source."""

import copy
import datetime as dt
import hashlib
import html
import json
import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from farmops.core.models import User
from farmops.farms.models import Field, LatePlantingFacts, Membership
from farmops.pages import words
from farmops.pages.cost_lines_page import PAGE_LINES
from farmops.pages.cost_page import CUTS
from farmops.pages.views import costs
from ledger.exports.about import About
from ledger.models import Entry, Line
from ledger.services.journal import reverse_entry
from ledger.services.periods import close_period
from ledger.services.posting import post_pending
from tests.factories import make_field, make_hand, make_pass, make_season
from tests.farmops.pages.conftest import signed_in
from tests.laying import Lay
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place, make_work, use_input

HERE = "/farms/heron-slough/"
LINK = re.compile(r'<a href="(/farms/[^"]+)">([^<]+)</a>')
AMOUNT = re.compile(r'data-label="Amount">([^<]+)<')


@pytest.fixture(scope="module")
def kept_of_the_file(laid_once: Lay) -> Place:
    return laid_once(make_kept)


@pytest.fixture
def kept(kept_of_the_file: Place, db: None) -> Place:
    return copy.deepcopy(kept_of_the_file)


def make_kept() -> Place:
    """Make a farm with two fields, an input, the owner's time, bills for a field, a machine and the farm, and a reversal."""
    place = make_place()
    user = User.objects.create_user("bo", password="x" * 12)
    Membership.objects.create(farm=place.farm, user=user, role="bookkeeper")
    use_input(make_work(place), "cotton-seed", "8.125", "bag", usd="275.50", category="seed")
    sand = make_season(
        make_field(place.farm, "sand-60", name="Sand", planted_ac=Decimal("61.3")),
        crop="peanuts",
        area_ac=Decimal("61.3"),
    )
    make_work(
        place,
        field_pass=make_pass(sand, "plant"),
        hand=make_hand(place.farm, "marlene", name="Marlene", is_owner=True),
        work_on=DAY.replace(month=5),
    )
    make_bill(place, "412.37", category="tires", season=sand)
    make_bill(place, "-18.40", category="chemicals", season=sand)
    make_bill(place, "950.00", category="repairs", machine=place.machine)
    make_bill(place, "20.00", category="scouting", season=place.season)
    LatePlantingFacts.objects.create(
        farm=place.farm,
        crop="peanuts",
        yield_per_ac=Decimal(4000),
        yield_unit="lb",
        price_usd=Decimal("0.25"),
    )
    post_pending(now=NOON)
    scouting = Entry.objects.get(lines__category="scouting", lines__account="season")
    reverse_entry(entry=scouting, why="another farm's", now=NOON)
    return place


def said_cents(said: str) -> int:
    found = re.match(r"(−?)\$([0-9,]+\.[0-9]{2})", said)
    assert found, said
    return int(Decimal(found[2].replace(",", "")) * 100) * (-1 if found[1] else 1)


def read(client: Client, address: str) -> str:
    answer = client.get(html.unescape(address))
    assert answer.status_code == 200, address
    return answer.content.decode()


@pytest.mark.long
def test_every_number_opens_to_lines_that_add_up_to_it(kept: Place) -> None:
    client, sums = signed_in("bo"), {}

    def lines_cents(address: str) -> int:
        if address not in sums:
            sums[address] = sum(said_cents(one) for one in AMOUNT.findall(read(client, address)))
        return sums[address]

    for cut in CUTS:
        page = read(client, f"{HERE}costs/?by={cut}")
        table, pools = re.findall(r"<tbody>.*?</tfoot>|<table class=.narrow.*?</table>", page, re.S)
        rows = re.findall(r"<tr>.*?</tr>", table, re.S)
        assert len(rows) > 1
        has_units = cut in ("field", "crop")  # the other rows hold cotton and peanuts together
        assert ("Per unit of yield" in page) is has_units
        for row in rows:
            acres, total, per_ac, *cells = re.findall(r'<td class="n fig">(.*?)</td>', row)
            (address, said), (same, said_per_ac) = LINK.findall(total)[0], LINK.findall(per_ac)[0]
            cents = lines_cents(address)
            assert said_cents(said) == cents, (cut, row)
            assert abs(said_cents(said_per_ac) - Decimal(cents) / Decimal(acres)) <= Decimal("0.5")
            per_unit = LINK.findall(cells.pop(0)) if has_units else []
            assert {same, *(pair[0] for pair in per_unit)} == {address}
            found = [LINK.findall(cell)[0] for cell in cells if cell]
            assert sum(said_cents(said) for _address, said in found) == cents
            for address, said in found:
                assert said_cents(said) == lines_cents(address), (cut, address)
        for address, said in LINK.findall(pools):
            assert said_cents(said) == abs(lines_cents(address)), address
    assert len(sums) > 40, "all of it was tried"


def test_a_line_opens_to_its_source_with_its_facts(kept: Place) -> None:
    client = signed_in("bo")
    page = read(client, f"{HERE}cost-lines/?category=seed")
    assert "Seed: $2,238.44 in 2026, one line." in page
    assert "rate: input of cotton-seed from January 1, 2026" in page
    source = read(client, re.findall(r'href="([^"]+cost-sources[^"]+)"', page)[0])
    assert "Imani: disk on April 20, 2026" in source
    assert "<td>8.125 bag</td>" in source
    assert "4 h 30 min" in source
    bill = read(
        client,
        re.findall(r'href="([^"]+cost-sources[^"]+)"', read(client, f"{HERE}cost-lines/?category=tires"))[0],
    )
    assert "Three Rivers Supply" in bill
    assert "not paid yet" in bill
    undone = read(client, f"{HERE}cost-lines/?category=scouting")
    assert "$0.00 in 2026, two lines." in undone
    assert "reversed by entry" in undone
    both = [read(client, one) for one in re.findall(r'href="([^"]+cost-sources[^"]+)"', undone)]
    assert "another farm&#x27;s" in both[1]
    assert all("Three Rivers Supply" in one for one in both)


def test_the_owners_time_and_the_head_of_the_chain_stand_on_the_page(kept: Place) -> None:
    page = read(signed_in("bo"), f"{HERE}costs/")
    assert re.search(r"category=owner_time.>\$90\.00</a> is the owner's own time", page)
    last = Entry.objects.latest("number")
    assert last.hash in page
    assert f"through entry {last.number}" in page
    assert "$0.0" in page
    assert "/lb expected" in page


def test_a_table_narrowed_to_a_cell_says_so(kept: Place) -> None:
    page = read(signed_in("bo"), f"{HERE}costs/?by=operation&field=sand-60&category=machine")
    assert "Only Sand, machine." in page
    assert "peanuts" not in re.findall(r"<tbody>.*?</tbody>", page, re.S)[0]
    none = read(signed_in("bo"), f"{HERE}costs/?field=sand-60&month=2026-09")
    assert "Nothing has been booked here." in none


def test_many_lines_come_in_pages(kept: Place) -> None:
    for number in range(PAGE_LINES):
        make_bill(kept, f"{number + 1}.00", category="freight", season=kept.season)
    post_pending(now=NOON)
    client = signed_in("bo")
    first = read(client, f"{HERE}cost-lines/?field=pond-40")
    second = read(client, re.findall(r'href="(\?[^"]+page=2)"', first)[0].join((f"{HERE}cost-lines/", "")))
    both = [said_cents(one) for one in AMOUNT.findall(first) + AMOUNT.findall(second)]
    assert len(AMOUNT.findall(first)) == PAGE_LINES
    total = re.findall(r"<h1>[^$]*(\$[0-9,.]+[0-9])", first)[0]
    assert words.dollars(sum(both)) == total
    assert "Page 2 of 2" in second


@pytest.mark.parametrize(
    "address",
    [
        "costs/?by=color",
        "costs/?month=May",
        "cost-lines/?month=2026-13",
        "cost-lines/?page=0",
        "cost-lines/?page=x",
        "pool-lines/?pool=tractor-1&side=up",
        "pool-lines/?pool=no-such&side=left",
        "cost-sources/9999/",
    ],
)
def test_what_is_not_there_is_a_page_that_does_not_exist(kept: Place, address: str) -> None:
    assert signed_in("bo").get(HERE + address).status_code == 404


def test_a_budget_and_a_yield_are_entered_on_the_page(kept: Place) -> None:
    client = signed_in("bo")
    page = read(client, f"{HERE}budgets/")
    assert "Nobody has said yet what a crop is meant to cost." in page
    typed = {"year": "2026", "crop": "peanuts", "category": "tires", "usd_per_ac": "10"}
    page = client.post(f"{HERE}budgets/set/", typed, follow=True).content.decode()
    assert "The budget was kept." in page
    assert "One season with a budget of $613 cost" in page
    assert "$200.63 under" in page  # 412.37 of 613.00
    answer = client.post(f"{HERE}budgets/set/", {**typed, "usd_per_ac": "12"})
    assert answer.status_code == 422
    assert "say that it is a correction" in answer.content.decode()
    answer = client.post(f"{HERE}budgets/set/", {**typed, "usd_per_ac": "ten"})
    assert "“ten” is not a number." in answer.content.decode()
    page = client.post(
        f"{HERE}budgets/set/", {**typed, "usd_per_ac": "12", "corrects": "yes"}, follow=True
    ).content.decode()
    assert "$323.23 under" in page
    harvested = {"year": "2026", "ground": "sand-60|peanuts", "quantity": "245,000", "unit": "lb"}
    page = client.post(f"{HERE}budgets/yield/", harvested, follow=True).content.decode()
    assert "245,000 lb</td>" in page
    answer = client.post(f"{HERE}budgets/yield/", {**harvested, "quantity": "1"})
    assert "brought in 245000 lb, as was entered before" in answer.content.decode()
    assert client.post(f"{HERE}budgets/yield/", {**harvested, "ground": "no|corn"}).status_code == 404
    for address in LINK.findall(page):
        if "cost-lines" in address[0] and "$0.00" not in address[1]:
            lines = AMOUNT.findall(read(client, address[0]))
            assert sum(said_cents(one) for one in lines) == said_cents(address[1])


def test_what_is_taken_away_comes_as_a_file(kept: Place) -> None:
    client = signed_in("bo")
    bodies = {}
    for kind, ends in (
        ("csv", "field-costs.csv"),
        ("spreadsheet", "field-costs-spreadsheet.csv"),
        ("semicolon", "field-costs-semicolon.csv"),
        ("xlsx", "field-costs.xlsx"),
        ("lines", "lines.csv"),
    ):
        answer = client.get(f"{HERE}costs/as/{kind}/?year=2026")
        assert f'filename="heron-slough-2026-{ends}"' in answer["Content-Disposition"]
        bodies[kind] = b"".join(answer.streaming_content)  # type: ignore[attr-defined]
    assert bodies["spreadsheet"] == b"\xef\xbb\xbf" + bodies["csv"]
    assert bodies["semicolon"].count(b";") > 20
    for kind, file in (("csv", "field-costs"), ("semicolon", "field-costs-semicolon"), ("lines", "lines")):
        answer = client.get(f"{HERE}costs/as/{kind}/?year=2026&manifest=yes")
        assert f'filename="heron-slough-2026-{file}.csv.manifest.json"' in answer["Content-Disposition"]
        told = json.loads(b"".join(answer.streaming_content))  # type: ignore[attr-defined]
        assert told["sha256"] == hashlib.sha256(bodies[kind]).hexdigest()
        assert told["file"] == f"heron-slough-2026-{file}.csv"
    assert client.get(f"{HERE}costs/as/xlsx/?year=2026&manifest=yes").status_code == 404, "it tells itself"
    assert bodies["lines"].count(b"\r\n") == Line.objects.filter(farm=kept.farm).count() + 1
    answer = client.get(f"{HERE}costs/pond-40/statement/?year=2026")
    assert answer["Content-Type"] == "application/pdf"
    body = b"".join(answer.streaming_content)  # type: ignore[attr-defined]
    assert body.startswith(b"%PDF-")
    told = json.loads(b"".join(client.get(f"{HERE}costs/pond-40/statement/?year=2026&manifest=yes")))
    assert (told["file"], told["sha256"]) == (
        "heron-slough-2026-pond-40.pdf",
        hashlib.sha256(body).hexdigest(),
    )
    assert client.get(f"{HERE}costs/pond-40/statement/?year=2031").status_code == 404
    assert client.get(f"{HERE}costs/no-such/statement/").status_code == 404
    assert client.get(f"{HERE}costs/as/ods/").status_code == 404


def test_a_statement_is_kept_and_says_at_once_what_changed(
    kept: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, written = signed_in("bo"), []
    write = costs.write_statement

    def counted(**given: Any) -> About:
        written.append(given["crop_year"])
        return write(**given)

    def statement() -> bytes:
        answer = client.get(f"{HERE}costs/pond-40/statement/?year=2026")
        return b"".join(answer.streaming_content)  # type: ignore[attr-defined]

    monkeypatch.setattr(costs, "write_statement", counted)
    first = statement()
    assert (statement(), written) == (first, [2026])
    Field.objects.filter(farm=kept.farm, code="pond-40").update(name="Long Pond")
    renamed = statement()
    assert renamed != first
    stands = Entry.objects.filter(farm=kept.farm, reverses=None, reversed_by=None)
    in_its_season = stands.filter(lines__season__field__code="pond-40")
    reverse_entry(entry=in_its_season.order_by("number")[0], why="twice", now=NOON)
    assert statement() not in {first, renamed}
    assert written == [2026] * 3


def test_late_work_says_both_of_its_days(kept: Place) -> None:
    in_june = dt.datetime(2026, 6, 2, 16, tzinfo=dt.UTC)
    for month in (dt.date(2026, 4, 1), dt.date(2026, 5, 1)):
        close_period(farm=kept.farm, month=month, now=in_june)
    make_bill(kept, "77.00", category="dues", season=kept.season)
    post_pending(now=in_june)
    client = signed_in("bo")
    assert "1 line of earlier months stands in the month that was open when it came" in read(
        client, f"{HERE}costs/"
    )
    page = read(client, f"{HERE}cost-lines/?category=dues&month=2026-06")
    assert "Apr 20, 2026<small>booked Jun 1, 2026</small>" in page
    assert "1 line of a month that was closed when it came." in page


@pytest.mark.parametrize("year", ["0000", "0001", "1989", "2101", "9999", "２０２５", "20 5"])
def test_a_year_that_no_books_have_is_the_newest_one(kept: Place, year: str) -> None:
    answer = signed_in("bo").get(f"{HERE}costs/as/lines/", {"year": year})
    assert b"".join(answer).startswith(b"entry,line_no,")
    assert answer["Content-Disposition"] == 'attachment; filename="heron-slough-2026-lines.csv"'
