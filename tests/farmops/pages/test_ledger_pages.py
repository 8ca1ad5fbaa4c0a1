"""The pages of the trial balance, of an account and of an entry."""

import csv
import datetime as dt
import hashlib
import io
import json
import re
import uuid

import pytest
from django.db import connection

from farmops.core import clock, guards
from ledger.models import Entry
from ledger.services.bills import enter_bill
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import Yard, signed_in

NOON = dt.datetime(2026, 6, 4, 16, tzinfo=dt.UTC)
AT = "/farms/heron-slough/"


@pytest.fixture
def books(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    """A farm in June whose books hold two bills of April, one of them paid, with a payee that tries to be a formula."""
    monkeypatch.setattr(clock, "now", lambda: NOON)
    for payee, amount, paid in (("Plain Mutual", "1100.01", None), ("=1+1", "10.00", dt.date(2026, 4, 22))):
        enter_bill(
            farm=yard.farm,
            client_id=uuid.uuid4(),
            payee=payee,
            bill_on=dt.date(2026, 4, 20),
            amount_usd=amount,
            category="insurance",
            paid_on=paid,
            check_no="1001" if paid else "",
            now=NOON,
        )
    post_pending(now=NOON)
    return yard


def text(address: str, **asked: str) -> str:
    answer = signed_in("bo").get(f"{AT}{address}", asked)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_trial_balance_says_it_first_and_leads_to_each_account(books: Yard) -> None:
    page = text("trial-balance/")
    assert "The books balance: $1,110.01 on each side through June 4, 2026." in page
    assert "accounts/bills_owed/?from=2026-01-01&amp;to=2026-06-04" in page
    assert Entry.objects.get(number=3).hash in page
    assert "Nothing is booked through April 19, 2026." in text("trial-balance/", through="2026-04-19")


def test_the_trial_balance_is_summed_anew_when_something_is_booked_and_every_minute(
    books: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where a line was changed behind the books' back, with no new head to tell of it."""
    text("trial-balance/")
    enter_bill(
        farm=books.farm, client_id=uuid.uuid4(), payee="Plain Mutual", bill_on=dt.date(2026, 4, 20),
        amount_usd="5.00", category="insurance", paid_on=None, now=NOON,
    )  # fmt: skip
    post_pending(now=NOON)
    assert "The books balance: $1,115.01 on each side" in text("trial-balance/")
    guards.remove(connection)
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE ledger_line SET cents = 1 WHERE id = (SELECT MIN(id) FROM ledger_line WHERE cents > 0)"
        )
    guards.install(connection)
    assert "The books balance" in text("trial-balance/")
    monkeypatch.setattr(clock, "now", lambda: NOON + dt.timedelta(minutes=1))
    assert "The books are out of balance" in text("trial-balance/")


def test_an_account_shows_its_lines_with_the_balance_after_each(books: Yard) -> None:
    page = text("accounts/bills_owed/", **{"from": "2026-04-21", "to": "2026-06-04"})
    assert "Bills owed: −$1,100.01 after June 4, 2026." in page
    assert 'Before: <span class="fig">−$1,110.01</span>. 1 line: <span class="fig">$10.00</span>.' in page
    assert "paid to =1+1 by check 1001" in page
    assert 'href="/farms/heron-slough/entries/3/"' in page


@pytest.mark.parametrize(
    "address",
    [
        "accounts/nope/",
        "accounts/bank/?page=0",
        "accounts/bank/?from=2026-02-30",
        "general-ledger.csv?from=2026-05-01&to=2026-04-01",
        "trial-balance/?through=1066-10-14",
        "entries/99/",
    ],
)
def test_what_is_not_there_is_not_found(books: Yard, address: str) -> None:
    assert signed_in("bo").get(f"{AT}{address}").status_code == 404


@pytest.mark.parametrize("address", ["accounts/bank/", "exports/"])
def test_days_that_end_before_they_begin_are_said_at_the_box_with_what_was_typed(
    books: Yard, address: str
) -> None:
    for first in ("2026-05-02", "2026-05-01"):
        answer = signed_in("bo").get(f"{AT}{address}", {"from": first, "to": "2026-04-01"})
        assert answer.status_code == 422
        day = f"May {int(first[-2:])}, 2026"
        [wrong] = re.findall(r'id="wrong-to" class="wrong" role="alert">(.*?)</span>', answer.text)
        assert wrong == f"The days end on April 1, 2026, before they begin on {day}."
        assert f'name="from" required value="{first}"' in answer.text
        assert 'name="to" required value="2026-04-01" aria-invalid="true"' in answer.text
    page = text(address, **{"from": "2026-04-01", "to": "2026-05-01"})
    assert "wrong-to" not in page
    assert 'name="to" required value="2026-05-01">' in page


def test_the_general_ledger_comes_as_a_file_without_formulas(books: Yard) -> None:
    answer = signed_in("bo").get(f"{AT}general-ledger.csv", {"from": "2026-04-21", "to": "2026-06-04"})
    assert answer["Content-Disposition"].endswith(
        '"heron-slough-general-ledger-2026-04-21-to-2026-06-04.csv"'
    )
    rows = list(csv.DictReader(io.StringIO(b"".join(answer).decode(), newline="")))
    told = [(row["account"], row["entry"], row["amount_usd"], row["balance_usd"]) for row in rows]
    assert told == [
        ("overhead", "", "", "1110.01"),
        ("bills_owed", "", "", "-1110.01"),
        ("bills_owed", "3", "10.00", "-1100.01"),
        ("bank", "", "", "0.00"),
        ("bank", "3", "-10.00", "-10.00"),
    ]
    assert rows[2]["source"].startswith("payment of =1+1")
    assert all(not cell.startswith(("=", "+")) for row in rows for cell in row.values())


@pytest.mark.parametrize(
    ("address", "file"),
    [
        ("journal.csv?", "heron-slough-journal.csv"),
        ("schedule-f.csv?year=2026&", "heron-slough-schedule_f-2026.csv"),
        (
            "general-ledger.csv?from=2026-04-21&to=2026-06-04&",
            "heron-slough-general-ledger-2026-04-21-to-2026-06-04.csv",
        ),
    ],
)
def test_each_file_of_the_books_has_a_manifest_with_the_digest_of_its_bytes(
    books: Yard, address: str, file: str
) -> None:
    client = signed_in("bo")
    body = b"".join(client.get(AT + address))
    answer = client.get(f"{AT}{address}manifest=yes")
    assert answer["Content-Disposition"] == f'attachment; filename="{file}.manifest.json"'
    told = json.loads(b"".join(answer))
    assert (told["file"], told["sha256"]) == (file, hashlib.sha256(body).hexdigest())
    assert told["digest_of_the_last_entry"] == Entry.objects.get(number=3).hash


def test_an_entry_shows_its_lines_and_is_undone_with_a_reason(books: Yard) -> None:
    page = text("entries/1/")
    assert "Entry 1: bill of Plain Mutual April 20, 2026, $1,100.01" in page
    assert "To put a bill right, correct the bill" in page
    assert "none: it is the first" in page
    client = signed_in("bo")
    page = client.post(f"{AT}entries/1/reverse/", {"why": "entered twice"}, follow=True).content.decode()
    assert "Entry 1 was reversed by entry 4." in page
    assert 'It undoes <a href="/farms/heron-slough/entries/1/">entry 1</a> to the cent.' in page
    assert "Undo it" not in page
    assert Entry.objects.filter(number=4, made_by__username="bo").exists()
    page = client.post(f"{AT}entries/1/reverse/", {"why": "entered twice"}, follow=True).content.decode()
    assert "Entry 1 was reversed before." in page
    page = client.post(f"{AT}entries/3/reverse/", {"why": " "}, follow=True).content.decode()
    assert "A reversal needs a reason in words." in page
    assert Entry.objects.count() == 4
    assert client.post(f"{AT}entries/99/reverse/", {"why": "x"}).status_code == 404
    assert client.get(f"{AT}entries/1/reverse/").status_code == 302


def test_a_hand_reverses_nothing(books: Yard) -> None:
    assert signed_in("rosa").post(f"{AT}entries/1/reverse/", {"why": "x"}).status_code == 403
    assert Entry.objects.count() == 3
