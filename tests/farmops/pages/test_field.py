"""A field's page: what is drawn and told, and what its forms keep."""

import datetime as dt
import re
import uuid
from decimal import Decimal

import pytest
from django.test import Client

from farmops.core import clock
from farmops.farms.models import SoilZone
from farmops.weather.models import GaugeReading, SoilReading
from scheduling.models import Remark, SaySo, WeekPlan
from scheduling.selectors.windows import _sayings
from scheduling.services.debris import propose_walk
from tests.factories import make_field, make_hand, make_pass
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.scheduling.ground import make_dry_spring

ADDRESS = "/farms/heron-slough/fields/pond-40/"
AT_TEN = MONDAY + dt.timedelta(hours=10)


@pytest.fixture
def spring(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm, rain_mm=9.0)
    monkeypatch.setattr(clock, "now", lambda: AT_TEN)
    return yard


def page_of(client: Client, address: str = ADDRESS) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def typed(**boxes: str) -> dict[str, str]:
    return {"client_id": str(uuid.uuid4()), "day": "2026-04-20", **boxes}


def test_the_ground_is_drawn_with_words_and_the_same_numbers_stand_in_a_table(spring: Yard) -> None:
    make_pass(spring.field_pass.season, "plant")
    page = page_of(signed_in("mona"))
    titles = re.findall(r"<title id=[^>]+>([^<]+)</title><desc id=[^>]+>([^<]+)</desc>", page)
    assert [title.partition(",")[0] for title, _desc in titles] == [
        "When to disk",
        "When to plant",
        "Rain",
        "Water in the topsoil of the field",
        "Soil of the field at 4 in",
    ]
    told = {title.partition(",")[0]: desc for title, desc in titles}
    assert told["Rain"].startswith("Fri Apr 17 0.35 in (station)")
    morning = re.search(r"(\d\.\d\d) at 8 am on Mon Apr 20", told["Water in the topsoil of the field"])
    assert morning is not None
    today = re.search(r'<tr class="today">.*?</tr>', page)
    assert today is not None
    assert "Mon Apr 20" in today[0]
    assert f'<td class="n fig">{morning[1]}</td>' in today[0]
    assert "cotton wants 65 °F" in told["Soil of the field at 4 in"]
    rows = re.findall(r'<th scope="row">(\w+ \w+ \d+)</th>', page)
    assert (rows[0], rows[-1], len(rows)) == ("Mon Apr 13", "Wed Apr 29", 17)


def test_a_walk_that_shuts_the_work_is_told_at_that_work_and_called_off_there(spring: Yard) -> None:
    make_hand(spring.farm, "walker", operations=("debris_walk",))
    propose_walk(farm=spring.farm, field_pass=spring.field_pass, leave_cents=0)
    page = page_of(signed_in("mona"))
    says = "nothing rolls here until it is walked or called off."
    held = "What follows here waits for this walk until it is done or called off."
    assert (page.count(says), page.count(held)) == (1, 1), "at the disking and at the walk"
    facts = {"before": str(spring.field_pass.pk), "back": "field"}
    answer = signed_in("mona").post("/farms/heron-slough/debris/pond-40/no-walk/", facts)
    assert answer["Location"] == ADDRESS
    assert says not in page_of(signed_in("mona"))


def test_each_drawing_is_named_for_those_who_do_not_see_it(spring: Yard) -> None:
    page = page_of(signed_in("mona"))
    drawings = re.findall(r'<svg class="plot[^>]*>', page)
    ids = set(re.findall(r' id="([^"]+)"', page))
    assert len(drawings) == 4
    for drawing in drawings:
        named = re.search(r'role="img" aria-labelledby="([^"]+)"', drawing)
        assert named is not None
        assert set(named[1].split()) <= ids
    assert len(re.findall(r' id="([^"]+)"', page)) == len(ids)


