"""Reports are kept once and whole; what does not fit waits for the manager, and what cannot be read is asked again.

Long because every rule of the one door is held against it in one place.
"""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.core.keeping import ClientIdReused
from farmops.core.problems import DomainError
from scheduling.models import (
    HourReading,
    Incident,
    IncidentPlace,
    ParkedReport,
    ParkedState,
    PassState,
    Remark,
    WorkDay,
    WorkRecord,
    WorkSetting,
    WorkStop,
)
from scheduling.selectors.reports import became_of
from scheduling.services import refusals, report_words
from scheduling.services.parked import set_aside
from scheduling.services.receiving import KINDS, body_hash
from scheduling.services.report_body import BodyUnreadable
from scheduling.services.work import call_off
from tests.factories import make_hand
from tests.ledger.makers import Place, make_place, make_work
from tests.scheduling.ground import NEW_YORK
from tests.scheduling.sending import DAY, NOW, code_of, count, day_body, parked_of, send, send_plan, work_body

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    return make_place(rated=False)


def test_a_report_of_work_keeps_all_that_it_says(place: Place) -> None:
    send_plan(place, place.hand)
    body = work_body(
        place,
        starts="08:00",
        meter="2404.5",
        finished=False,
        note="Left the corner.",
        stops=[{"cause": "plugged", "minutes": "15", "note": "stalks"}, {"cause": "debris", "minutes": 5}],
        look={"ridges": "some", "cut": "right"},
        settings={"speed_mph": "5,5", "gang_angle_deg": 18, "level": "front_low"},
        too_wet="all",
        puncture={
            "met": "bone",
            "wheel": "left front",
            "latitude_deg": "31.6018",
            "longitude_deg": "-83.5179",
        },
    )
    received = send(place, "work", body)
    assert (received.state, received.parked) == ("kept", None)
    record = WorkRecord.objects.get()
    assert record.client_id == received.report.client_id
    assert (record.hand_min, record.machine_min, record.done_ac) == (300, 300, Decimal("20.00"))
    assert record.starts_at == dt.datetime(2026, 4, 20, 8, tzinfo=NEW_YORK)
    assert (record.machine, record.implement) == (place.machine, place.implement)
    assert [(stop.cause, stop.lost_min) for stop in WorkStop.objects.all()] == [
        ("plugged", 15),
        ("debris", 5),
    ]
    assert (record.look.ridges, record.look.mounds, record.look.cut) == ("some", "", "right")
    settings = {row.key: row.number or row.word for row in WorkSetting.objects.all()}
    assert settings == {"speed_mph": Decimal("5.50"), "gang_angle_deg": 18, "level": "front_low"}
    assert HourReading.objects.get().reading_h == Decimal("2404.5")
    assert Remark.objects.get().work_record == record
    assert (Incident.objects.get().wheel, IncidentPlace.objects.get().latitude_deg) == (
        "left front",
        Decimal("31.601800"),
    )


def test_the_same_report_sent_again_is_the_same_report(place: Place) -> None:
    body = work_body(place)
    first = send(place, "work", body)
    again = send(
        place,
        "work",
        dict(reversed(body.items())),
        client_id=first.report.client_id,
        now=NOW + dt.timedelta(days=3),
    )
    assert (again.state, again.report) == ("again", first.report)
    assert (count(), WorkRecord.objects.count()) == (1, 1)


@pytest.mark.parametrize("other", ["body", "kind", "hand"])
def test_an_id_that_came_with_something_else_is_refused(place: Place, other: str) -> None:
    first = send(place, "work", work_body(place))
    changed: dict[str, tuple[str, dict[str, Any], Any]] = {
        "body": ("work", work_body(place, hours="6"), place.hand),
        "kind": ("meter", {"machine": "tractor-1", "reading": "2401"}, place.hand),
        "hand": ("work", work_body(place), make_hand(place.farm, "odell")),
    }
    kind, body, hand = changed[other]
    with pytest.raises(ClientIdReused):
        send(place, kind, body, hand=hand, client_id=first.report.client_id)
    assert (count(), WorkRecord.objects.get().hand_min) == (1, 300)


