"""The pages of machines, implements and pivots: what they say, what is kept from their forms, what is refused."""

import datetime as dt
import re
import uuid
from decimal import Decimal
from html import unescape
from typing import Any

import pytest

from farmops.core import clock
from farmops.farms.models import CareRule, HandAway, Implement, Machine, Pivot
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from scheduling.models import (
    CareDone,
    FieldReport,
    HourReading,
    MeterReplaced,
    ParkedReport,
    ReadingSetAside,
)
from tests.factories import make_hand, make_implement, make_machine
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.ledger.makers import set_rates
from tests.scheduling.care_facts import (
    make_done,
    make_pivot,
    make_reading,
    make_rule,
    make_seen,
    make_stop,
    make_work,
)

FARM = "/farms/heron-slough/"
TUESDAY = MONDAY + dt.timedelta(days=1, hours=9)


@pytest.fixture(autouse=True)
def _on_tuesday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: TUESDAY)


@pytest.fixture
def tractor(yard: Yard) -> Machine:
    return Machine.objects.get(farm=yard.farm)


def page_of(thing: Machine | Implement | Pivot) -> str:
    answer = signed_in("mona").get(f"{FARM}fleet/{type(thing).__name__.lower()}/{thing.pk}/")
    return read(answer)


def read(answer: Any) -> str:
    page: str = answer.content.decode()
    assert Document(page).wrong == []
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", unescape(page))).replace(" ,", ",").replace(" .", ".")


def sent(address: str, **boxes: Any) -> tuple[int, str]:
    body = {"client_id": str(uuid.uuid4()), "day": "2026-04-21", "hour": "08:30", **boxes}
    answer = signed_in("mona").post(f"{FARM}{address}", body, follow=True)
    return answer.status_code, read(answer)


def test_a_machines_page_says_what_it_shows_and_when_its_service_is_due(yard: Yard, tractor: Machine) -> None:
    """215 h of 250 are run: 35 left. Planned are 5 h of the work on Monday, gone by; 42 h in four weeks are 1.5 h a day.

    From today: the plan holds nothing more to Sunday, then 1.5 h a day take 24 days: the last runs out on May 20.
    """
    make_reading(tractor, "2600.0", MONDAY - dt.timedelta(days=6))
    make_done(
        make_rule(tractor, every_h=Decimal(250)), MONDAY - dt.timedelta(days=40), meter_h=Decimal("2385.0")
    )
    for day in (8, 9, 10):
        make_work(yard.field_pass, yard.hand, dt.date(2026, 4, day), machine=tractor, machine_min=840)
    page = page_of(tractor)
    assert "Tractor-1 shows 2,600.0 h; change engine oil and filter is due about May 20." in page
    assert "215.0 h" in page
    assert "35.0 h" in page
    assert "every 250 h" in page
    assert "last read on Apr 14, 2026, 12:00 am" in page


def test_the_hours_of_each_day_are_drawn_and_stand_in_numbers(yard: Yard, tractor: Machine) -> None:
    make_work(yard.field_pass, yard.hand, dt.date(2026, 4, 17), machine=tractor, machine_min=450)
    page = page_of(tractor)
    assert "Apr 17 7.5 h" in page
    assert "Fri Apr 17 7.5" in page


def test_what_is_over_is_said_first_and_its_stop_in_the_plan_stands_beside(
    yard: Yard, tractor: Machine
) -> None:
    rule = make_rule(tractor, every_days=30, counts_from_on=dt.date(2026, 3, 1), is_must=True)
    stop = make_stop(rule, TUESDAY + dt.timedelta(hours=2), hand=yard.hand)
    assert stop.plan == yard.plan
    page = page_of(tractor)
    assert "Tractor-1 shows about 2,400.0 h; change engine oil and filter is due now." in page
    assert "21 days over" in page
    assert "in the plan: Tue Apr 21, 11:00 am, Rosa" in page
    listed = read(signed_in("mona").get(f"{FARM}care/"))
    assert "Change engine oil and filter, tractor-1: due now." in listed