def test_a_gauge_reading_outranks_the_station_on_the_page(spring: Yard) -> None:
    boxes = typed(day="2026-04-18", rain_in="1.25")
    for _time in range(2):
        page = signed_in("mona").post(f"{ADDRESS}gauge/", boxes, follow=True).content.decode()
        assert "Kept: 1.25 in of rain on Saturday, April 18 at Pond 40." in page
    assert GaugeReading.objects.get().rain_in == Decimal("1.25")
    assert "Sat Apr 18 1.25 in (the field&#x27;s gauge)" in page
    assert 'class="bar gauge read"' in page
    assert "1.25 in</td>" in page


def test_a_thermometer_reading_is_kept_drawn_and_corrects_the_model(spring: Yard) -> None:
    def soil_today(page: str) -> float:
        told = re.search(r"(\d+) °F on Mon Apr 20 at 4 in", page)
        assert told is not None
        return float(told[1])

    client = signed_in("mona")
    before = soil_today(page_of(client))
    boxes = typed(day="2026-04-19", hour="08:00", temp_f="52", depth_in="4")
    page = client.post(f"{ADDRESS}thermometer/", boxes, follow=True).content.decode()
    reading = SoilReading.objects.get()
    assert reading.read_at == dt.datetime(2026, 4, 19, 8, tzinfo=MONDAY.tzinfo)
    assert 'class="mark"' in page
    assert "52 °F at 4 in" in page
    assert soil_today(page) < before


def test_a_remark_moves_the_water_of_its_zone_and_stays_visible(spring: Yard) -> None:
    SoilZone.objects.filter(field=spring.field).update(name="low end", share_pct=50)
    SoilZone.objects.create(
        farm=spring.farm, field=spring.field, name="hill", texture="sandy_loam", share_pct=50
    )
    low = SoilZone.objects.get(name="low end")
    boxes = typed(hour="07:30", what="too_wet", operation="disk", zone=str(low.pk), note="sticks")
    before = page_of(signed_in("mona"))
    page = signed_in("mona").post(f"{ADDRESS}remark/", boxes, follow=True).content.decode()
    kept = Remark.objects.get()
    assert (kept.zone, kept.what, kept.operation, kept.note) == (low, "too_wet", "disk", "sticks")
    assert "too wet to disk at low end" in page
    put = re.search(r"topsoil put up by (0\.\d+)", page)
    assert put is not None
    assert float(put[1]) > 0.005

    def at_eight(text: str, zone: str) -> float:
        told = re.search(rf"topsoil of {zone}[^<]*</title><desc[^>]*>(\d\.\d+) at 8 am", text)
        assert told is not None
        return float(told[1])

    assert at_eight(page, "low end") > at_eight(before, "low end")
    assert at_eight(page, "hill") == at_eight(before, "hill")
    for _time in range(2):
        page = signed_in("mona").post(f"{ADDRESS}remark/{kept.pk}/back/", follow=True).content.decode()
        assert "The remark on Pond 40 is taken back." in page
    assert "too wet to disk at low end" not in page
    assert at_eight(page, "low end") == at_eight(before, "low end")
    assert Remark.objects.count() == 2


def test_a_gauge_reading_and_one_of_a_thermometer_are_taken_back_and_count_no_more(spring: Yard) -> None:
    before = page_of(signed_in("mona"))
    client = signed_in("mona")
    client.post(f"{ADDRESS}gauge/", typed(rain_in="1.25", day="2026-04-19"))
    client.post(f"{ADDRESS}thermometer/", typed(hour="08:00", depth_in="4", temp_f="71"))
    gauge, warm = GaugeReading.objects.get(), SoilReading.objects.get()
    page = page_of(client)
    assert "1.25 in" in page
    assert drawn(page) != drawn(before)
    for kind, row in (("gauge", gauge), ("thermometer", warm)):
        for _time in range(2):
            page = client.post(f"{ADDRESS}{kind}/{row.pk}/back/", follow=True).content.decode()
            assert "is taken back." in page
    assert drawn(page) == drawn(before)
    assert page.count("<small>taken back</small>") == 2
    assert "/back/" not in page
    assert (GaugeReading.objects.count(), SoilReading.objects.count()) == (2, 2)
    assert client.post(f"{ADDRESS}gauge/{GaugeReading.objects.latest('id').pk}/back/").status_code == 404
    assert client.post(f"{ADDRESS}soil/{gauge.pk}/back/").status_code == 404