def test_a_body_hash_does_not_hang_on_the_order_of_keys() -> None:
    assert body_hash({"a": 1, "b": [2]}) == body_hash({"b": [2], "a": 1}) != body_hash({"a": 1, "b": [3]})


def test_hours_that_do_not_fit_wait_for_the_manager_with_the_reason_in_the_hands_language(
    place: Place,
) -> None:
    place.hand.language = "es"
    place.hand.save()
    received = send(place, "work", work_body(place, hours="25"))
    assert received.state == "parked"
    assert WorkRecord.objects.count() == 0
    parked = ParkedReport.objects.get()
    assert (parked.state, parked.code) == (ParkedState.WAITING, "over_24_hours")
    assert "25 h 00 min" in parked.why
    assert parked.why_for_hand == "Con este reporte el lunes 20 de abril tendría 25 horas. Un día tiene 24."
    assert parked.why_for_hand in received.says
    assert parked.report.body["hours"] == "25"
    again = send(place, "work", work_body(place, hours="25"), client_id=received.report.client_id)
    assert (again.state, again.parked) == ("again", parked)


def test_work_on_a_pass_called_off_waits_for_the_manager(place: Place) -> None:
    call_off(field_pass=place.field_pass, why="cotton went in", now=NOW)
    received = send(place, "work", work_body(place))
    assert code_of(received) == "pass_called_off"
    assert "cotton went in" in parked_of(received).why


def test_work_that_the_plan_gives_to_another_waits_for_the_manager(place: Place) -> None:
    send_plan(place, make_hand(place.farm, "odell"))
    received = send(place, "work", work_body(place))
    assert code_of(received) == "not_your_pass"
    place.field_pass.refresh_from_db()
    assert (place.field_pass.state, place.field_pass.done_ac) == (PassState.WAITING, 0)


@pytest.mark.parametrize(("days", "state"), [(7, "kept"), (8, "parked")])
def test_a_day_long_ago_waits_for_the_manager(place: Place, days: int, state: str) -> None:
    received = send(place, "work", work_body(place), now=NOW + dt.timedelta(days=days))
    assert received.state == state


def test_what_looks_like_a_repeat_is_kept_and_flagged(place: Place) -> None:
    body = work_body(place, starts="08:00", done_ac="10")
    send(place, "work", body)
    second = send(place, "work", body)
    assert second.state == "kept"
    assert code_of(second) == "looks_like_a_repeat"
    assert WorkRecord.objects.count() == 2


def test_hours_over_hours_reported_before_wait_for_the_manager(place: Place) -> None:
    send(place, "work", work_body(place, starts="08:00"))
    over = send(place, "work", work_body(place, starts="12:30", hours="2", done_ac="1"))
    beside = send(place, "work", work_body(place, starts="13:00", hours="2", done_ac="1"))
    assert code_of(over) == "hours_overlap"
    assert beside.state == "kept"