def test_a_service_is_kept_from_its_form_with_meter_parts_and_cost(yard: Yard, tractor: Machine) -> None:
    make_rule(tractor)
    make_reading(tractor, "2405.0", MONDAY)
    boxes = {
        "meter_h": "2409,5",
        "minutes": "55",
        "hand": "rosa",
        "parts": "4 gal oil",
        "parts_usd": "61.20",
        "note": "seep at the pan",
    }
    status, page = sent("care/oil/done/", **boxes)
    assert status == 200
    assert "Change engine oil and filter, tractor-1: kept as done." in page
    done = CareDone.objects.get()
    assert (done.meter_h, done.hand, done.hand_min, done.parts_cents) == (
        Decimal("2409.5"),
        yard.hand,
        55,
        61_20,
    )
    assert done.done_at == MONDAY + dt.timedelta(days=1, hours=8, minutes=30)
    assert HourReading.objects.order_by("read_at").last().reading_h == Decimal("2409.5")  # type: ignore[union-attr]
    assert "Rosa 55 min" in page
    assert "$61.20" in page
    status, page = sent(f"care/done/{done.pk}/back/")
    assert "taken back" in page
    assert "Nothing is kept yet." in page
    status, page = sent(f"care/done/{done.pk}/back/")
    assert status == 200


@pytest.mark.parametrize(
    ("boxes", "says"),
    [
        ({"meter_h": "2300"}, "cannot go back: 2300 h after 2405.0 h"),
        ({"meter_h": "25OO"}, "“25OO” is not a number."),
        ({"minutes": "1.5"}, "Minutes are a whole number of 0 and more."),
        ({"minutes": ""}, "Say how many minutes."),
        ({"parts_usd": "1.234"}, "Dollars have two decimals at most."),
        ({"day": "2026-04-23"}, "has not come yet"),
        ({"day": ""}, "Give the day."),
    ],
)
def test_a_service_that_does_not_fit_is_told_at_its_box(
    tractor: Machine, boxes: dict[str, str], says: str
) -> None:
    make_rule(tractor)
    make_reading(tractor, "2405.0", MONDAY)
    status, page = sent("care/oil/done/", **{"minutes": "55", **boxes})
    assert (status, says in page) == (422, True), page
    assert not CareDone.objects.exists()


RULE = {
    "what": "check tire pressure",
    "what_es": "revisar llantas",
    "every_days": "30",
    "every_starts": "20",
    "takes_min": "15",
    "place": "field",
    "hands": "rosa",
    "is_used": "yes",
    "source": "the maker's manual",
}


def test_a_service_rule_is_entered_changed_and_taken_out_of_use(tractor: Machine) -> None:
    status, page = sent(
        f"fleet/machine/{tractor.pk}/care/", **RULE, counts_from_h="2400", counts_from_on="2026-04-01"
    )
    assert (status, "Check tire pressure, tractor-1: kept." in page) == (200, True)
    rule = CareRule.objects.get()
    assert (rule.code, rule.every_days, rule.every_starts, rule.place) == (
        "check-tire-pressure-1",
        30,
        20,
        "field",
    )
    assert [row.hand.code for row in rule.hands.all()] == ["rosa"]
    assert "every 30 days or 20 starts" in page
    status, page = sent("care/check-tire-pressure-1/change/", **{**RULE, "every_h": "100", "hands": []})
    rule.refresh_from_db()
    assert (status, rule.every_h, rule.hands.count(), rule.counts_from_h) == (200, Decimal(100), 0, None)
    status, page = sent("care/check-tire-pressure-1/change/", **{**RULE, "is_used": ""})
    rule.refresh_from_db()
    assert (rule.is_used, "Out of use: check tire pressure" in page) == (False, True)


@pytest.mark.parametrize(
    ("odd", "says"),
    [
        ({"every_days": "", "every_starts": ""}, "Say how often"),
        ({"every_days": "1.5"}, "That is a whole number."),
        ({"every_days": "9999"}, "9999 is outside 1 to 3650"),
        ({"takes_min": ""}, "Say how many minutes it takes."),
        ({"what": " "}, "Say what is done."),
        ({"source": ""}, "Say whose number it is"),
        ({"place": "moon"}, "Say where it is done."),
        ({"counts_from_h": "2400"}, "Give the day on which the meter showed that."),
    ],
)
def test_a_service_rule_that_makes_no_sense_is_told_at_its_box(
    tractor: Machine, odd: dict[str, str], says: str
) -> None:
    status, page = sent(f"fleet/machine/{tractor.pk}/care/", **{**RULE, **odd})
    assert (status, says in page) == (422, True), page
    assert not CareRule.objects.exists()
    make_rule(tractor, what="oil")
    status, page = sent("care/oil/change/", **{**RULE, **odd})
    assert (status, says in page) == (422, True), page
    assert CareRule.objects.get().what == "oil"


