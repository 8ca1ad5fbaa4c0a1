"""The pages of incidents: what is entered by hand, tapped, mended and billed, and who may."""

import re
import uuid
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
import time_machine

from ledger.models import Bill
from ledger.services.bills import enter_bill
from scheduling.models import FieldReport, Incident, IncidentMended, IncidentPlace, ReportPhoto
from scheduling.selectors.debris import farm_debris
from scheduling.services.incidents import mend_incident
from tests.factories import make_farm, make_field
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.scheduling.incident_makers import DAY, NOON, make_puncture

LIST = "/farms/heron-slough/incidents/"
pytestmark = pytest.mark.usefixtures("_at_noon")


@pytest.fixture
def _at_noon() -> Any:
    with time_machine.travel(NOON, tick=False):
        yield


def page_at(address: str, user: str = "mona") -> str:
    answer = signed_in(user).get(address)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert Document(page).wrong == []
    return unescape(page)


def posted(address: str, facts: dict[str, Any], *, user: str = "mona", status: int = 302) -> str:
    answer = signed_in(user).post(address, {"client_id": str(uuid.UUID(int=1)), **facts})
    assert answer.status_code == status, answer.content.decode()[:2000]
    page = answer.content.decode()
    if status == 422:
        assert Document(page).wrong == []
    return unescape(page)


def one(incident: Incident) -> str:
    return f"{LIST}{incident.pk}/"


def test_an_empty_list_says_so_and_a_full_one_sums_up(yard: Yard) -> None:
    assert "Nothing has gone wrong that anybody reported." in page_at(LIST)
    flat = make_puncture(yard.field, at=("31.6018", "-83.5179"), lost_min=90)
    make_puncture(yard.field, kind="stuck", met="")
    make_puncture(yard.field)
    mend_incident(
        farm=yard.farm, client_id=uuid.uuid4(), incident=flat, mending="repair", lost_min=150, now=NOON
    )
    page = page_at(LIST)
    assert (
        "Two punctures and one time stuck; one of the punctures has no place yet, one that was mended waits for a bill."
        in page
    )
    assert "2.5 h" in page
    only = page_at(f"{LIST}?kind=stuck")
    assert "met deer antler" in page
    assert "met deer antler" not in only
    assert "Mon Apr 20, 2026, 12:00 pm" in only


def test_what_was_entered_by_mistake_counts_nowhere_until_it_does_again(yard: Yard) -> None:
    flat = make_puncture(yard.field, lost_min=75)
    make_puncture(yard.field, lost_min=60)
    assert "Two punctures" in page_at(LIST)
    assert [len(one.punctures) for one in farm_debris(farm=yard.farm).fields] == [2]
    posted(f"{one(flat)}mend/", {"mending": "mistake", "lost_h": "1.25"})
    page = page_at(LIST)
    assert "One puncture; one of the punctures has no place yet." in page
    assert "entered by mistake" in page
    assert "1.0 h" in page
    assert "2.2 h" not in page
    assert [len(one.punctures) for one in farm_debris(farm=yard.farm).fields] == [1]
    assert "it stands in the list and counts nowhere" in page_at(one(flat))
    posted(f"{one(flat)}mend/", {"mending": "none", "lost_h": "1.25", "client_id": str(uuid.uuid4())})
    assert "Two punctures" in page_at(LIST)
    assert [len(one.punctures) for one in farm_debris(farm=yard.farm).fields] == [2]


def test_hours_that_are_sent_back_as_they_stand_stay_the_same_minutes(yard: Yard) -> None:
    """75 minutes are 1.25 h, and 1.2 h would be 72; 50 minutes are 0.83 h, which come to 50 again."""
    for minutes, hours in ((75, "1.25"), (50, "0.83"), (90, "1.5"), (60, "1")):
        flat = make_puncture(yard.field, lost_min=minutes)
        assert f'name="lost_h" inputmode="decimal" autocomplete="off" size="5" value="{hours}"' in page_at(
            one(flat)
        )
        posted(f"{one(flat)}mend/", {"mending": "repair", "lost_h": hours, "client_id": str(uuid.uuid4())})
        assert IncidentMended.objects.get(incident=flat).lost_min == minutes