@pytest.mark.parametrize(
    ("facts", "name"),
    [
        ({"hours": "-1"}, "hours"),
        ({"hours": "1_000"}, "hours"),
        ({"hours": "٣"}, "hours"),
        ({"hours": "１２.5"}, "hours"),
        ({"hours": "1e400"}, "hours"),
        ({"hours": "NaN"}, "hours"),
        ({"hours": True}, "hours"),
        ({"hours": 1.5}, "hours"),
        ({"work_on": "2026-02-30"}, "work_on"),
        ({"work_on": "04/20/2026"}, "work_on"),
        ({"pass_id": "one"}, "pass_id"),
        ({"finished": "yes"}, "finished"),
        ({"starts": "25:00"}, "starts"),
        ({"farm": "cane-fork"}, "farm"),
        ({"stops": [{"cause": "tired", "minutes": 5}]}, "stops/0/cause"),
        ({"stops": [{"cause": "wet", "minutes": 5, "who": "me"}]}, "stops/0/who"),
        ({"look": {"ridges": "lots"}}, "look/ridges"),
        ({"settings": {"speed_mph": "90"}}, "settings/speed_mph"),
        ({"note": "a\u202eb"}, "body"),
        ({"note": "x" * 5001}, "note"),
        ({"note": "x" * 70000}, "body"),
    ],
)
def test_what_cannot_be_read_is_asked_again_and_nothing_is_kept(
    place: Place, facts: dict[str, Any], name: str
) -> None:
    with pytest.raises(BodyUnreadable) as refused:
        send(place, "work", work_body(place, **facts))
    assert name in refused.value.fields
    assert (count(), WorkRecord.objects.count(), ParkedReport.objects.count()) == (0, 0, 0)


def test_what_cannot_be_read_is_said_in_the_hands_language(place: Place) -> None:
    place.hand.language = "es"
    place.hand.save()
    with pytest.raises(BodyUnreadable, match="“muchas” no es un número"):
        send(place, "work", work_body(place, hours="muchas"))


def test_a_pass_of_another_farm_is_told_like_one_that_is_not_there(place: Place) -> None:
    there = make_place("cane-fork", rated=False)
    told = [
        send(place, "work", work_body(place, pass_id=pass_id)) for pass_id in (there.field_pass.pk, 10**9)
    ]
    assert [(one.state, one.parked and one.parked.why) for one in told] == [
        ("parked", "Heron Slough has no such pass.")
    ] * 2


def test_a_day_is_kept_with_its_hours(place: Place) -> None:
    received = send(
        place, "day", day_body(offered_hours="10", why_fewer="rain", passes=[place.field_pass.pk])
    )
    day = WorkDay.objects.get()
    assert received.state == "kept"
    assert (day.worked_min, day.offered_min, day.break_min, day.why_fewer) == (570, 600, 30, "rain")


def test_a_start_and_later_a_stop_are_one_day(place: Place) -> None:
    send(place, "day", {"work_on": DAY.isoformat(), "starts": "07:00"})
    send(place, "day", {"work_on": DAY.isoformat(), "ends": "16:00"})
    standing = WorkDay.objects.get(superseded_by__isnull=True)
    assert (standing.worked_min, WorkDay.objects.count()) == (540, 2)
    assert standing.starts_at == dt.datetime(2026, 4, 20, 7, tzinfo=NEW_YORK)


@pytest.mark.parametrize(
    ("day", "starts", "ends", "worked_min"),
    [
        (dt.date(2026, 4, 20), "20:00", "04:00", 8 * 60),
        (dt.date(2026, 3, 7), "20:00", "04:00", 7 * 60),  # the clock goes from 2 to 3 on March 8, 2026
        (dt.date(2026, 10, 31), "20:00", "04:00", 9 * 60),  # and back from 2 to 1 on November 1, 2026
    ],
)
def test_a_night_is_as_long_as_it_was(
    place: Place, day: dt.date, starts: str, ends: str, worked_min: int
) -> None:
    """Daylight saving time in the United States: second Sunday of March to first Sunday of November (15 U.S.C. 260a)."""
    now = dt.datetime.combine(day, dt.time(12), NEW_YORK) + dt.timedelta(days=1)
    send(place, "day", {"work_on": day.isoformat(), "starts": starts, "ends": ends}, now=now)
    assert WorkDay.objects.get().worked_min == worked_min


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ({"starts": "17:00", "ends": "16:00"}, "bad_record"),
        ({"starts": "07:00", "ends": "08:00", "break_minutes": 90}, "bad_record"),
        ({"worked_hours": "25", "starts": None, "ends": None}, "over_24_hours"),
        ({"work_on": "2026-04-21"}, "bad_record"),
        ({"work_on": "2026-04-11"}, "report_too_old"),
    ],
)
def test_a_day_that_does_not_fit_waits(place: Place, body: dict[str, Any], code: str) -> None:
    received = send(place, "day", day_body(**body))
    assert code_of(received) == code
    assert WorkDay.objects.count() == 0


