"""The pages of Schedule F and of landlords."""

import csv
import datetime as dt
import io
import re
import uuid

import pytest

from farmops.core import clock
from farmops.farms.models import Field, Season
from ledger.models import Account, Entry, LandlordTerm, Line, Payee
from ledger.services.bills import enter_bill
from ledger.services.landlords import set_landlord_term
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import Yard, signed_in

NOON = dt.datetime(2026, 6, 4, 16, tzinfo=dt.UTC)
DAY = dt.date(2026, 4, 20)
AT = "/farms/heron-slough/"


@pytest.fixture
def books(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    """A farm in June that paid for scouting of its season and for a machine, and owes a bill."""
    monkeypatch.setattr(clock, "now", lambda: NOON)
    for number, amount, category, paid_on, season in (
        ("A 1", "100.01", "scouting", DAY, Season.objects.get()),
        ("A 2", "2000.00", "machine", DAY, None),
        ("A 3", "55.00", "repairs", None, None),
    ):
        enter_bill(
            farm=yard.farm,
            client_id=uuid.uuid4(),
            payee="Plain Mutual",
            number=number,
            bill_on=DAY,
            amount_usd=amount,
            category=category,
            season=season,
            paid_on=paid_on,
            now=NOON,
        )
    post_pending(now=NOON)
    return yard


def text(address: str, **asked: str) -> str:
    answer = signed_in("bo").get(f"{AT}{address}", asked)
    assert answer.status_code == 200
    return answer.content.decode()


def test_schedule_f_says_it_first_and_lists_bill_by_bill(books: Yard) -> None:
    page = text("schedule-f/")
    assert "$2,100 was paid in 2026; $2,000 of it is on no line of the form." in page
    assert "Not tax advice" in page
    assert "Line 32: Other expenses" in page
    assert "On no line of this form: the preparer says where" in page
    assert re.search(r'href="/farms/heron-slough/bills/\d+/">Plain Mutual A 1</a>', page)
    assert "A 3" not in page
    assert "No bill was paid in 2025." in text("schedule-f/", year="2025")
    for query in ("year=1999", "year=26", "map=nope"):
        assert signed_in("bo").get(f"{AT}schedule-f/?{query}").status_code == 404
        assert signed_in("bo").get(f"{AT}schedule-f.csv?{query}").status_code == 404


def test_the_file_for_the_preparer_holds_the_same(books: Yard) -> None:
    answer = signed_in("bo").get(f"{AT}schedule-f.csv", {"year": "2026", "for": "spreadsheet"})
    assert (
        answer["Content-Disposition"] == 'attachment; filename="heron-slough-schedule_f-2026-spreadsheet.csv"'
    )
    plain = signed_in("bo").get(f"{AT}schedule-f.csv", {"year": "2026"})
    assert plain["Content-Disposition"] == 'attachment; filename="heron-slough-schedule_f-2026.csv"'
    body = b"".join(answer).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(body, newline="")))
    assert [(row["line"], row["amount_usd"]) for row in rows] == [("32", "100.01"), ("", "2000.00")]


def test_the_journal_comes_as_a_file(books: Yard) -> None:
    body = b"".join(signed_in("bo").get(f"{AT}journal.csv")).decode()
    rows = list(csv.DictReader(io.StringIO(body, newline="")))
    assert rows[-1]["hash"] == Entry.objects.get(number=5).hash


def test_a_landlord_is_agreed_with_charged_once_and_shown(books: Yard) -> None:
    client = signed_in("bo")
    assert "No landlord bears a part of the costs of 2026." in text("landlords/")
    typed = {"season": str(Season.objects.get().pk), "landlord": "Estate of Quill", "category": ""}
    page = client.post(f"{AT}landlords/term/", {**typed, "share_pct": "33.333"}, follow=True).content.decode()
    assert "One landlord bears $33 of the costs of 2026; $33 of it is not charged yet." in page
    assert "33.333 %" in page
    charge = {"landlord": "Estate of Quill", "crop_year": "2026", "last_on": "2026-06-04", "why": "half year"}
    charge["client_id"] = str(uuid.uuid4())
    for _twice in range(2):
        page = client.post(f"{AT}landlords/charge/", charge, follow=True).content.decode()
        assert "Estate of Quill owes the farm $33.34 more." in page
        assert "all of it is charged" in page
    assert Line.objects.get(account=Account.LANDLORDS_OWE).cents == 33_34
    number = Entry.objects.get(share_out__isnull=False).number
    assert f"/farms/heron-slough/entries/{number}/" in page
    page = client.post(f"{AT}entries/{number}/reverse/", {"why": "not yet"}, follow=True).content.decode()
    assert f"Entry {number} was reversed by entry {number + 1}." in page
    assert "$33 of it is not charged yet" in text("landlords/", landlord="Estate of Quill")


def test_what_a_landlord_bears_follows_fields_terms_names_and_books_at_once(books: Yard) -> None:
    season = Season.objects.get()
    Field.objects.filter(pk=season.field_id).update(landlord="M. Larkin", landlord_share_pct="10")
    assert "One landlord bears $10 of the costs of 2026" in text("landlords/")
    Field.objects.filter(pk=season.field_id).update(landlord_share_pct="20")
    assert "One landlord bears $20 of the costs of 2026" in text("landlords/")
    set_landlord_term(farm=books.farm, season=season, landlord="Estate of Quill", share_pct="50", now=NOON)
    assert "One landlord bears $50 of the costs of 2026; $50 of it is not charged yet." in text("landlords/")
    Payee.objects.filter(name="Estate of Quill").update(name="Quill Trust")
    assert ">Quill Trust</a></th>" in text("landlords/")
    assert "M. Larkin" not in text("landlords/").split("datalist")[0]


