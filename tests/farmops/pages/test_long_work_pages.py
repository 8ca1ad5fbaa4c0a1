"""The pages of long work: how far it is, calling it off, how it ended, and the files that it leaves."""

import datetime as dt
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.core.models import LongWork, LongWorkState, User
from farmops.desk import long_exports
from farmops.desk.long_exports import JOURNAL
from farmops.desk.long_work import PLAN
from ledger.services.bills import enter_bill
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import Yard, signed_in

AT = "/farms/heron-slough/"
PART = {"HTTP_HX_REQUEST": "true"}


def work_of(yard: Yard, **facts: object) -> LongWork:
    asked = {"first_on": "2026-04-20", "seconds": 8}
    now = clock.now()
    boss = User.objects.get(username="mona")
    row = {"farm": yard.farm, "kind": PLAN, "key": "one", "asked": asked, "asked_by": boss, "asked_at": now}
    return LongWork.objects.create(**row | facts)


def test_planning_is_watched_and_called_off_by_whoever_plans_and_nobody_else(yard: Yard) -> None:
    now = clock.now()
    work = work_of(
        yard, state=LongWorkState.UNDER_WAY, done=420, of=1000, words="searching for a cheaper plan"
    )
    page = f"{AT}long-work/{work.pk}/"
    client = signed_in("mona")
    whole = client.get(page).content.decode()
    assert "Planning anew from Monday, April 20: under way." in whole
    assert '<progress max="100" value="42"' in whole
    assert '<noscript><meta http-equiv="refresh"' in whole
    part = client.get(page, **PART).content.decode()
    assert "Searching for a cheaper plan. 25 percent done." in part
    assert "<html" not in part
    assert client.get(f"{AT}long-work/").content.decode().count("42 %") == 1
    for other in ("bo", "rosa"):
        assert signed_in(other).get(page).status_code in (403, 404)
        assert signed_in(other).post(f"{page}call-off/").status_code in (403, 404)
    work.refresh_from_db()
    assert work.call_off_at is None
    told = client.post(f"{page}call-off/", follow=True).content.decode()
    assert "It is being called off, at its next step." in told
    assert "Call it off" not in told
    LongWork.objects.update(state=LongWorkState.CALLED_OFF, ended_at=now)
    ended = client.get(page, **PART)
    assert (ended["HX-Retarget"], ended["HX-Reswap"]) == ("#work", "outerHTML")
    assert "called off, and nothing of it is kept." in ended.content.decode()
    assert "refresh" not in client.get(page).content.decode()


def test_each_end_says_what_to_do_next(yard: Yard) -> None:
    over = {"ended_at": clock.now()}
    client = signed_in("mona")

    def told(**facts: object) -> str:
        work = work_of(yard, **over | facts)
        return client.get(f"{AT}long-work/{work.pk}/").content.decode()

    assert "Plan 7 is made. Read it, then send it." in told(state="finished", result={"plan": 7})
    assert "it stopped unexpectedly, and nothing of it is kept. Press again." in told(state="stopped")
    assert "an error of the program ended it" in told(state="failed")
    late = told(state="refused", says="2026-04-19 is over; a plan starts on 2026-04-20 at the earliest.")
    assert "April 19, 2026 is over; a plan starts on April 20, 2026 at the earliest." in late
    rules = [["pond-40/disk", "leave_cents", "It must be done in these days, but: It is shut."]]
    clash = work_of(yard, state="refused", code="no_plan", result={"rules": rules, "is_proved": True}, **over)
    assert "No plan keeps every rule." in client.get(f"{AT}long-work/{clash.pk}/").content.decode()
    shown = client.get(f"{AT}long-work/{clash.pk}/clash/")
    assert "It must be done in these days" in shown.content.decode()


def test_the_list_asks_as_often_however_long_it_is(yard: Yard) -> None:
    client, counts = signed_in("mona"), []
    for size in (2, 9):
        for number in range(size):
            work_of(yard, state="finished", result={"plan": number}, ended_at=clock.now())
        with CaptureQueriesContext(connection) as asked:
            client.get(f"{AT}long-work/")
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_large_file_is_written_beside_the_pages_and_is_the_same_file(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    bill = {"payee": "Plain Mutual", "bill_on": dt.date(2026, 4, 20), "amount_usd": "1100.01"}
    now = clock.now()
    enter_bill(farm=yard.farm, client_id=uuid.uuid4(), category="insurance", now=now, **bill)
    post_pending(now=now)
    client = signed_in("bo")
    at_once = b"".join(client.get(f"{AT}journal.csv"))
    assert "Have it written" not in client.get(f"{AT}exports/").content.decode()
    monkeypatch.setattr(long_exports, "MOST_AT_ONCE", -1)
    page = client.get(f"{AT}journal.csv", follow=True).content.decode()
    assert "have it written here, and fetch it when it is ready" in page
    assert page.count("Have it written</button>") == 3
    days = {"from": "2026-01-01", "to": "2026-12-31"}
    done = client.post(f"{AT}exports/write/", {"what": JOURNAL, **days}, follow=True).content.decode()
    work = LongWork.objects.get()
    assert "The whole journal as a file is written:" in done
    file = client.get(f"{AT}long-work/{work.pk}/file/")
    assert b"".join(file) == at_once
    manifest = client.get(f"{AT}long-work/{work.pk}/file/?manifest=yes").json()
    assert (manifest["file"], int(manifest["bytes"])) == ("heron-slough-journal.csv", len(at_once))
    assert client.post(f"{AT}exports/write/", {"what": "all", **days}).status_code == 404