def test_a_day_over_another_waits(place: Place) -> None:
    send(place, "day", day_body())
    over = send(place, "day", day_body(starts="16:00", ends="19:00"))
    assert code_of(over) == "hours_overlap"


def test_an_hour_that_the_clock_skips_waits(place: Place) -> None:
    body = day_body(work_on="2026-03-08", starts="02:30", ends="10:00")
    received = send(place, "day", body, now=dt.datetime(2026, 3, 8, 18, tzinfo=NEW_YORK))
    assert "clock was put forward" in parked_of(received).why


def test_a_meter_is_kept_and_one_that_runs_back_waits(place: Place) -> None:
    assert send(place, "meter", {"machine": "tractor-1", "reading": "2410.5"}).state == "kept"
    back = send(place, "meter", {"machine": "tractor-1", "reading": "2409"}, now=NOW + dt.timedelta(hours=1))
    assert code_of(back) == "meter_runs_backwards"
    assert [row.reading_h for row in HourReading.objects.all()] == [Decimal("2410.5")]


def test_a_kind_that_nobody_takes_is_refused(place: Place) -> None:
    with pytest.raises(BodyUnreadable):
        send(place, "gossip", {})
    assert "gossip" not in KINDS


def test_ids_are_of_one_farm(place: Place) -> None:
    there = make_place("cane-fork", rated=False)
    client_id = uuid.uuid4()
    assert send(place, "work", work_body(place), client_id=client_id).state == "kept"
    assert send(there, "work", work_body(there), client_id=client_id).state == "kept"


def test_a_check_that_is_not_fine_is_kept_and_shown_to_the_manager(place: Place) -> None:
    body = {"work_on": DAY.isoformat(), "check_key": "tires", "machine": "tractor-1", "fine": False}
    received = send(place, "check", body)
    assert (received.state, code_of(received), became_of(received.report)) == (
        "kept",
        "check_not_fine",
        "kept",
    )


def test_a_report_of_nine_days_ago_on_a_pass_called_off_since_is_kept_whole_and_waits(place: Place) -> None:
    call_off(field_pass=place.field_pass, why="rained out", now=NOW + dt.timedelta(days=2))
    received = send(
        place,
        "work",
        work_body(place, note="Done before the rain."),
        made_at=NOW,
        now=NOW + dt.timedelta(days=9),
    )
    assert (received.state, code_of(received)) == ("parked", "pass_called_off")
    assert (received.report.made_at, received.report.body["note"]) == (NOW, "Done before the rain.")


@pytest.mark.parametrize("offset_min", [-300, -240, 0, 840])
def test_the_day_of_a_report_hangs_on_the_farm_and_not_on_the_zone_of_the_phone(
    place: Place, offset_min: int
) -> None:
    zone = dt.timezone(dt.timedelta(minutes=offset_min))
    received = send(place, "work", work_body(place), made_at=NOW.astimezone(zone), made_offset_min=offset_min)
    assert (received.state, received.report.made_offset_min) == ("kept", offset_min)
    assert WorkRecord.objects.get().work_on == DAY


def test_no_hours_is_hours_enough_where_a_reason_stands_and_nothing_at_all_waits(place: Place) -> None:
    why = send(place, "work", work_body(place, hours="0", done_ac="", not_done="too wet"))
    nothing = send(place, "work", work_body(place, hours="0", done_ac=""))
    assert (why.state, code_of(nothing)) == ("kept", "bad_record")


