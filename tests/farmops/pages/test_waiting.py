"""The page of waiting reports, pressed as a manager presses it, and photos shown as pictures and nothing else."""

import datetime as dt
import html
import re
import uuid
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from farmops.farms.models import Machine, Membership
from scheduling.models import FieldReport, FuelFill, ParkedReport, ParkedState, WorkRecord
from scheduling.services.photos import keep_photo, photo_path
from scheduling.services.receiving import receive_report
from tests.factories import make_farm, make_hand, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.scheduling import pictures

EVENING = MONDAY + dt.timedelta(hours=19)
HERE = "/farms/heron-slough/waiting/"


@pytest.fixture(autouse=True)
def _evening(monkeypatch: pytest.MonkeyPatch, settings: Any, tmp_path: Path) -> None:
    monkeypatch.setattr("farmops.core.clock.now", lambda: EVENING)
    settings.PHOTO_DIR = str(tmp_path / "photos")


def report(yard: Yard, **body: Any) -> FieldReport:
    """Let Rosa report her disking."""
    sent = {"pass_id": yard.field_pass.pk, "work_on": "2026-04-20", "hours": "5", "done_ac": "20", **body}
    received = receive_report(
        farm=yard.farm,
        hand=yard.hand,
        client_id=uuid.uuid4(),
        kind="work",
        body=sent,
        sent_by=None,
        now=EVENING,
    )
    return received.report


def boxes(page: str) -> dict[str, str]:
    """Return what the form of the first report would send as it stands."""
    page = page[page.index("<main") :]
    form = page[page.index("/take/") : page.index("</form>", page.index("/take/"))]
    found = dict(re.findall(r'<input name="([^"]+)" value="([^"]*)"', form))
    for name, rest in re.findall(r'<select name="([^"]+)">(.*?)</select>', form, re.S):
        found[name] = (re.findall(r'value="([^"]*)" selected', rest) or [""])[0]
    return found


def test_what_waits_is_shown_with_its_reason_and_what_was_sent(yard: Yard) -> None:
    report(yard, hours="25", stops=[{"cause": "plugged", "minutes": "15"}], note="<b>Hot</b> & dry")
    page = signed_in("mona").get(HERE).content.decode()
    assert "One report waits for you" in page
    assert "would have 25 h 00 min on April 20, 2026" in page
    assert "cause plugged, minutes 15" in page
    assert "&lt;b&gt;Hot&lt;/b&gt; &amp; dry" in page
    assert boxes(page)["value-hours"] == "25"
    assert boxes(page)["value-pass_id"] == str(yard.field_pass.pk)


def test_passes_of_one_name_are_told_apart_by_their_part_and_their_acres(yard: Yard) -> None:
    season = yard.field_pass.season
    make_pass(season, "plant", area_ac=Decimal("22.5"))
    make_pass(season, "plant", turn=2, area_ac=Decimal(9))
    make_pass(season, "plant", turn=1, part="strip", area_ac=Decimal(4))
    other = make_season(yard.field, part="north")
    make_pass(other, "plant", area_ac=Decimal(15))
    report(yard, hours="25")
    page = signed_in("mona").get(HERE).content.decode()
    offered = re.findall(r">(Pond 40 plant[^<]*)<", page)
    assert len(offered) == len(set(offered)) == 4
    assert any("(strip)" in one for one in offered)
    assert [one.rpartition(", ")[2] for one in offered if one.endswith("acres")] == ["22.5 acres", "15 acres"]


def test_what_is_named_by_a_code_is_chosen_by_its_name(yard: Yard) -> None:
    """A fill-up names a machine that the farm does not have; the manager picks the one that it has, by its name."""
    sent = {"machine": "tractor-77", "gallons": "50"}
    received = receive_report(
        farm=yard.farm,
        hand=yard.hand,
        client_id=uuid.uuid4(),
        kind="fuel",
        body=sent,
        sent_by=None,
        now=EVENING,
    )
    assert received.parked is not None
    page = signed_in("mona").get(HERE).content.decode()
    assert '<option value="tractor-77" selected>tractor-77, not known</option>' in page
    tractor = Machine.objects.get(farm=yard.farm)
    assert f'<option value="{tractor.code}">{tractor.name}</option>' in page
    typed = {**boxes(page), "value-machine": tractor.code, "note": ""}
    signed_in("mona").post(f"{HERE}{received.parked.pk}/take/", typed)
    assert FuelFill.objects.get().machine == tractor