def test_a_meter_is_read_replaced_and_put_right(tractor: Machine) -> None:
    status, page = sent(f"meters/{tractor.pk}/read/", reading_h="2410,5")
    assert (status, "It shows 2,410.5 h" in page) == (200, True)
    status, page = sent(f"meters/{tractor.pk}/read/", reading_h="2400.0", hour="08:45")
    assert (status, "cannot go back: 2400.0 h after 2410.5 h" in page) == (422, True)
    status, page = sent(
        f"meters/{tractor.pk}/replaced/",
        old_reading_h="2411.0",
        new_reading_h="0.2",
        hour="08:50",
        note="cracked",
    )
    assert (status, MeterReplaced.objects.get().new_reading_h) == (200, Decimal("0.2"))
    assert "the old one ended at 2,411.0 h, the new one began at 0.2 h (cracked)" in page
    reading = HourReading.objects.get()
    status, page = sent(f"meters/readings/{reading.pk}/aside/", why="")
    assert (status, "something must stand there" in page) == (422, True)
    status, page = sent(f"meters/readings/{reading.pk}/aside/", why="read on tractor 2")
    assert (status, "set aside: read on tractor 2" in page) == (200, True)
    assert ReadingSetAside.objects.get().reading == reading


def test_what_is_wrong_with_a_meter_is_visible(yard: Yard, tractor: Machine) -> None:
    make_reading(tractor, "2405.0", MONDAY - dt.timedelta(days=30))
    make_reading(tractor, "2412.0", MONDAY - dt.timedelta(days=30) + dt.timedelta(hours=2))
    for day in range(1, 5):
        make_work(yard.field_pass, yard.hand, dt.date(2026, 4, day), machine=tractor, machine_min=360)
    report = FieldReport.objects.create(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        hand=yard.hand,
        kind="meter",
        body={"machine": tractor.code, "reading": "2300"},
        body_hash="-",
        received_at=TUESDAY,
    )
    ParkedReport.objects.create(
        farm=yard.farm,
        report=report,
        code="meter_runs_backwards",
        why="The meter of tractor-1 cannot go back.",
    )
    page = page_of(tractor)
    assert (
        "2,405.0 h (March 21, 12:00 am) and 2,412.0 h (March 21, 2:00 am) cannot both be right: "
        "it gained 7.0 h in 2.0 h of the clock."
    ) in page
    assert (
        "Nobody has read this meter since Saturday, March 21, 31 days ago; 24.0 h of work were reported"
        in page
    )
    assert "does not fit: The meter of tractor-1 cannot go back." in page
    assert "Tractor-1: look at its hour meter" in read(signed_in("mona").get(f"{FARM}care/"))


def test_cost_by_the_hour_stands_beside_what_is_expected(yard: Yard, tractor: Machine) -> None:
    set_rates(yard.farm)
    make_reading(tractor, "2500.0", MONDAY)
    make_done(make_rule(tractor), MONDAY, hand=yard.hand, hand_min=100, parts_cents=70_00)
    post_pending(now=TUESDAY)
    page = page_of(tractor)
    assert "Repairs and service cost $1.00 an hour over 100.0 h so far." in page, (
        "30 dollars of wage and 70 of parts"
    )
    assert "No price, life and yearly hours of tractor-1 are known." in page


def test_the_parts_below_repairs_and_service_add_up_to_it(yard: Yard, tractor: Machine) -> None:
    """30 dollars of wage and 70 of parts; a tenth on the wage is paid besides, and is no part of it."""
    set_rates(yard.farm)
    set_rate(
        farm=yard.farm, kind="payroll_burden", usd_per_unit="0.1", valid_from=dt.date(2026, 1, 1), now=TUESDAY
    )
    make_done(make_rule(tractor), MONDAY, hand=yard.hand, hand_min=100, parts_cents=70_00)
    post_pending(now=TUESDAY)
    page = signed_in("mona").get(f"{FARM}fleet/machine/{tractor.pk}/").text.split("What its hour costs")[1]
    rows = re.findall(r'<th scope="row">(?:(<small>)?)([^<]+).*?<td class="n fig" [^>]*>([^<]*)<', page)[:4]
    assert rows == [
        ("", "Repairs and service", "$100.00"),
        ("<small>", "Labor", "$30.00"),
        ("<small>", "Repairs", "$70.00"),
        ("", "Payroll taxes and insurance", "$3.00"),
    ]


