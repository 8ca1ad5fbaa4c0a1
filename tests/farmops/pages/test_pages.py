"""What each page says, to whom, and what its forms do."""

import re
import uuid

import pytest
from django.test import Client

from farmops.core.models import User
from farmops.farms.models import Membership
from scheduling.models import HourReading, Incident, SaySo, WorkRecord
from tests.factories import make_farm, make_field
from tests.farmops.pages.conftest import Yard, signed_in

ADDRESSES = ("week/", "fields/", "fields/pond-40/", "day/", "costs/", "costs/pond-40/", "costs/as/csv/")
MAY_SEE = {
    "mona": {"week/", "fields/", "fields/pond-40/", "costs/", "costs/pond-40/", "costs/as/csv/"},
    "bo": {"costs/", "costs/pond-40/", "costs/as/csv/"},
    "rosa": {"day/"},
}


@pytest.mark.parametrize("name", MAY_SEE)
def test_each_role_sees_its_own_pages_and_no_other(yard: Yard, name: str) -> None:
    client = signed_in(name)
    seen = {address: client.get(f"/farms/{yard.farm.code}/{address}").status_code for address in ADDRESSES}
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


def test_the_week_says_it_first(yard: Yard) -> None:
    page = signed_in("mona").get("/farms/heron-slough/week/").content.decode()
    assert "One of two passes fit this week." in page
    assert "8:00 am to 1:00 pm" in page
    assert "tractor-1 + disk-1" in page
    assert "The soil is too cold." in page
    assert "open, 90 in 100" in page
    assert "shut: sticks to the boot: 0.21" in page


def test_no_page_needs_inline_style_or_script(yard: Yard) -> None:
    for name, addresses in MAY_SEE.items():
        for address in addresses - {"costs/as/csv/"}:
            answer = signed_in(name).get(f"/farms/heron-slough/{address}")
            page = answer.content.decode()
            assert not re.search(r"\sstyle=|<style|<script|\son\w+=", page), address
            assert "default-src 'none'" in answer["Content-Security-Policy"]


def test_the_hands_page_speaks_the_hands_language(yard: Yard) -> None:
    page = signed_in("rosa").get("/farms/heron-slough/day/?day=2026-04-20").content.decode()
    assert '<html lang="es">' in page
    assert "Primero Pond 40: rastrear." in page
    assert "Lunes 20 de abril" in page
    assert "2140 Cane Road" in page
    assert "llantero" in page


def test_the_hands_page_opens_on_the_next_day_with_work(yard: Yard) -> None:
    assert "Lunes 20 de abril" in signed_in("rosa").get("/farms/heron-slough/day/").content.decode()


def report(client_id: uuid.UUID, **typed: str) -> dict[str, str]:
    return {"client_id": str(client_id), "day": "2026-04-20", "hours": "5", **typed}


def send(yard: Yard, typed: dict[str, str]) -> tuple[int, str]:
    address = f"/farms/heron-slough/day/report/{yard.field_pass.pk}/"
    answer = signed_in("rosa").post(address, typed, follow=True)
    return answer.status_code, answer.content.decode()


def test_a_report_is_kept_once_with_its_meter_and_puncture(yard: Yard) -> None:
    typed = report(
        uuid.uuid4(),
        meter="2405.2",
        done_ac="40",
        finished="yes",
        puncture="yes",
        met="hueso",
        wheel="trasera",
    )
    for said in ("Reporte guardado. Gracias.", "Este reporte ya estaba guardado."):
        status, page = send(yard, typed)
        assert status == 200
        assert said in page
    record = WorkRecord.objects.get()
    assert (record.hand_min, record.machine_min, record.done_ac, record.is_finished) == (300, 300, 40, True)
    assert record.machine is not None
    assert record.machine.code == "tractor-1"
    assert str(HourReading.objects.get().reading_h) == "2405.2"
    assert Incident.objects.get().met == "hueso"
    yard.field_pass.refresh_from_db()
    assert yard.field_pass.state == "finished"


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"hours": "five"}, "“five” no es un número"),
        ({"hours": "NaN"}, "no es un número"),
        ({"hours": "25"}, "24"),
        ({"meter": "2300"}, "2400.0"),
    ],
)
def test_a_report_that_cannot_be_is_refused_whole_and_keeps_what_was_typed(
    yard: Yard, typed: dict[str, str], says: str
) -> None:
    status, page = send(yard, report(uuid.uuid4(), note="mojado", **typed))
    assert status == 422
    assert says in page
    assert 'value="%s"' % typed.get("hours", "5") in page
    assert not WorkRecord.objects.exists()
    assert not HourReading.objects.exists()


def test_a_hand_cannot_report_on_another_farms_pass(yard: Yard) -> None:
    other = make_farm("other-bend")
    user = User.objects.create_user("odd", password="x" * 12)
    Membership.objects.create(farm=other, user=user, role="manager")
    address = f"/farms/other-bend/day/report/{yard.field_pass.pk}/"
    assert signed_in("rosa").post(address, report(uuid.uuid4())).status_code == 404


def test_the_growers_word_is_kept(yard: Yard) -> None:
    answer = signed_in("mona").post(
        "/farms/heron-slough/fields/pond-40/say/",
        {"day": "2026-04-21", "word": "after", "after_at": "10:30"},
        follow=True,
    )
    page = answer.content.decode()
    assert "after an hour" in page
    said = SaySo.objects.get()
    assert (said.word, str(said.after_at)) == ("after", "10:30:00")


def test_a_word_that_makes_no_sense_is_answered_with_a_sentence(yard: Yard) -> None:
    for typed in ({"day": "2026-04-21", "word": "after"}, {"day": "soon", "word": "fit"}):
        page = (
            signed_in("mona")
            .post("/farms/heron-slough/fields/pond-40/say/", typed, follow=True)
            .content.decode()
        )
        assert 'class="caution"' in page
    assert not SaySo.objects.exists()


def test_pages_that_change_things_refuse_get(yard: Yard) -> None:
    client = signed_in("mona")
    for address in ("week/plan/", "week/1/send/", "fields/pond-40/say/"):
        assert client.get(f"/farms/heron-slough/{address}").status_code == 405