def test_a_spraying_without_a_license_says_how_it_gets_one(yard: Yard) -> None:
    sent = {
        "field": yard.field.code,
        "started_at": "2026-04-20T08:00",
        "ended_at": "2026-04-20T10:00",
        "treated_ac": "40",
        "crop": "cotton",
        "reentry_h": "12",
        "products": [
            {"name": "bed fumigant", "rate": "1", "total": "40", "unit": "gal", "restricted": True},
        ],
    }
    receive_report(
        farm=yard.farm,
        hand=yard.hand,
        client_id=uuid.uuid4(),
        kind="spray",
        body=sent,
        sent_by=None,
        now=EVENING,
    )
    page = signed_in("mona").get(HERE).content.decode()
    assert "name bed fumigant, rate 1, restricted-use yes, total 40, unit gal" in page
    assert "write the record down in that name, then set this one aside" in page
    assert Document(page).wrong == []


def test_the_morning_says_how_many_reports_wait(yard: Yard) -> None:
    there, morning = signed_in("mona"), "/farms/heron-slough/morning/"
    assert "from the field" not in there.get(morning).content.decode()
    report(yard, hours="25")
    assert "1 report from the field waits for you" in there.get(morning).content.decode()
    report(yard, hours="26")
    assert "2 reports from the field wait for you" in there.get(morning).content.decode()


def test_a_report_is_taken_over_with_what_was_corrected(yard: Yard) -> None:
    report(yard, hours="25")
    parked = ParkedReport.objects.get()
    there = signed_in("mona")
    sent = {**boxes(there.get(HERE).content.decode()), "value-hours": "9", "note": "Asked her."}
    page = there.post(f"{HERE}{parked.pk}/take/", sent, follow=True).content.decode()
    assert "No report waits for you" in page
    assert "Asked her. Hours: 25 → 9" in page
    record = WorkRecord.objects.get()
    assert (record.hand_min, record.recorded_by.username) == (540, "mona")


