"""What each page says, to whom, and what its forms do."""

import datetime as dt
import re
import uuid

import pytest
from django.test import Client

from farmops.core import clock, jobs, long_work_run
from farmops.core.models import JobRun, LongWork, User
from farmops.farms.models import Membership
from scheduling.models import PassState, SaySo, WeekPlan
from tests.factories import make_farm, make_field
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.scheduling.ground import make_dry_spring

HOUR = dt.timedelta(hours=1)

ADDRESSES = (
    "morning/",
    "week/",
    "fleet/",
    "links/",
    "fields/",
    "fields/pond-40/",
    "day/",
    "bills/",
    "payees/",
    "stock/",
    "periods/",
    "share-outs/",
    "machine-years/",
    "trial-balance/",
    "accounts/bank/",
    "general-ledger.csv",
    "journal.csv",
    "schedule-f/",
    "schedule-f.csv",
    "landlords/",
    "costs/",
    "costs/pond-40/",
    "cost-lines/",
    "budgets/",
    "costs/as/csv/",
    "exports/",
    "long-work/",
)
FILES = {"costs/as/csv/", "general-ledger.csv", "journal.csv", "schedule-f.csv"}
MAY_SEE = {
    "mona": {
        "morning/",
        "week/",
        "fleet/",
        "links/",
        "fields/",
        "fields/pond-40/",
        "bills/",
        "payees/",
        "stock/",
        "periods/",
        "share-outs/",
        "machine-years/",
        "trial-balance/",
        "accounts/bank/",
        "general-ledger.csv",
        "journal.csv",
        "schedule-f/",
        "schedule-f.csv",
        "landlords/",
        "costs/",
        "costs/pond-40/",
        "cost-lines/",
        "budgets/",
        "costs/as/csv/",
        "exports/",
        "long-work/",
    },
    "bo": {
        "bills/",
        "payees/",
        "stock/",
        "periods/",
        "share-outs/",
        "machine-years/",
        "trial-balance/",
        "accounts/bank/",
        "general-ledger.csv",
        "journal.csv",
        "schedule-f/",
        "schedule-f.csv",
        "landlords/",
        "costs/",
        "costs/pond-40/",
        "cost-lines/",
        "budgets/",
        "costs/as/csv/",
        "exports/",
        "long-work/",
    },
    "rosa": {"day/"},
}


@pytest.mark.parametrize("name", MAY_SEE)
def test_each_role_sees_its_own_pages_and_no_other(yard: Yard, name: str) -> None:
    client = signed_in(name)
    seen = {}
    for address in ADDRESSES:
        answer = client.get(f"/farms/{yard.farm.code}/{address}")
        seen[address] = answer.status_code
        if answer.streaming:
            assert b"".join(answer.streaming_content)  # read to its end, a file is closed
    assert seen == {address: 200 if address in MAY_SEE[name] else 403 for address in ADDRESSES}


@pytest.mark.parametrize("address", ADDRESSES)
def test_another_farms_pages_do_not_exist(yard: Yard, address: str) -> None:
    other = make_farm("other-bend")
    make_field(other)
    assert signed_in("mona").get(f"/farms/other-bend/{address}").status_code == 404


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_stranger_is_asked_to_sign_in(yard: Yard, address: str) -> None:
    answer = Client().get(f"/farms/{yard.farm.code}/{address}")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in/")


def test_signing_in_leads_to_what_the_role_opens_with(yard: Yard) -> None:
    for name, place in (("mona", "week"), ("bo", "costs"), ("rosa", "day")):
        client = Client()
        answer = client.post("/sign-in/", {"username": name, "password": "x" * 12}, follow=True)
        assert answer.redirect_chain[-1][0] == f"/farms/heron-slough/{place}/"


def test_somebody_without_a_farm_is_told_whom_to_ask(db: None) -> None:
    User.objects.create_user("nobody", password="x" * 12)
    page = signed_in("nobody").get("/").content.decode()
    assert "Ask the farm" in page


def test_the_week_counts_each_pass_that_is_left_but_one_whose_acres_are_all_reported(yard: Yard) -> None:
    """Two of the reasons begin with the same word."""
    reasons = {
        "hill-20/disk": "All outfits that could do it are taken by other work, or on the road, in the hours it is open.",
        "mill-9/disk": "All 20.00 acres are reported: say that it is finished, or correct a record.",
    }
    yard.plan.plan["left"] += [{"id": key, "why": why} for key, why in reasons.items()]
    yard.plan.save()
    assert "One of three passes fits this week." in signed_in("mona").get("/farms/heron-slough/week/").text


def test_the_week_says_it_first(yard: Yard) -> None:
    page = signed_in("mona").get("/farms/heron-slough/week/").content.decode()
    assert "One of two passes fits this week." in page
    assert "8:00 am to 1:00 pm" in page
    assert "tractor-1 + disk-1" in page
    assert "The soil is too cold." in page
    assert "open, 90 in 100" in page
    assert "shut: sticks to the boot: 0.21" in page