@pytest.mark.parametrize(
    ("form", "at", "boxes", "back"),
    [
        ("gauge", "rain_in", {"rain_in": "1.25"}, "gauge/{}/back/"),
        ("thermometer", "temp_f", {"hour": "08:00", "depth_in": "4", "temp_f": "71"}, "thermometer/{}/back/"),
        ("say", "word", {"word": "fit"}, "say/{}/back/"),
        ("remark", "what", {"what": "too_wet", "operation": "disk", "hour": "08:00"}, "remark/{}/back/"),
    ],
)
def test_a_form_of_what_was_taken_back_does_not_say_that_it_is_kept(
    spring: Yard, form: str, at: str, boxes: dict[str, str], back: str
) -> None:
    client, sent = signed_in("mona"), typed(**boxes)
    client.post(f"{ADDRESS}{form}/", sent)
    kept = {"gauge": GaugeReading, "thermometer": SoilReading, "say": SaySo, "remark": Remark}[form].objects
    client.post(f"{ADDRESS}{back.format(kept.get().pk)}")
    answer = client.post(f"{ADDRESS}{form}/", sent)
    assert answer.status_code == 422
    [wrong] = re.findall(rf'id="wrong-{at}" class="wrong" role="alert">(.*?)</span>', answer.text)
    assert wrong == "This was kept, and taken back since. Keep it once more, and it counts again."
    [anew] = re.findall(rf'id="{form}".*?name="client_id" value="([^"]+)"', answer.text, re.S)
    assert client.post(f"{ADDRESS}{form}/", {**sent, "client_id": anew}).status_code == 302
    assert kept.latest("id").is_taken_back is False


def test_of_two_words_for_a_day_the_newer_counts_until_it_is_taken_back(spring: Yard) -> None:
    client = signed_in("mona")
    for word in ("fit", "not_today"):
        client.post(f"{ADDRESS}say/", typed(word=word))
    second = SaySo.objects.latest("id")
    page = page_of(client)
    assert page.count("a newer word counts") == 1
    morning = "/farms/heron-slough/morning/"
    assert re.search(r'value="not_today" checked', page_of(client, morning))
    page = client.post(f"{ADDRESS}say/{second.pk}/back/", follow=True).content.decode()
    assert "The word on Pond 40 is taken back." in page
    assert "a newer word counts" not in page
    assert page.count("<small>taken back</small>") == 1
    assert re.search(r'value="fit" checked', page_of(client, morning))
    assert word_of_plan(spring) == ["fit"]


def drawn(page: str) -> list[str]:
    return re.findall(r"<desc id=[^>]+>([^<]+)</desc>", page)


def word_of_plan(yard: Yard) -> list[str]:
    rows = _sayings(yard.farm, MONDAY.date(), MONDAY.date(), None)[yard.field.pk]
    return [one.word.value for one in rows]