def test_what_is_still_wrong_stands_at_the_report_with_what_was_typed(yard: Yard) -> None:
    report(yard, hours="25")
    parked = ParkedReport.objects.get()
    there = signed_in("mona")
    sent = {**boxes(there.get(HERE).content.decode()), "value-hours": "26", "note": "Why?"}
    answer = there.post(f"{HERE}{parked.pk}/take/", sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "26 h 00 min" in page
    assert (boxes(page)["value-hours"], boxes(page)["note"]) == ("26", "Why?")
    assert WorkRecord.objects.count() == 0


def test_a_report_is_set_aside_with_a_reason_and_not_without(yard: Yard) -> None:
    report(yard, hours="25")
    parked = ParkedReport.objects.get()
    there = signed_in("mona")
    assert there.post(f"{HERE}{parked.pk}/aside/", {"note": " "}).status_code == 422
    there.post(f"{HERE}{parked.pk}/aside/", {"note": "A test."})
    parked.refresh_from_db()
    assert (parked.state, parked.settled_note) == (ParkedState.SET_ASIDE, "A test.")
    again = there.post(f"{HERE}{parked.pk}/take/", {"value-hours": "9"}, follow=True).content.decode()
    assert "This report was settled before" in again
    assert WorkRecord.objects.count() == 0


def test_what_came_twice_is_counted_once_or_twice_as_the_manager_says(yard: Yard) -> None:
    for _time in range(2):
        report(yard, starts="08:00", hours="2", done_ac="5")
    parked = ParkedReport.objects.get()
    there = signed_in("mona")
    page = there.get(HERE).content.decode()
    assert "It is kept and counts" in page
    there.post(f"{HERE}{parked.pk}/aside/", {"note": "Sent twice."})
    standing = WorkRecord.objects.filter(superseded_by__isnull=True)
    assert sorted(standing.values_list("hand_min", flat=True)) == [0, 120]


@pytest.mark.parametrize(("who", "status"), [("bo", 403), ("rosa", 403), (None, 302)])
def test_nobody_but_the_manager_settles_reports(yard: Yard, who: str | None, status: int) -> None:
    report(yard, hours="25")
    parked = ParkedReport.objects.get()
    there = Client() if who is None else signed_in(who)
    answers = [
        there.get(HERE),
        there.post(f"{HERE}{parked.pk}/take/", {"value-hours": "9"}),
        there.post(f"{HERE}{parked.pk}/aside/", {"note": "x"}),
    ]
    assert [answer.status_code for answer in answers] == [status] * 3
    assert signed_in("mona").get(f"{HERE}{parked.pk}/take/").status_code == 302


def test_a_report_of_another_farm_is_not_there(yard: Yard) -> None:
    there = make_farm("cane-fork")
    received = receive_report(
        farm=there,
        hand=make_hand(there, "odell"),
        client_id=uuid.uuid4(),
        kind="day",
        body={"work_on": "2026-04-20", "worked_hours": "30"},
        sent_by=None,
        now=EVENING,
    )
    assert received.parked is not None
    boss = signed_in("mona")
    assert boss.post(f"{HERE}{received.parked.pk}/aside/", {"note": "x"}).status_code == 404
    assert boss.post(f"{HERE}{received.parked.pk}/take/", {}).status_code == 404


def test_a_photo_is_shown_as_a_picture_and_as_nothing_else(yard: Yard) -> None:
    photo, _ = keep_photo(
        report=report(yard, hours="25"),
        client_id=uuid.uuid4(),
        content=pictures.page_in_a_picture(),
        now=EVENING,
    )
    address = f"/farms/heron-slough/photos/{photo.pk}/"
    for who in ("mona", "bo", "rosa"):
        answer = signed_in(who).get(address)
        assert answer.content == photo_path(photo.stored_as).read_bytes()
        assert (answer["Content-Type"], answer["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
        assert "sandbox" in answer["Content-Security-Policy"]
        assert "default-src 'none'" in answer["Content-Security-Policy"]
        assert "private" in answer["Cache-Control"]
    assert f'src="{address}"' in signed_in("mona").get(HERE).content.decode()


def test_a_photo_of_somebody_else_and_one_that_is_gone_are_not_there(yard: Yard) -> None:
    photo, _ = keep_photo(
        report=report(yard), client_id=uuid.uuid4(), content=pictures.picture(), now=EVENING
    )
    address = f"/farms/heron-slough/photos/{photo.pk}/"
    Membership.objects.filter(user__username="rosa").update(hand=make_hand(yard.farm, "odell"))
    assert signed_in("rosa").get(address).status_code == 404
    photo_path(photo.stored_as).unlink()
    assert signed_in("mona").get(address).status_code == 404


def test_the_page_is_whole_with_every_kind_of_report_and_with_a_form_that_was_refused(yard: Yard) -> None:
    long = report(yard, hours="25", puncture={"met": "wire"}, stops=[{"cause": "wet", "minutes": "5"}])
    keep_photo(report=long, client_id=uuid.uuid4(), content=pictures.picture(), now=EVENING)
    for _time in range(2):
        report(yard, hours="1", done_ac="1")
    there = signed_in("mona")
    assert Document(there.get(HERE).content.decode()).wrong == []
    parked = ParkedReport.objects.get(report=long)
    refused = there.post(f"{HERE}{parked.pk}/take/", {"value-hours": "9\0", "note": "x"})
    assert (refused.status_code, Document(refused.content.decode()).wrong) == (422, [])


@pytest.mark.parametrize(
    "typed",
    [
        {"value-hours": "1e9999999"},
        {"value-hours": "٣"},
        {"value-pass_id": "9" * 600},
        {"value-pass_id": "-1"},
        {"value-work_on": "0001-01-01"},
        {"value-starts": "24:00"},
        {"value-note": "a\u202eb"},
        {"value-note": "x" * 6000},
        {"value-hours": ""},
        {"note": "\0"},
    ],
)
def test_odd_values_are_told_and_the_report_goes_on_waiting(yard: Yard, typed: dict[str, str]) -> None:
    report(yard, hours="25", note="as it was")
    parked = ParkedReport.objects.get()
    sent = {"value-hours": "9", "value-done_ac": "", **typed}
    answer = signed_in("mona").post(f"{HERE}{parked.pk}/take/", sent)
    parked.refresh_from_db()
    assert (answer.status_code in (404, 422), parked.state) == (True, ParkedState.WAITING)
    assert WorkRecord.objects.count() == 0
    assert signed_in("mona").post(f"{HERE}{10**30}/take/", sent).status_code == 404


def test_the_hand_reads_what_the_manager_did_and_said(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    report(yard, hours="25")
    report(yard, hours="26")
    taken, aside = ParkedReport.objects.order_by("pk")
    there = signed_in("mona")
    there.post(f"{HERE}{taken.pk}/take/", {"value-hours": "9", "note": "<b>9, I was there."})
    there.post(f"{HERE}{aside.pk}/aside/", {"note": "A test."})
    day = html.unescape(signed_in("rosa").get("/farms/heron-slough/day/").content.decode())
    assert "El jefe revisó sus reportes (2)" in day
    assert (
        "Pond 40, rastrear, lunes 20 de abril: guardado; Sus horas: 9, no 25; el jefe dice: <b>9, I was there."
        in day
    )
    assert "Pond 40, rastrear, lunes 20 de abril: no cuenta; el jefe dice: A test." in day
    assert "<b>9" not in signed_in("rosa").get("/farms/heron-slough/day/").content.decode()
    monkeypatch.setattr("farmops.core.clock.now", lambda: EVENING + dt.timedelta(days=8))
    day = signed_in("rosa").get("/farms/heron-slough/day/?day=2026-04-20").content.decode()
    assert "El jefe revisó" not in day