def test_hours_over_midnight_overlap_those_of_the_morning_after(place: Place) -> None:
    evening = NOW + dt.timedelta(days=1)
    send(place, "work", work_body(place, starts="20:00", hours="8", done_ac="5"), now=evening)
    next_day = (DAY + dt.timedelta(days=1)).isoformat()
    over = work_body(place, work_on=next_day, starts="03:00", hours="2", done_ac="1")
    beside = work_body(place, work_on=next_day, starts="04:00", hours="2", done_ac="1")
    assert code_of(send(place, "work", over, now=evening)) == "hours_overlap"
    assert send(place, "work", beside, now=evening).state == "kept"


def test_a_body_may_hold_what_json_holds_and_no_sign_that_turns_the_line(place: Place) -> None:
    for note in ("a\x00b", "a\ud800b", "a\u2028b", "a\u202eb"):
        with pytest.raises(BodyUnreadable):
            send(place, "work", {**work_body(place), "note": note})
    kept = send(place, "work", work_body(place, note="{{ 7 }} <script> ñ 🙂\r\nzwei"))
    assert WorkRecord.objects.get().note == "{{ 7 }} <script> ñ 🙂\nzwei"
    assert kept.report.body["note"].endswith("zwei")


def test_every_rule_that_makes_a_report_wait_is_told_in_the_hands_own_words() -> None:
    """What no report meets is named here: it is about plans, corrections and settling."""
    others = {
        "parked_settled",
        "pass_is_finished",
        "pass_is_not_called_off",
        "superseded_already",
    }
    rules = {
        one.code
        for one in vars(refusals).values()
        if isinstance(one, type) and issubclass(one, DomainError) and one.__module__ == refusals.__name__
    }
    assert rules - others - set(report_words.WHY) == set()
    assert all(said.en and said.es and said.en != said.es for said in report_words.WHY.values())


def test_an_id_that_a_record_of_work_has_already_is_refused_and_nothing_is_kept(place: Place) -> None:
    """The record came in by another door, such as the interface's own address of work records."""
    client_id = uuid.uuid4()
    make_work(place, client_id=client_id)
    with pytest.raises(ClientIdReused):
        send(place, "work", work_body(place, hours="1", done_ac="0"), client_id=client_id)
    assert (count(), ParkedReport.objects.count(), WorkRecord.objects.count()) == (0, 0, 1)


def test_work_reported_done_twice_is_kept_and_asked_about_until_somebody_says_that_it_is_more(
    place: Place,
) -> None:
    """Nobody loses hours: the second report counts, the manager is asked, and a hand who says so is not asked."""
    odell = make_hand(place.farm, "odell")
    done = work_body(place, hours="3", done_ac="0", finished=True)
    send(place, "work", done)
    again = send(place, "work", work_body(place, hours="2", done_ac="0", finished=True), hand=odell)
    assert (again.state, code_of(again)) == ("kept", "looks_like_a_repeat")
    assert parked_of(again).why == "Imani reported this work done on 2026-04-20: is this another?"
    assert "Imani reported this work done on Monday, April 20: is this another?" in again.says
    own = send(place, "work", work_body(place, starts="16:00", hours="1", done_ac="0", finished=True))
    assert "Odell reported this work done on Monday, April 20: is this another?" in own.says
    more = send(
        place, "work", work_body(place, starts="17:00", hours="1", done_ac="0", finished=True, another=True)
    )
    assert (more.state, more.parked) == ("kept", None)
    assert WorkRecord.objects.count() == 4
    over = send(place, "work", work_body(place, starts="05:00", hours="1", done_ac="900", finished=True))
    assert (over.state, code_of(over)) == ("parked", "acres_over")
    assert parked_of(over).why.startswith("Imani reported this work done on 2026-04-20: is this another? ")
    set_aside(parked=parked_of(again), reason="Imani told it for both", settled_by=None, now=NOW)
    assert sum(one.hand_min for one in WorkRecord.objects.filter(hand=odell, superseded_by=None)) == 0