def test_one_entered_by_hand_is_kept_once(yard: Yard) -> None:
    facts = {
        "kind": "puncture",
        "day": "2026-04-20",
        "hour": "09:30",
        "field": str(yard.field.pk),
        "hand": str(yard.hand.pk),
        "wheel": "left rear, inner",
        "met": "T-post",
        "lost_h": "1,5",
        "note": "By the gate.",
    }
    for _time in range(2):
        posted(f"{LIST}add/", facts)
    found = Incident.objects.get()
    assert (found.field, found.hand, found.met, found.lost_min) == (yard.field, yard.hand, "T-post", 90)
    assert f"{found.happened_at:%Y-%m-%d %H:%M}" == "2026-04-20 13:30"
    page = page_at(one(found))
    assert "Puncture on Pond 40: T-post." in page
    assert "Nobody has said yet." in page


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"kind": "flat"}, "Say what went wrong."),
        ({"day": "2026-04-22"}, "has not come yet"),
        ({"lost_h": "24.5"}, "lost minutes"),
        ({"lost_h": "99999999"}, "lost minutes"),
        ({"lost_h": "two"}, "is not a number"),
        ({"note": "a\u202eb"}, "cannot be kept"),
        ({"met": "x" * 81}, "at most 80"),
    ],
)
def test_what_is_wrong_is_told_at_its_box_and_what_was_typed_stays(
    yard: Yard, facts: dict[str, str], says: str
) -> None:
    plain = {"kind": "stuck", "day": "2026-04-20", "hour": "09:30", "wheel": "right front"}
    page = posted(f"{LIST}add/", {**plain, **facts}, status=422)
    assert says in page
    assert 'value="right front"' in page
    assert not Incident.objects.exists()


def test_a_tap_on_the_outline_becomes_degrees_on_the_field(yard: Yard) -> None:
    """By hand: the square is 0.00365 degrees high on 240 px with edges of 12: the drawing's middle is its middle, and 216
    px are its height, so 54 px up is a quarter of it.
    """
    incident = make_puncture(yard.field)
    assert signed_in("mona").get(f"{LIST}field/pond-40.svg")["Content-Type"] == "image/svg+xml"
    posted(f"{one(incident)}place/", {"tap.x": "160", "tap.y": "66"})
    found = IncidentPlace.objects.get()
    assert float(found.latitude_deg) == pytest.approx(31.60 + 0.00365 * 0.75, abs=2e-6)
    assert float(found.longitude_deg) == pytest.approx((-83.52 - 83.51573) / 2, abs=2e-6)
    assert found.placed_by == "tapped"
    assert "tapped on the field" in page_at(one(incident))


def test_a_press_by_keyboard_names_no_place(yard: Yard) -> None:
    incident = make_puncture(yard.field)
    assert "Nothing was tapped" in posted(f"{one(incident)}place/", {"tap.x": "0", "tap.y": "0"}, status=422)
    assert not IncidentPlace.objects.exists()


def test_degrees_may_be_typed_and_off_the_field_is_told(yard: Yard) -> None:
    incident = make_puncture(yard.field)
    page = posted(f"{one(incident)}place/", {"latitude_deg": "-83.518", "longitude_deg": "31.6"}, status=422)
    assert "far" in page or "in order" in page
    assert "Give the degrees." in posted(f"{one(incident)}place/", {"latitude_deg": "31.6"}, status=422)
    posted(f"{one(incident)}place/", {"latitude_deg": "31.5950", "longitude_deg": "-83.518"})
    assert IncidentPlace.objects.get().placed_by == "typed"
    assert "That is off Pond 40." in page_at(one(incident))


def test_what_was_done_is_kept(yard: Yard) -> None:
    incident = make_puncture(yard.field)
    facts = {"mending": "new_tire", "lost_h": "4.5", "note": "from the shed"}
    for _time in range(2):
        posted(f"{one(incident)}mend/", facts)
    found = IncidentMended.objects.get()
    assert (found.mending, found.lost_min) == ("new_tire", 270)
    page = page_at(one(incident))
    assert "New tire; 4.5 h lost. From the shed" in page
    assert "Say what was done." in posted(f"{one(incident)}mend/", {"mending": ""}, status=422)


def test_an_old_tab_does_not_undo_what_was_done_meanwhile(yard: Yard) -> None:
    incident = make_puncture(yard.field)
    seen = field_of(page_at(one(incident)), "seen")
    first = {
        "mending": "repair",
        "lost_h": "1.0",
        "note": "Plug.",
        "seen": seen,
        "client_id": str(uuid.uuid4()),
    }
    for _time in range(2):
        posted(f"{one(incident)}mend/", first)
    old = {"mending": "none", "lost_h": "0.2", "note": "", "seen": seen, "client_id": str(uuid.uuid4())}
    page = posted(f"{one(incident)}mend/", old, status=422)
    assert "Keep yours once more" in page
    assert re.search(r"1(.0)? h lost\. Plug\.", page)
    assert 'name="lost_h" inputmode="decimal" autocomplete="off" size="5" value="0.2"' in page
    assert IncidentMended.objects.get(incident=incident).lost_min == 60
    again = {**old, "seen": field_of(page, "seen"), "client_id": str(uuid.uuid4())}
    posted(f"{one(incident)}mend/", again)
    assert IncidentMended.objects.filter(incident=incident).latest("id").lost_min == 12


def test_what_is_kept_of_mending_stands_in_its_form(yard: Yard) -> None:
    incident = make_puncture(yard.field)
    posted(f"{one(incident)}mend/", {"mending": "repair", "lost_h": "1", "note": "Plug."})
    assert field_of(page_at(one(incident)), "note") == "Plug."


