"""What no page offers and somebody sends all the same: odd numbers, hours and signs, other farms' rows, wrong hands."""

import datetime as dt
import re
import uuid
from decimal import Decimal

import pytest
from django.test import Client

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Membership
from farmops.pages.boxes import read_number
from farmops.weather.models import GaugeReading, SoilReading
from scheduling.models import FieldReport, Remark, SaySo, WeekPlan, WorkRecord
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in

FIELD = "/farms/heron-slough/fields/pond-40/"
SEND = "/farms/heron-slough/day/send/"
MORNING = "/farms/heron-slough/morning/"
HOSTILE_NUMBERS = [
    "1e9999999",
    "-1e9999999",
    "1e-9999999",
    "9" * 600,
    "NaN",
    "sNaN",
    "Infinity",
    "1_0",
    "0x10",
    "4\0",
]
HOSTILE_HOURS = ["08:00+05:00", "08:00Z", "24:00", "T08:00", "08", "8 am", "\0"]
HOSTILE_DAYS = ["0001-01-01", "9999-12-31", "2026-02-30", "2026-04-20T00:00", "\0"]
GOOD = {
    "say": {"day": "2026-04-20", "word": "after", "after_at": "08:00"},
    "gauge": {"day": "2026-04-19", "rain_in": "1"},
    "thermometer": {"day": "2026-04-19", "hour": "08:00", "temp_f": "60", "depth_in": "4"},
    "remark": {"day": "2026-04-19", "hour": "08:00", "what": "too_wet", "operation": "disk", "note": ""},
}
ROWS = (SaySo, GaugeReading, SoilReading, Remark)


@pytest.fixture
def ten(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=10))
    return yard


def typed(form: str, **boxes: str) -> dict[str, str]:
    return {"client_id": str(uuid.uuid4()), **GOOD[form], **boxes}


def morning(yard: Yard, **boxes: str) -> dict[str, str]:
    key = f"{yard.field.pk}"
    return {
        "client_id": str(uuid.uuid4()),
        "day": "2026-04-20",
        "rain_on": "2026-04-19",
        "seen": "1",
        **{f"{name}-{key}": value for name, value in boxes.items()},
    }


def kept() -> int:
    return sum(row._default_manager.count() for row in ROWS)


def wrong_in(page: str, form: str) -> str:
    mine = page.partition(f'id="{form}"')[2].partition("</form>")[0]
    return " ".join(re.findall(r'class="wrong" role="alert">([^<]*)</span>', mine))


@pytest.mark.parametrize(
    ("form", "box", "values"),
    [
        ("gauge", "rain_in", HOSTILE_NUMBERS),
        ("thermometer", "temp_f", HOSTILE_NUMBERS),
        ("thermometer", "depth_in", HOSTILE_NUMBERS),
        ("say", "after_at", HOSTILE_HOURS),
        ("thermometer", "hour", HOSTILE_HOURS),
        ("remark", "hour", HOSTILE_HOURS),
        ("remark", "note", ["\0", "wet\u202eend", "\x07"]),
        *((form, "day", HOSTILE_DAYS) for form in GOOD),
    ],
)
def test_no_sign_of_a_keyboard_is_an_error_of_ours(ten: Yard, form: str, box: str, values: list[str]) -> None:
    client = signed_in("mona")
    for value in values:
        answer = client.post(f"{FIELD}{form}/", typed(form, **{box: value}))
        assert answer.status_code == 422, value
        assert wrong_in(answer.content.decode(), form), value
    assert not kept()


def test_hostile_values_in_the_round_come_back_at_their_boxes(ten: Yard) -> None:
    client = signed_in("mona")
    for value in HOSTILE_NUMBERS:
        answer = client.post(MORNING, morning(ten, rain=value))
        says = "is too large" if value.isdigit() else "is not a number"
        assert (answer.status_code, says in answer.content.decode()) == (422, True), value
    for value in HOSTILE_HOURS:
        answer = client.post(MORNING, morning(ten, word="after", hour=value))
        assert (answer.status_code, "is not an hour" in answer.content.decode()) == (422, True), value
    assert not kept()


def test_hostile_values_in_a_hands_report_are_told_and_keep_nothing(ten: Yard) -> None:
    address = f"{SEND}work/"
    client = Client(headers={"accept": "application/json"})
    client.force_login(User.objects.get(username="rosa"))

    def boxes(**typed: str) -> dict[str, str]:
        known = {"client_id": str(uuid.uuid4()), "day": "2026-04-20", "pass_id": str(ten.field_pass.pk)}
        return {**known, "hours": "2", **typed}

    for box in ("hours", "machine_hours", "meter", "done_ac", "speed_mph", "stop_wet"):
        for value in HOSTILE_NUMBERS:
            answer = client.post(address, boxes(**{box: value}))
            assert answer.status_code == 422, value
            assert re.search("no es un número|tiene un signo que no", answer.json()["detail"]), value
    for box in ("note", "not_done", "too_wet"):
        assert client.post(address, boxes(**{box: "a\0b"})).status_code == 422, box
    for day in HOSTILE_DAYS:
        assert client.post(address, boxes(day=day, too_wet="all")).status_code in (404, 422), day
        assert client.get("/farms/heron-slough/day/", {"day": day}).status_code in (200, 400, 404), day
    assert not WorkRecord.objects.exists()
    assert not FieldReport.objects.exists()
    assert not kept()