@pytest.mark.parametrize(
    ("form", "boxes", "says"),
    [
        ("gauge", {"rain_in": "-1"}, "cannot be negative"),
        ("gauge", {"rain_in": "lots"}, "“lots” is not a number."),
        ("gauge", {"rain_in": ""}, "Give the inches; 0 where none fell."),
        ("gauge", {"rain_in": "1", "day": "2026-04-22"}, "has not come yet"),
        ("thermometer", {"temp_f": "150", "depth_in": "4", "hour": "08:00"}, "150 °F in the ground"),
        ("thermometer", {"temp_f": "60", "depth_in": "40", "hour": "08:00"}, "at most 12"),
        ("thermometer", {"temp_f": "60", "depth_in": "4", "hour": "8ish"}, "“8ish” is not an hour."),
        ("remark", {"what": "too_wet", "operation": "dance", "hour": "08:00"}, "Say for which work."),
        ("remark", {"what": "soggy", "operation": "disk", "hour": "08:00"}, "Say too wet, too dry or fits."),
        ("remark", {"what": "fits", "operation": "disk", "hour": "23:00"}, "has not come yet"),
    ],
)
def test_what_cannot_be_is_said_at_its_box_and_what_was_typed_stays(
    spring: Yard, form: str, boxes: dict[str, str], says: str
) -> None:
    answer = signed_in("mona").post(f"{ADDRESS}{form}/", typed(**boxes))
    page = answer.content.decode()
    assert answer.status_code == 422
    mine = page.partition(f'id="{form}"')[2].partition("</form>")[0]
    assert re.search(r'class="wrong" role="alert">([^<]*)</span>', mine)
    assert says in mine
    for name, value in boxes.items():
        if name in ("rain_in", "temp_f", "depth_in", "hour") and value:
            assert f'value="{value}"' in mine
    rows = (GaugeReading, SoilReading, Remark)
    assert not any(row._default_manager.exists() for row in rows)


def test_a_word_from_the_field_may_plan_again_at_once(spring: Yard) -> None:
    boxes = typed(word="not_today", then="plan")
    answer = signed_in("mona").post(f"{ADDRESS}say/", boxes)
    assert answer["Location"] == "/farms/heron-slough/week/?plan=2"
    assert SaySo.objects.count() == 1
    assert WeekPlan.objects.get(number=2).starts_at == MONDAY
    spring.field_pass.state = "called_off"
    spring.field_pass.save()
    page = signed_in("mona").post(f"{ADDRESS}say/", typed(word="fit", then="plan"), follow=True)
    assert "Kept for Monday, April 20: fit. There is no new plan:" in page.content.decode()
    assert SaySo.objects.count() == 2


def test_fields_without_soil_or_weather_still_have_a_page(yard: Yard) -> None:
    client = signed_in("mona")
    assert "No weather is known yet" in page_of(client)
    make_dry_spring(yard.farm)
    make_field(yard.farm, "bare-10").zones.all().delete()
    page = page_of(client, "/farms/heron-slough/fields/bare-10/")
    assert "The soil of Bare 10 is not described" in page
    assert '<a href="#soil">Describe it here.</a>' in page
    assert '<details id="soil" open>' in page
    assert 'id="gauge"' in page


def test_another_fields_zone_is_no_zone_of_this_one(spring: Yard) -> None:
    other = make_field(spring.farm, "low-30").zones.get()
    boxes = typed(hour="07:30", what="too_wet", operation="disk", zone=str(other.pk))
    for zone in (str(other.pk), "9" * 40, "low end"):
        assert signed_in("mona").post(f"{ADDRESS}remark/", boxes | {"zone": zone}).status_code == 404
    assert not Remark.objects.exists()


def test_a_form_without_its_id_was_not_made_here(spring: Yard) -> None:
    for form in ("gauge", "thermometer", "remark", "say"):
        boxes = {
            "day": "2026-04-20",
            "hour": "08:00",
            "rain_in": "1",
            "temp_f": "60",
            "depth_in": "4",
            "what": "fits",
            "word": "fit",
            "operation": "disk",
        }
        assert signed_in("mona").post(f"{ADDRESS}{form}/", boxes).status_code == 404


def test_rain_of_this_morning_in_the_gauge_counts_at_once(spring: Yard) -> None:
    before = page_of(signed_in("mona"))
    page = signed_in("mona").post(f"{ADDRESS}gauge/", typed(rain_in="1.40"), follow=True).content.decode()
    assert "Mon Apr 20 1.40 in (the field&#x27;s gauge)" in page

    def at_the_end_of_today(text: str) -> float:
        today = re.search(r'<tr class="today">.*?<span class="wet w\d">(\d\.\d+)</span>', text, re.S)
        assert today is not None
        return float(today[1])

    assert at_the_end_of_today(page) > at_the_end_of_today(before)