def test_a_form_that_was_kept_and_then_changed_says_so_and_is_kept_at_the_next_press(yard: Yard) -> None:
    facts = {"kind": "stuck", "day": "2026-04-20", "hour": "09:30", "client_id": str(uuid.uuid4())}
    posted(f"{LIST}add/", facts)
    page = posted(f"{LIST}add/", {**facts, "met": "a wet hole"}, status=422)
    assert "This form was kept already, before you changed it." in page
    posted(f"{LIST}add/", {**facts, "met": "a wet hole", "client_id": field_of(page, "client_id")})
    assert Incident.objects.count() == 2


def test_an_untouched_form_is_asked_what_went_wrong(yard: Yard) -> None:
    form = page_at(LIST).partition('id="add"')[2]
    assert 'name="kind"' in form
    assert "checked" not in form
    page = posted(f"{LIST}add/", {"day": "2026-04-20", "hour": "09:30"}, status=422)
    assert "Say what went wrong." in page


def test_the_bill_of_what_was_entered_by_mistake_is_not_in_the_sum(yard: Yard) -> None:
    flat = make_puncture(yard.field)
    bill = {"payee": "Tire man", "bill_on": "2026-04-20", "amount_usd": "85.00", "category": "tires"}
    posted(f"{one(flat)}bill/", bill)
    assert "$85.00" in page_at(LIST).partition("<tfoot>")[2]
    posted(f"{one(flat)}mend/", {"mending": "mistake"})
    listed = page_at(LIST)
    assert "$85.00" in listed
    assert "$85.00" not in listed.partition("<tfoot>")[2]


def field_of(page: str, name: str) -> str:
    found = re.search(rf'name="{name}"[^>]*? value="([^"]*)"', page)
    assert found is not None, name
    return found[1]


def test_the_bookkeeper_enters_its_bill_or_finds_it(yard: Yard) -> None:
    incident = make_puncture(yard.field)
    bill = {
        "payee": "Tire Barn",
        "number": "77",
        "bill_on": "2026-04-20",
        "amount_usd": "212.60",
        "category": "tires",
    }
    for _time in range(2):
        posted(f"{one(incident)}bill/", bill, user="bo")
    assert Bill.objects.get().incident == incident
    alone, _is_new = enter_bill(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        payee="Tire Barn",
        bill_on=DAY,
        amount_usd=Decimal(40),
        category="repairs",
        now=NOON,
    )
    assert "It is this one's" in page_at(one(incident), user="bo")
    posted(f"{one(incident)}bills/{alone.pk}/", {"client_id": str(uuid.UUID(int=2))}, user="bo")
    page = page_at(one(incident), user="bo")
    assert "$252.60" in page
    assert "It is this one's" not in page
    wrong = posted(f"{one(incident)}bill/", {**bill, "client_id": str(uuid.UUID(int=3))}, status=422)
    assert "is this the same one?" in wrong
    assert "Give the dollars." in posted(f"{one(incident)}bill/", {**bill, "amount_usd": ""}, status=422)


def test_a_stub_is_said_to_be_no_debris(yard: Yard) -> None:
    assert "Stalk stubs are no debris" in page_at(one(make_puncture(yard.field, met="cotton stalk")))
    assert "Stalk stubs are no debris" not in page_at(one(make_puncture(yard.field, met="bone")))


def test_photos_of_the_report_are_linked(yard: Yard) -> None:
    incident = make_puncture(yard.field)
    report = FieldReport.objects.create(
        farm=yard.farm,
        client_id=incident.client_id,
        hand=yard.hand,
        kind="incident",
        body={},
        body_hash="0" * 64,
        received_at=NOON,
    )
    photo = ReportPhoto.objects.create(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        report=report,
        incident=incident,
        stored_as="aa/one.jpg",
        sha256="0" * 64,
        width_px=1,
        height_px=1,
        size_bytes=1,
        recorded_at=NOON,
    )
    assert f'href="/farms/heron-slough/photos/{photo.pk}/">photo 1' in page_at(one(incident))


def test_hands_and_other_farms_are_kept_out(yard: Yard) -> None:
    incident = make_puncture(yard.field)
    theirs = make_puncture(make_field(make_farm("other-farm")))
    for address in (LIST, one(incident)):
        assert signed_in("rosa").get(address).status_code == 403
    assert signed_in("mona").get(one(theirs)).status_code == 404
    assert signed_in("mona").get("/farms/other-farm/incidents/").status_code == 404
    for path in ("place/", "mend/"):
        assert signed_in("bo").post(f"{one(incident)}{path}", {}).status_code == 403
        assert signed_in("mona").post(f"{one(theirs)}{path}", {}).status_code == 404
        assert signed_in("mona").get(f"{one(incident)}{path}").status_code == 302
    theirs_by_hand = {
        "kind": "stuck",
        "day": "2026-04-20",
        "hour": "09:30",
        "field": str(theirs.field_id),
        "client_id": str(uuid.uuid4()),
    }
    assert signed_in("mona").post(f"{LIST}add/", theirs_by_hand).status_code == 404