def test_no_page_needs_inline_style_or_script(yard: Yard) -> None:
    for name, addresses in MAY_SEE.items():
        for address in addresses - FILES:
            answer = signed_in(name).get(f"/farms/heron-slough/{address}")
            page = answer.content.decode()
            assert not re.search(r"\sstyle=|<style|<script(?! src=./static/pages/)|\son\w+=", page), address
            assert "default-src 'none'" in answer["Content-Security-Policy"]


def word_typed(**typed: str) -> dict[str, str]:
    return {"client_id": str(uuid.uuid4()), "day": "2026-04-21", **typed}


def test_the_growers_word_is_kept(yard: Yard) -> None:
    answer = signed_in("mona").post(
        "/farms/heron-slough/fields/pond-40/say/",
        word_typed(word="after", after_at="10:30"),
        follow=True,
    )
    page = answer.content.decode()
    assert "not before 10:30 am" in page
    said = SaySo.objects.get()
    assert (said.word, str(said.after_at)) == ("after", "10:30:00")


def test_a_word_that_makes_no_sense_is_answered_with_a_sentence(yard: Yard) -> None:
    for typed, says in (
        ({"word": "after"}, "Give the hour."),
        ({"day": "soon", "word": "fit"}, "“soon” is not a day."),
        ({"word": "maybe"}, "Say fit, not before an hour, or not today."),
    ):
        answer = signed_in("mona").post("/farms/heron-slough/fields/pond-40/say/", word_typed(**typed))
        assert answer.status_code == 422
        assert says in answer.content.decode()
    assert not SaySo.objects.exists()


def test_pages_that_change_things_refuse_get(yard: Yard) -> None:
    client = signed_in("mona")
    notes = [f"fields/pond-40/{form}/" for form in ("say", "gauge", "thermometer", "remark")]
    for address in ("week/plan/", "week/1/send/", *notes):
        assert client.get(f"/farms/heron-slough/{address}").status_code == 302


def test_what_a_plan_left_is_told_by_names_not_by_keys(yard: Yard) -> None:
    yard.plan.plan["left"] = [
        {"id": "pond-40/plant", "why": "It waits for pond-40/disk-2, which is left."},
        {"id": "pond-40/disk-2", "why": "What it waits for ends too late."},
    ]
    yard.plan.save()
    page = signed_in("mona").get("/farms/heron-slough/week/").content.decode()
    assert "Pond 40: disk again" in page
    assert "So these wait too: plant." in page
    assert "pond-40/disk-2" not in page


def test_one_reason_for_many_passes_stands_on_the_page_once(yard: Yard) -> None:
    yard.plan.plan["left"] = [
        {"id": "pond-40/disk-2", "why": "Tractor 1 is down."},
        {"id": "pond-40/spray", "why": "Tractor 1 is down."},
    ]
    yard.plan.save()
    page = signed_in("mona").get("/farms/heron-slough/week/").content.decode()
    assert page.count("Tractor 1 is down.") == 1
    assert "Pond 40: disk again" in page
    assert "Pond 40: spray" in page