def test_who_is_known_as_a_landlord_is_offered_so_that_nobody_is_two(books: Yard) -> None:
    season = Season.objects.get()
    Season.objects.filter(pk=season.pk).update(landlord="M. Larkin")
    set_landlord_term(
        farm=books.farm, season=season, landlord="Estate of Quill", share_pct="5", category="seed", now=NOON
    )
    page = text("landlords/", year="2031")
    assert '<datalist id="landlords">' not in page, "no season, no form"
    page = text("landlords/")
    assert '<option value="Estate of Quill"></option><option value="M. Larkin"></option>' in page


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"share_pct": "101"}, "A share of 101 % is none: from 0 to 100, with three decimals at most."),
        ({"share_pct": "lots"}, "“lots” is not a number."),
        ({"share_pct": ""}, "Give the percent."),
        ({"season": "999999"}, "Choose the season."),
        ({"category": "gifts"}, "Choose the category."),
        ({"landlord": " "}, "A landlord has a name of 80 letters at most."),
    ],
)
def test_what_is_wrong_is_said_at_its_box_and_nothing_is_kept(
    books: Yard, typed: dict[str, str], says: str
) -> None:
    asked = {"season": str(Season.objects.get().pk), "landlord": "Estate of Quill", "share_pct": "5"}
    answer = signed_in("bo").post(f"{AT}landlords/term/", {**asked, **typed})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not LandlordTerm.objects.exists()


def term_form(page: str) -> dict[str, str]:
    [form] = re.findall(r'<form method="post" action="[^"]*/landlords/term/".*?</form>', page, re.S)
    return {"seen": re.findall(r'name="seen" value="([^"]+)"', form)[0]}


def test_a_term_is_corrected_only_by_who_saw_it_and_says_so(books: Yard) -> None:
    client, season = signed_in("bo"), Season.objects.get()
    typed = {"season": str(season.pk), "landlord": "Estate of Quill", "share_pct": "25"}
    old = term_form(text("landlords/"))
    client.post(f"{AT}landlords/term/", {**typed, **old})
    newer = {**typed, **term_form(text("landlords/")), "share_pct": "30"}
    answer = client.post(f"{AT}landlords/term/", newer)
    assert (answer.status_code, "it corrects what was agreed" in answer.text) == (422, True)
    assert "bears 25 % of everything else of" in answer.text
    answer = client.post(f"{AT}landlords/term/", {**newer, **old, "corrects": "yes"})
    assert answer.status_code == 422, "what it corrects was not seen"
    assert LandlordTerm.objects.get().share_pct == 25
    anew = {**newer, **term_form(answer.text), "corrects": "yes"}
    assert client.post(f"{AT}landlords/term/", anew).status_code == 302
    assert [str(one.share_pct.normalize()) for one in LandlordTerm.objects.order_by("pk")] == ["25", "3E+1"]
    assert client.post(f"{AT}landlords/term/", {**anew, **old}).status_code == 302, "the same is kept already"


def test_a_charge_from_a_page_left_open_says_why_nothing_was_charged(books: Yard) -> None:
    client = signed_in("bo")
    typed = {"season": str(Season.objects.get().pk), "landlord": "Estate of Quill", "share_pct": "50"}
    client.post(f"{AT}landlords/term/", typed)
    asked = {"landlord": "Estate of Quill", "crop_year": "2026", "last_on": "2026-06-04", "why": "half"}
    client.post(f"{AT}landlords/charge/", {**asked, "client_id": str(uuid.uuid4())})
    answer = client.post(f"{AT}landlords/charge/", {**asked, "client_id": str(uuid.uuid4())})
    assert answer.status_code == 422
    says = "Nothing was charged. Estate of Quill bears nothing of crop year 2026 through June 4, 2026"
    assert says in answer.text
    assert "stands at its box" not in answer.text


def test_what_was_charged_too_much_is_said_as_less_to_pay(books: Yard) -> None:
    client, season = signed_in("bo"), Season.objects.get()
    asked = {"landlord": "Estate of Quill", "crop_year": "2026", "last_on": "2026-06-04", "why": "half"}
    for pct in ("50", "20"):
        term = {"farm": books.farm, "season": season, "landlord": "Estate of Quill", "now": clock.now()}
        set_landlord_term(**term, share_pct=pct, corrects=True)
        form = {**asked, "client_id": str(uuid.uuid4())}
        page = client.post(f"{AT}landlords/charge/", form, follow=True).text
    says = "Estate of Quill owes the farm $30.00 less: more had been charged than Estate of Quill bears."
    assert says in page


def test_a_charge_of_nothing_is_refused_at_its_box(books: Yard) -> None:
    typed = {"season": str(Season.objects.get().pk), "landlord": "Estate of Quill", "share_pct": "5"}
    client = signed_in("bo")
    client.post(f"{AT}landlords/term/", typed)
    asked = {"landlord": "Estate of Quill", "crop_year": "2026", "last_on": "2026-06-05", "why": "x"}
    asked["client_id"] = str(uuid.uuid4())
    answer = client.post(f"{AT}landlords/charge/", asked)
    assert (answer.status_code, "June 5, 2026 has not come yet." in answer.content.decode()) == (422, True)
    assert client.post(f"{AT}landlords/charge/", {**asked, "client_id": "x"}).status_code == 404
    assert signed_in("rosa").post(f"{AT}landlords/charge/", asked).status_code == 403
    assert not Line.objects.filter(account=Account.LANDLORDS_OWE).exists()