def test_a_number_may_have_a_point_a_comma_or_other_digits() -> None:
    told = {
        "0.4": "0.4",
        ",5": "0.5",
        "1,25": "1.25",
        "+2": "2",
        "٤": "4",
        "3.": "3",
        "-0": "0",
        "-1.5": "-1.5",
        "1,234.5": "1234.5",
    }
    assert {text: str(read_number(text)) for text in told} == told
    for text in ("", "1.234.5", "1,23.5", "--1", "²", "½", "1 5", "1234567890"):
        assert read_number(text) is None, text


def test_no_rain_typed_with_a_minus_is_no_rain(ten: Yard) -> None:
    page = (
        signed_in("mona").post(f"{FIELD}gauge/", typed("gauge", rain_in="-0"), follow=True).content.decode()
    )
    assert "Kept: 0.00 in of rain" in page
    assert GaugeReading.objects.get().rain_in == Decimal(0)


def test_a_refusal_names_no_column_of_a_table(ten: Yard) -> None:
    client = signed_in("mona")
    for form, boxes in (
        ("gauge", {"rain_in": "0.004"}),
        ("thermometer", {"temp_f": "60.55"}),
        ("thermometer", {"depth_in": "4.55"}),
        ("remark", {"day": "1979-12-31"}),
        ("remark", {"hour": "23:00", "day": "2026-04-20"}),
    ):
        says = wrong_in(client.post(f"{FIELD}{form}/", typed(form, **boxes)).content.decode(), form)
        assert says
        assert "_" not in says


def test_a_round_left_open_over_night_is_looked_over_before_it_counts(ten: Yard) -> None:
    """A telephone keeps yesterday's page: not today, tapped there this morning, must not be kept for yesterday."""
    stale = morning(ten, word="not_today", rain="0.5") | {"day": "2026-04-19", "rain_on": "2026-04-18"}
    answer = signed_in("mona").post(MORNING, stale)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "This page was that of Sunday, April 19; it is that of Monday, April 20 now." in page
    assert not kept()
    assert 'name="day" value="2026-04-20"' in page
    assert 'name="rain_on" value="2026-04-19" checked' in page
    assert f'name="word-{ten.field.pk}" value="not_today" checked' in page
    assert 'value="0.5"' in page


POSTED = [
    *(f"{FIELD}{form}/" for form in GOOD),
    f"{FIELD}remark/1/back/",
    MORNING,
    "/farms/heron-slough/week/plan/",
]


@pytest.mark.parametrize("address", POSTED)
def test_only_a_manager_of_the_farm_posts(ten: Yard, address: str) -> None:
    other = make_farm("other")
    Membership.objects.create(
        farm=other, user=User.objects.create_user("mac", password="x" * 12), role="manager"
    )
    for name, status in (("rosa", 403), ("bo", 403), ("mac", 404)):
        assert signed_in(name).post(address, {"client_id": str(uuid.uuid4())}).status_code == status, name
    assert Client().post(address)["Location"].startswith("/sign-in/")
    checked = Client(enforce_csrf_checks=True)
    checked.force_login(User.objects.get(username="mona"))
    assert checked.post(address, {"client_id": str(uuid.uuid4())}).status_code == 403
    if address != MORNING:
        assert signed_in("mona").get(address).status_code == 302
    assert not kept()
    assert WeekPlan.objects.count() == 1


def test_rows_of_another_farm_do_not_exist_here(ten: Yard) -> None:
    other = make_farm("other")
    field = make_field(other, "far-10")
    far = make_pass(make_season(field))
    zone = str(field.zones.get().pk)
    remark = Remark.objects.create(
        farm=other,
        client_id=uuid.uuid4(),
        field=field,
        said_at=MONDAY,
        what="too_wet",
        operation="disk",
        recorded_at=MONDAY,
    )
    client = signed_in("mona")
    for form in ("say", "thermometer", "remark"):
        assert client.post(f"{FIELD}{form}/", typed(form, zone=zone)).status_code == 404
    assert client.post(f"{FIELD}remark/{remark.pk}/back/").status_code == 404
    assert client.post("/farms/heron-slough/fields/far-10/gauge/", typed("gauge")).status_code == 404
    assert client.post("/farms/other/fields/far-10/gauge/", typed("gauge")).status_code == 404
    hand = signed_in("rosa")
    for pass_id, wet in ((far.pk, ""), (ten.field_pass.pk, zone)):
        boxes = {"client_id": str(uuid.uuid4()), "day": "2026-04-20", "hours": "2", "pass_id": str(pass_id)}
        page = hand.post(f"{SEND}work/", boxes | {"too_wet": wet}, follow=True)
        assert "Nombra algo que este rancho no tiene." in page.content.decode()
    assert hand.get("/farms/heron-slough/day/field/far-10.svg").status_code == 404
    strange = morning(ten) | {f"word-{field.pk}": "not_today", f"rain-{field.pk}": "1"}
    client.post(MORNING, strange)
    assert kept() == 1
    assert not WorkRecord.objects.exists()
