"""The page of months: who may see it, what it says, closing and opening again."""

import datetime as dt
import re
import uuid
from decimal import Decimal

import pytest
from django.utils.html import strip_tags

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Machine
from ledger.models import Entry, MachineCostFacts, PeriodMark, PostingWait, SourceKind
from ledger.selectors.periods import closed_through
from ledger.services.bills import enter_bill
from ledger.services.periods import close_period
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import Yard, signed_in

NOON = dt.datetime(2026, 6, 4, 16, tzinfo=dt.UTC)
ADDRESS = "/farms/heron-slough/periods/"


@pytest.fixture
def farm(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    """A farm in June whose books hold one bill of April."""
    monkeypatch.setattr(clock, "now", lambda: NOON)
    enter(yard)
    post_pending(now=NOON)
    return yard


def enter(yard: Yard) -> None:
    enter_bill(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        payee="Plain Mutual",
        bill_on=dt.date(2026, 4, 20),
        amount_usd="100.01",
        category="insurance",
        now=NOON,
    )


def test_a_month_is_closed_by_a_button_and_shown_with_who_closed_it_and_the_head(farm: Yard) -> None:
    client = signed_in("bo")
    page = client.get(ADDRESS).content.decode()
    assert "No month of the books is closed." in page
    assert "Close April 2026" in page
    page = client.post(f"{ADDRESS}close/", {"month": "2026-04"}, follow=True).content.decode()
    assert "April 2026 is closed with 1 entry." in page
    assert "The books are closed through April 2026." in page
    assert "Closed by bo on June 4, 2026, 12:00 pm." in page
    assert Entry.objects.get(number=1).hash in page
    assert "Close May 2026" in page
    assert "Close June 2026" not in page
    assert closed_through(farm=farm.farm) == dt.date(2026, 4, 1)


def test_the_last_closed_month_is_opened_again_with_a_reason_and_not_without(farm: Yard) -> None:
    client = signed_in("mona")
    client.post(f"{ADDRESS}close/", {"month": "2026-04"})
    page = client.post(f"{ADDRESS}reopen/", {"month": "2026-04", "why": " "}, follow=True).content.decode()
    assert "Opening a month again needs a reason in words." in page
    assert PeriodMark.objects.count() == 1
    page = client.post(
        f"{ADDRESS}reopen/", {"month": "2026-04", "why": "<b>rent</b>"}, follow=True
    ).content.decode()
    assert "April 2026 is open again." in page
    assert "Opened again by mona on June 4, 2026, 12:00 pm: &lt;b&gt;rent&lt;/b&gt;." in page
    assert "No month of the books is closed." in page


def point(page: str, asks: str) -> tuple[str, str]:
    """Return the state of a point of the list, and how its words begin, up to a colon or stop."""
    cells = page.partition(f">{asks}</a></th>")[2].partition("</tr>")[0]
    state, says = [part.partition(">")[2].partition("</td>")[0] for part in cells.split("<td")[1:]]
    return strip_tags(state), re.split(r"[:.;]", says)[0]


def test_before_a_month_closes_each_point_says_what_is_left_up_to_it(farm: Yard) -> None:
    client = signed_in("bo")
    page = client.get(ADDRESS).content.decode()
    assert "Before April 2026 closes" in page
    assert point(page, "Prices and rates") == ("in order", "Everything up to this month has a price")
    assert point(page, "Bills") == ("in order", "1 bill is unpaid")
    assert point(page, "Pools shared out") == ("in order", "1 pool holds $100")
    assert point(page, "Reports from the field") == ("in order", "No report waits")
    assert "Machine years" not in page
    for source_id, day in enumerate((dt.date(2026, 4, 30), dt.date(2026, 5, 1))):
        PostingWait.objects.create(
            farm=farm.farm,
            source_kind=SourceKind.WORK_RECORD,
            source_id=source_id,
            happened_on=day,
            code="no_rate",
            says="There is no rate.",
            first_at=NOON,
            checked_at=NOON,
        )
    page = client.get(ADDRESS).content.decode()
    assert point(page, "Prices and rates") == ("to settle", "1 source up to this month waits for a price")


def test_late_work_is_counted_in_the_month_that_took_it(farm: Yard) -> None:
    client = signed_in("bo")
    client.post(f"{ADDRESS}close/", {"month": "2026-04"})
    enter(farm)
    client.post(f"{ADDRESS}close/", {"month": "2026-05"})
    page = client.get(ADDRESS).content.decode()
    assert (
        '<th scope="row">May 2026</th><td class="day">closed</td><td class="n fig" data-label="entries">1</td><td class="n fig" data-label="of earlier months">1</td>'
        in page
    )
    assert "The books are closed through May 2026." in page


def test_a_month_that_cannot_close_is_refused_in_words(farm: Yard) -> None:
    client = signed_in("bo")
    for month, says in (
        ("2026-06", "June 2026 is not over yet."),
        ("2026-01", "January 2026 is before the books"),
    ):
        page = client.post(f"{ADDRESS}close/", {"month": month}, follow=True).content.decode()
        assert says in page
    for wrong in ("", "2026-4", "April", "9" * 40):
        assert client.post(f"{ADDRESS}close/", {"month": wrong}).status_code == 404
    assert client.get(f"{ADDRESS}close/").status_code == 302
    assert not PeriodMark.objects.exists()


@pytest.mark.parametrize(
    ("language", "says"),
    [
        (
            "en",
            (
                "January 2026 is before",
                "begin in April 2026.",
                "April 2026 closed",
                "April 2026 opened again",
            ),
        ),
        (
            "es",
            (
                "Enero de 2026 es anterior",
                "empiezan en abril de 2026.",
                "mes de abril de 2026 cerrado",
                "mes de abril de 2026 abierto de nuevo",
            ),
        ),
    ],
)
def test_months_are_said_in_the_words_of_the_reader(farm: Yard, language: str, says: tuple[str, ...]) -> None:
    client = signed_in("bo")
    User.objects.filter(username="bo").update(language=language)
    page = client.post(f"{ADDRESS}close/", {"month": "2026-01"}, follow=True).text
    assert says[0] in page
    assert says[1] in page
    for address, at_entry in (("close", says[2]), ("reopen", says[3])):
        client.post(f"{ADDRESS}{address}/", {"month": "2026-04", "why": "rent"})
        newest = Entry.objects.latest("number").number
        heading = re.findall(r"<h1>(.*?)</h1>", client.get(f"/farms/heron-slough/entries/{newest}/").text)
        assert f": {at_entry}, $" in heading[0]


def test_a_hand_is_kept_out_and_another_farm_is_not_there(farm: Yard) -> None:
    client = signed_in("rosa")
    assert client.get(ADDRESS).status_code == 403
    assert client.post(f"{ADDRESS}close/", {"month": "2026-04"}).status_code == 403
    assert client.post(f"{ADDRESS}reopen/", {"month": "2026-04", "why": "x"}).status_code == 403
    assert signed_in("bo").get("/farms/nowhere/periods/").status_code == 404
    assert not PeriodMark.objects.exists()


def test_a_december_is_not_offered_without_a_word_on_machine_years(
    farm: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once the month is closed, what owning machines took cannot be booked into it."""
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
    in_january = dt.datetime(2027, 1, 5, 16, tzinfo=dt.UTC)
    monkeypatch.setattr(clock, "now", lambda: in_january)
    client = signed_in("bo")
    assert "What owning" not in client.get(ADDRESS).content.decode(), "April is next, not December"
    for month in range(4, 12):
        close_period(farm=farm.farm, month=dt.date(2026, month, 1), now=in_january)
    page = client.get(ADDRESS).content.decode()
    assert point(page, "Machine years") == (
        "to settle",
        "What owning one machine took this year is not booked",
    )
    assert 'href="/farms/heron-slough/machine-years/?year=2026"' in page
    page = client.post(f"{ADDRESS}close/", {"month": "2026-12"}, follow=True).content.decode()
    assert "One machine year is not in it" in page