def test_cost_by_the_hour_counts_back_over_all_work_where_it_is_more_than_the_meter_says(
    yard: Yard, tractor: Machine
) -> None:
    set_rates(yard.farm)
    make_reading(tractor, "2500.0", MONDAY)
    make_done(make_rule(tractor), MONDAY, hand=yard.hand, hand_min=100, parts_cents=90_00)
    for back in range(10):
        day = MONDAY.date() - dt.timedelta(days=60 + back)
        make_work(yard.field_pass, yard.hand, day, machine=tractor, machine_min=720)
    post_pending(now=TUESDAY)
    page = page_of(tractor)
    assert "Repairs and service cost $1.00 an hour over 120.0 h so far." in page


def test_a_pivots_page_counts_its_runs_and_offers_no_acres(yard: Yard) -> None:
    pivot = make_pivot(yard.field)
    make_seen(pivot, MONDAY - dt.timedelta(days=2), is_running=True)
    make_seen(pivot, MONDAY - dt.timedelta(days=1), is_running=False)
    make_rule(pivot, "gearboxes", what="check the gearboxes", every_starts=3, place="field")
    page = page_of(pivot)
    assert "Pivot of pond-40: check the gearboxes is not within a year" not in page
    assert "1 start" in page
    assert "lock its disconnect" in page
    assert 'name="every_ac"' not in signed_in("mona").get(f"{FARM}fleet/pivot/{pivot.pk}/").content.decode()
    status, page = sent(f"fleet/pivot/{pivot.pk}/care/", **RULE)
    assert (status, CareRule.objects.get(what="check tire pressure").place) == (200, "field")


def test_each_form_of_the_fleet_has_its_token_and_each_name_is_escaped(yard: Yard, tractor: Machine) -> None:
    odd = "O'Nei & <b>%s</b>"
    make_machine(yard.farm, "tractor-2", name=odd, down_until=TUESDAY + dt.timedelta(days=2))
    make_implement(yard.farm, "drill", name=odd)
    hand = make_hand(yard.farm, "teo", name=odd)
    for day in (TUESDAY.date(), TUESDAY.date() + dt.timedelta(days=3)):
        HandAway.objects.create(farm=yard.farm, hand=hand, first_on=day, last_on=day, why=odd)
    page = signed_in("mona").get(f"{FARM}fleet/").content.decode()
    assert Document(page).wrong == []
    places = re.findall(r'<form method="post" action="/farms/heron-slough/([^"]*)"', page)
    token = r'(?:<span>.*?</span>)?<input type="hidden" name="csrfmiddlewaretoken" value="\w+">'
    assert len(re.findall(rf'action="/farms/heron-slough/[^>]*>{token}', page)) == len(places)
    for last, count in {"works": 1, "back": 2, "down": 4, "away": 2}.items():
        assert sum(place.endswith(f"/{last}/") for place in places) == count, last
    assert "<b>%s" not in page
    said = "O&#x27;Nei &amp; &lt;b&gt;%s&lt;/b&gt;"
    assert f"Say that {said} is down" in page
    assert f"Say that {said} is away" in page
    assert f"<b>Away</b> today: {said}" in page
    assert "<b>Down</b>, back about Thursday, April 23, 9:00 am" in page


def test_the_fleet_leads_to_every_thing(yard: Yard) -> None:
    pivot = make_pivot(yard.field)
    page = signed_in("mona").get(f"{FARM}fleet/").content.decode()
    for thing in (Machine.objects.get(), Implement.objects.get(), pivot):
        address = f"{FARM}fleet/{type(thing).__name__.lower()}/{thing.pk}/"
        assert f'href="{address}"' in page
        assert signed_in("mona").get(address).status_code == 200


def test_hands_and_bookkeepers_do_not_keep_machines_and_what_is_not_there_is_missing(
    yard: Yard, tractor: Machine
) -> None:
    for name in ("rosa", "bo"):
        assert signed_in(name).get(f"{FARM}care/").status_code == 403
        assert signed_in(name).get(f"{FARM}fleet/machine/{tractor.pk}/").status_code == 403
    for address in ("fleet/machine/999/", "fleet/hands/1/", "fleet/pivot/1/"):
        assert signed_in("mona").get(f"{FARM}{address}").status_code == 404
    assert signed_in("mona").post(f"{FARM}meters/999/read/", {}).status_code == 404
