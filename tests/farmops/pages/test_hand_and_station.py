"""The pages of a hand and of a weather station: what they say, what is theirs to do, and whose they are."""

import datetime as dt
import re
from decimal import Decimal
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.farms.models import HandAway, HandLicense
from farmops.weather.models import DailyWeather, Station
from scheduling.models import PlannedCare, WorkRecord
from scheduling.selectors import plan_documents
from tests.factories import make_farm, make_hand, make_implement, make_machine
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.farmops.pages.test_today_waits import give_road
from tests.scheduling.care_facts import make_pivot, make_rule, make_stop, make_work

FARM = "/farms/heron-slough/"


@pytest.fixture(autouse=True)
def _at_dawn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=5))


def page_of(address: str) -> str:
    answer = signed_in("mona").get(f"{FARM}{address}")
    assert answer.status_code == 200
    assert Document(answer.text).wrong == []
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", unescape(answer.text)))


def test_a_hands_page_says_today_the_work_lately_and_what_may_be_done(yard: Yard) -> None:
    hand, day = yard.hand, MONDAY.date()
    for number, ends in (("A-1", -1), ("B-2", 30), ("C-3", 300)):
        HandLicense.objects.create(
            farm=yard.farm, hand=hand, number=number, expires_on=day + dt.timedelta(days=ends)
        )
    make_work(yard.field_pass, hand, day - dt.timedelta(days=3), done_ac=Decimal("12.5"), hand_min=390)
    page = page_of(f"hands/{hand.pk}/")
    assert "Rosa goes at 8:00 am to 1:00 pm: Disk, Pond 40." in page
    assert "Rip and bed" in page
    assert "A-1: ended on April 19, 2026" in page
    assert "B-2: ends soon, on May 20, 2026" in page
    assert "C-3: good until February 14, 2027" in page
    assert "Apr 17, 2026 Pond 40 Disk 12.5 ac 6.5 h" in page
    assert re.search(r"Fri Apr 17 6\.5 ", page)

    HandAway.objects.create(
        farm=yard.farm, hand=hand, first_on=day, last_on=day + dt.timedelta(days=4), why="a wedding"
    )
    page = page_of(f"hands/{hand.pk}/")
    assert "Rosa is away to Friday, April 24." in page
    assert "To Friday, April 24: a wedding" in page


@pytest.mark.parametrize(
    ("minutes", "told"),
    [
        (60, "Rosa goes at 8:00 am to 1:00 pm: Disk, Pond 40."),
        (95, "Rosa goes at 8:00 am to 1:00 pm: Disk, Pond 40; leave by 6:25 am."),
        (500, "Rosa goes at 8:00 am to 1:00 pm: Disk, Pond 40; not there before 8:20 am."),
    ],
)
def test_a_hands_page_says_by_when_to_leave_where_the_way_is_long(
    yard: Yard, minutes: int, told: str
) -> None:
    give_road(yard.plan, minutes)
    page = page_of(f"hands/{yard.hand.pk}/")
    assert told in page
    assert ("8:00 am to 1:00 pm · leave by 6:25 am Disk" in page) is (minutes == 95)


def test_a_hands_page_asks_as_often_whatever_was_done_and_is_served(yard: Yard) -> None:
    things = (make_machine(yard.farm, "loader"), make_implement(yard.farm, "drill"), make_pivot(yard.field))
    rules = [make_rule(thing, f"look-{number}") for number, thing in enumerate(things)]

    def asked() -> list[str]:
        plan_documents.forget()
        client = signed_in("mona")
        with CaptureQueriesContext(connection) as queries:
            page = client.get(f"{FARM}hands/{yard.hand.pk}/").text
        assert page.count("/fields/pond-40/") == (3 if stops else 1)
        assert all((str(rule.thing) in page) == bool(stops) for rule in rules)
        return [one["sql"].partition(" WHERE ")[0] for one in queries]

    stops: list[PlannedCare] = []
    without = asked()
    stops += [make_stop(rule, MONDAY + dt.timedelta(hours=14), hand=yard.hand) for rule in rules]
    for back in (1, 2):
        make_work(yard.field_pass, yard.hand, MONDAY.date() - dt.timedelta(days=back))
    assert asked() == without