def test_a_plan_whose_days_are_over_says_so(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    for now, is_over in ((MONDAY + dt.timedelta(days=6), False), (MONDAY + dt.timedelta(days=7), True)):
        monkeypatch.setattr(clock, "now", lambda now=now: now)
        page = signed_in("mona").get("/farms/heron-slough/week/").content.decode()
        assert ("it ended on Sunday, April 26, 2026" in page) is is_over


def test_pressing_twice_makes_one_plan(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both presses come to the page of the one plan that is being worked out; an old page, to the plan made since."""
    monkeypatch.setattr(long_work_run, "at_once", lambda work_id: None)
    address = "/farms/heron-slough/week/plan/"
    typed = {"first_on": clock.local_date(clock.now(), yard.farm.zone).isoformat(), "seen": "1"}
    for _press in range(2):
        page = signed_in("mona").post(address, typed, follow=True).content.decode()
        assert "It waits for its turn." in page
    assert LongWork.objects.count() == 1
    page = signed_in("mona").post(address, typed | {"seen": "0"}, follow=True).content.decode()
    assert "Plan 1 was made meanwhile" in page
    assert (WeekPlan.objects.count(), LongWork.objects.count()) == (1, 1)


def test_a_claim_is_free_again_when_it_was_given_back_or_left_lying(db: None) -> None:
    first = MONDAY
    assert jobs.claim(job="plan", slot=1, now=first, stale_after=HOUR)
    assert not jobs.claim(job="plan", slot=1, now=first + HOUR / 2, stale_after=HOUR)
    assert jobs.claim(job="plan", slot=1, now=first + HOUR, stale_after=HOUR)
    jobs.give_back(job="plan", slot=1)
    assert jobs.claim(job="plan", slot=1, now=first + HOUR, stale_after=HOUR)


def test_a_plan_that_cannot_be_is_refused_by_names_and_may_be_asked_for_again(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard.field_pass.leave_cents = None
    yard.field_pass.due_on = MONDAY.date()
    yard.field_pass.save()
    make_dry_spring(yard.farm)
    yard.hand.away.create(farm=yard.farm, first_on=MONDAY.date(), last_on=dt.date(2026, 5, 20))
    monkeypatch.setattr(clock, "now", lambda: MONDAY)
    for _time in range(2):
        typed = {"first_on": "2026-04-20", "seen": "1"}
        page = signed_in("mona").post("/farms/heron-slough/week/plan/", typed, follow=True).content.decode()
        assert "No plan keeps every rule" in page
        assert "Disk on Pond 40" in page
    assert not JobRun.objects.exists()


def test_a_week_that_is_over_is_not_planned(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: MONDAY)
    for first_on, says in (
        ("2026-04-19", "April 19, 2026 is over; a plan starts on April 20, 2026 at the earliest."),
        ("2026-06-20", "June 20, 2026 is more than 60 days after April 20, 2026"),
        ("soon", "as a date"),
    ):
        typed = {"first_on": first_on, "seen": "1"}
        page = signed_in("mona").post("/farms/heron-slough/week/plan/", typed, follow=True).content.decode()
        assert says in page.partition('id="wrong-first_on"')[2].partition("</span>")[0]
        box = page.partition('<input id="first_on"')[2].partition(">")[0]
        assert f'value="{first_on}"' in box, "what was typed"
        assert 'aria-invalid="true" aria-describedby="wrong-first_on" autofocus' in box
    assert WeekPlan.objects.count() == 1


def test_a_day_from_which_no_plan_came_stands_in_its_box_again(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is wrong with the day: there is nothing to plan. So the reason stands above, and no box is wrong."""
    monkeypatch.setattr(clock, "now", lambda: MONDAY)
    make_dry_spring(yard.farm)
    yard.field_pass.state = PassState.CALLED_OFF
    yard.field_pass.save()
    typed = {"first_on": "2026-04-23", "seen": "1"}
    page = signed_in("mona").post("/farms/heron-slough/week/plan/", typed, follow=True).content.decode()
    assert "has no pass that is still to be done." in page
    box = page.partition('<input id="first_on"')[2].partition(">")[0]
    assert 'value="2026-04-23"' in box
    assert "aria-invalid" not in box
    work = LongWork.objects.get()
    again = signed_in("mona").get(f"/farms/heron-slough/long-work/{work.pk}/").content.decode()
    assert "?first_on=2026-04-23#plan-again" in again


def test_a_word_on_a_day_years_off_is_a_slip_of_the_pen(yard: Yard) -> None:
    address = "/farms/heron-slough/fields/pond-40/say/"
    page = signed_in("mona").post(address, word_typed(day="0026-04-20", word="fit")).content.decode()
    assert "more than a year off" in page
    assert not SaySo.objects.exists()


def test_english_pages_stay_english_in_a_spanish_browser(yard: Yard) -> None:
    make_dry_spring(yard.farm)
    client = signed_in("mona")
    page = client.get("/farms/heron-slough/fields/pond-40/", HTTP_ACCEPT_LANGUAGE="es").content.decode()
    assert "Weather is known to Sunday, April 19, 2026" in page


def test_a_farm_with_nothing_on_it_says_what_is_missing(db: None) -> None:
    farm = make_farm()
    user = User.objects.create_user("mona", password="x" * 12)
    Membership.objects.create(farm=farm, user=user, role="manager")
    client = signed_in("mona")
    page = client.get("/farms/heron-slough/week/").content.decode()
    for what in (
        "Fields with their boundaries.",
        "Passes that wait, from an order of work.",
        "The weather of the last months.",
    ):
        assert f"<li>{what}</li>" in page
    assert 'href="/farms/heron-slough/start/">Go on setting the farm up</a>' in page
    assert "No field is described yet." in client.get("/farms/heron-slough/fields/").content.decode()
    assert "No field has cost anything yet." in client.get("/farms/heron-slough/costs/").content.decode()


def test_a_page_that_is_not_yours_or_not_there_leads_back(yard: Yard) -> None:
    for address, status in (("week/", 403), ("costs/nope/", 404)):
        answer = signed_in("bo").get(f"/farms/heron-slough/{address}")
        assert answer.status_code == status
        assert '<a href="/">' in answer.content.decode()


def test_a_form_without_its_token_is_refused_with_a_way_on(yard: Yard) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(User.objects.get(username="mona"))
    answer = client.post("/farms/heron-slough/week/plan/", {"first_on": "2026-04-20"})
    assert answer.status_code == 403
    assert "Send it once more from there." in answer.content.decode()


def test_a_page_is_kept_for_its_reader_alone_and_forgotten_when_he_signs_out(yard: Yard) -> None:
    client = signed_in("mona")
    for path in ("bills/", "costs/", "schedule-f.csv", "morning/", "week/", "payees/"):
        answer = client.get(f"/farms/heron-slough/{path}")
        assert answer.headers["Cache-Control"] == "private, no-cache", path
    assert client.post("/sign-out/").headers["Clear-Site-Data"] == '"cache"'