def test_the_last_ten_records_that_stand_are_a_hands_last_work_however_often_others_were_corrected(
    yard: Yard,
) -> None:
    hand, day = yard.hand, MONDAY.date()

    def done(back: int, ac: int, corrects: WorkRecord | None = None) -> WorkRecord:
        on = day - dt.timedelta(days=back)
        return make_work(yard.field_pass, hand, on, done_ac=Decimal(ac), supersedes=corrects)

    for back in range(40, 28, -1):
        done(back, back)
    for back in (3, 2, 1):
        row = done(back, 0)
        for ac in range(10):
            row = done(back, 10 * back + ac, row)
    make_work(yard.field_pass, make_hand(yard.farm, "teo"), day, done_ac=Decimal(99))
    acres = [int(one) for one in re.findall(r"Disk (\d+)\.0 ac", page_of(f"hands/{hand.pk}/"))]
    assert acres == [19, 29, 39, *range(29, 36)]


def test_a_word_without_hours_or_acres_is_no_work_of_a_hand(yard: Yard) -> None:
    """A pivot that walked by itself is said to be finished by whoever looked at it."""
    day = MONDAY.date() - dt.timedelta(days=1)
    make_work(yard.field_pass, yard.hand, day, hand_min=0, machine_min=0, is_finished=True)
    assert "No work is reported yet." in page_of(f"hands/{yard.hand.pk}/")
    make_work(yard.field_pass, yard.hand, day, hand_min=0, machine_min=0, done_ac=Decimal(7))
    assert "Pond 40 Disk 7.0 ac 0.0 h" in page_of(f"hands/{yard.hand.pk}/")


def test_a_stations_page_says_how_old_and_how_whole_its_days_are(yard: Yard) -> None:
    """Known numbers: 25.4 mm are one inch, 0 °C are 32 °F, 100 °C are 212 °F; a mile is 1,609.344 m."""
    station = Station.objects.create(
        farm=yard.farm,
        code="KXYZ",
        name="airport",
        latitude_deg=yard.farm.latitude_deg,
        longitude_deg=yard.farm.longitude_deg + Decimal("0.1"),
        elevation_m=Decimal("30.5"),
    )
    assert "Airport has told nothing yet." in page_of(f"stations/{station.pk}/")
    last = MONDAY.date() - dt.timedelta(days=4)
    for back in range(40):
        if back in (2, 3):
            continue
        DailyWeather.objects.create(
            farm=yard.farm,
            station=station,
            day=last - dt.timedelta(days=back),
            temp_min_c=0.0,
            temp_max_c=10.0,
            rain_mm=25.4 if back == 1 else 0.0,
            is_filled=back == 1,
            filled_names="rain_mm" if back == 1 else "",
        )
    page = page_of(f"stations/{station.pk}/")
    assert "Airport last told of Thursday, April 16, 2026, 4 days ago." in page
    assert "38 days are kept, March 8, 2026 to April 16, 2026." in page
    assert "Of its last 30 days, missing: two; with something filled in: one." in page
    assert "Wed Apr 15 filled in 1.00 32 50 –" in page
    assert "Tue Apr 14 missing" in page
    assert "April 2026 1.00 32 50 14" in page
    assert "100 ft above the sea" in page
    away = re.search(r"([\d.]+) mi from the middle", page)
    assert away is not None
    assert 5 < float(away[1]) < 7


def test_the_pages_are_the_managers_of_that_farm_alone(yard: Yard) -> None:
    other = make_farm("other-farm")
    stranger, station = make_hand(other, "zed"), Station.objects.create(farm=other, code="K")
    mine = Station.objects.create(farm=yard.farm, code="K")
    for address in (f"hands/{stranger.pk}/", f"stations/{station.pk}/"):
        assert signed_in("mona").get(FARM + address).status_code == 404
    for name in ("bo", "rosa"):
        for address in (f"hands/{yard.hand.pk}/", f"stations/{mine.pk}/"):
            assert signed_in(name).get(FARM + address).status_code in (403, 404)
