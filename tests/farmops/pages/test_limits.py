"""The page of limits: what holds and whose choice rules, the form that changes one, and the fit of zones to remarks."""

import datetime as dt
import re
import uuid
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.core import clock
from farmops.farms.models import Farm, Field, SoilZone
from farmops.pages.limit_lines import limit_line, number_from, number_said, span_of, typed_number
from farmops.pages.limits_page import limits_facts
from scheduling.models import LimitChoice, Remark, ZoneLimitChange
from scheduling.selectors.limits import limits_of
from scheduling.services.limit_choices import choose_limit
from scheduling.services.remarks import record_remark
from scheduling.windows import load_limits
from scheduling.windows.limits import Quantity
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.scheduling.ground import make_dry_spring, make_pivot

ADDRESS = "/farms/heron-slough/limits/"
AT_TEN = MONDAY + dt.timedelta(hours=10)
REASON = "farm judgement: the low end balls up early"


@pytest.fixture
def spring(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm, rain_mm=9.0)
    monkeypatch.setattr(clock, "now", lambda: AT_TEN)
    return yard


def shown(query: str = "", *, status: int = 200) -> str:
    answer = signed_in("mona").get(ADDRESS + query)
    assert answer.status_code == status
    return answer.content.decode()


def send(key: str, *, status: int = 200, **boxes: str) -> str:
    form = {"field": "", "number": "", "is_used": "on", "effect": "shuts", "source": REASON, "then": "keep"}
    answer = signed_in("mona").post(f"{ADDRESS}{key}/", {**form, **boxes}, follow=True)
    assert answer.status_code == status
    return answer.content.decode()


def row_of(page: str, line: str) -> str:
    found = re.search(rf"<tr[^>]*><td><b>{re.escape(line)}</b>.*?</tr>", page, re.S)
    assert found is not None, line
    return found[0]


def choose(yard: Yard, key: str, **what: object) -> LimitChoice:
    return choose_limit(farm=yard.farm, key=key, source=REASON, set_by=None, now=AT_TEN, **what)  # type: ignore[arg-type]


def test_every_limit_that_ships_has_one_line_with_its_number_and_no_name_of_the_code() -> None:
    for limit in load_limits():
        line = limit_line(limit)
        assert 10 <= len(line) <= 110, limit.key
        assert not re.search(r"[_{}\n]", line), line
        no_number = {Quantity.POWER_SHUT, Quantity.RE_ENTRY, Quantity.PLANT_BACK, Quantity.DAYLIGHT}
        if limit.quantity not in no_number:
            assert number_said(limit) in line, limit.key


def test_a_number_typed_as_it_is_shown_is_the_limit_s_own_again() -> None:
    for limit in load_limits():
        assert number_from(limit, Decimal(typed_number(limit))) == pytest.approx(limit.number, abs=1e-12)


def test_lines_say_depth_days_and_units_as_people_read_them() -> None:
    lines = {limit.key: limit_line(limit) for limit in load_limits()}
    spans = {limit.key: span_of(limit) for limit in load_limits()}
    assert lines["cotton_soil"] == "cotton: soil at 4 in, mean of the day, at least 65 °F three days running"
    assert lines["cotton_morning"] == "cotton: soil at 3 in by 10 am at least 65 °F"
    assert lines["sticks"] == "topsoil's water at most 100 % of the zone's wet limit"
    assert lines["ruts"] == "topsoil dry enough to carry a wheel of 6,000 lb without ruts"
    assert (spans["sticks"], spans["power"], spans["wind_most"]) == ("0 to 200 %", "", "0 to 60 mph")


def test_kinds_of_work_the_farm_has_stand_open_and_the_others_under_a_fold(spring: Yard) -> None:
    page = shown()
    before, fold, after = page.partition('<details class="others">')
    assert fold
    headings = re.findall(r"<h2>([^<]+)</h2>", before)
    assert headings == ["All work", "Disk"]
    others = after.partition('<section id="zones">')[0]
    assert "<h2>Pick cotton</h2>" in others
    row = row_of(before, "Topsoil&#x27;s water at most 100 % of the zone&#x27;s wet limit")
    assert "shuts" in row
    assert "as it ships" in row
    assert "farm judgement" in row


def test_no_name_of_a_module_stands_on_the_page(spring: Yard) -> None:
    page = shown()
    assert "share of field capacity by texture or the zone&#x27;s own number</td>" in page
    assert "farmops." not in page


def test_only_the_crops_of_the_farm_are_told(spring: Yard) -> None:
    make_pass(spring.field_pass.season, "plant")
    assert "<b>Cotton: soil at 4 in" in shown()
    assert "Peanuts: soil at 4 in" not in shown()
    make_season(make_field(spring.farm, "mill-20", name="Mill 20"), crop="peanuts")
    assert "<b>Peanuts: soil at 4 in" in shown()


def test_what_is_of_pivots_or_dry_land_is_told_only_where_there_is_such_ground(spring: Yard) -> None:
    make_pass(spring.field_pass.season, "plant")
    dry, pivot = "Dry land: water where the seed goes", "Under a pivot: water where the seed goes"
    page = shown("?field=pond-40")
    assert dry in page
    assert pivot not in page
    assert "The pivot is parked" not in page
    make_pivot(spring.field)
    page = shown("?field=pond-40")
    assert dry not in page
    assert pivot in page
    assert "The pivot is parked" in page


def test_a_number_with_more_digits_than_its_box_shows_is_not_taken_for_a_new_one(spring: Yard) -> None:
    choose(spring, "sticks", number=2 / 3)
    number = re.search(r'name="number"[^>]*value="([^"]+)"', shown("?field=pond-40&limit=sticks"))
    assert number is not None
    send("sticks", field="pond-40", number=number[1], effect="advice")
    assert LimitChoice.objects.get(field=spring.field).number is None


def test_what_is_off_stands_apart_and_says_so(spring: Yard) -> None:
    page = shown()
    assert "1 more, off" in page or "2 more, off" in page
    assert 'class="is-off"' in row_of(
        page, "Topsoil&#x27;s water at least 100 % of the zone&#x27;s dry limit"
    )


def test_a_number_of_the_farm_s_own_is_kept_with_who_when_and_why_and_the_shipped_one_stays_in_sight(
    spring: Yard,
) -> None:
    page = send("sticks", number="95")
    kept = LimitChoice.objects.get()
    assert (kept.key, kept.number, kept.is_used, kept.effect, kept.field) == ("sticks", 0.95, None, "", None)
    assert (kept.source, str(kept.set_by)) == (REASON, "mona")
    row = row_of(page, "Topsoil&#x27;s water at most 95 % of the zone&#x27;s wet limit")
    assert "the farm&#x27;s, mona, April 20, 2026" in row
    assert "ships: 100 % of the zone&#x27;s wet limit" in row
    assert REASON in row
    assert "one is by your own choice" in page


def test_a_field_s_own_choice_rules_there_alone_and_the_field_s_page_says_so(spring: Yard) -> None:
    make_field(spring.farm, "mill-20", name="Mill 20")
    send("sticks", number="95")
    page = send("sticks", number="90", field="pond-40")
    assert "Topsoil&#x27;s water at most 90 %" in page
    assert "this field&#x27;s, mona" in row_of(
        page, "Topsoil&#x27;s water at most 90 % of the zone&#x27;s wet limit"
    )
    make_pass(make_season(Field.objects.get(code="mill-20")))
    other = row_of(shown("?field=mill-20"), "Topsoil&#x27;s water at most 95 % of the zone&#x27;s wet limit")
    assert "the farm&#x27;s, mona" in other
    assert "this field&#x27;s" not in other
    assert "another on Pond 40" in other
    assert "another on Pond 40" in shown()
    field_page = signed_in("mona").get("/farms/heron-slough/fields/pond-40/").content.decode()
    assert f'href="{ADDRESS}?field=pond-40"' in field_page
    ruling = field_page.partition('id="ruling"')[2].partition("</section>")[0]
    assert "at most 90 % of the zone&#x27;s wet limit" in ruling
    assert "this field&#x27;s, mona, April 20, 2026" in ruling
    assert "95 %" not in ruling


def test_only_what_differs_from_the_farm_is_kept_of_a_field_s_form(spring: Yard) -> None:
    send("sticks", number="95")
    send("sticks", number="95", field="pond-40", effect="advice")
    mine = LimitChoice.objects.get(field=spring.field)
    assert (mine.number, mine.is_used, mine.effect) == (None, None, "advice")
    send("sticks", number="85")
    (standing,) = [one for one in limits_of(farm=spring.farm).of(spring.field.pk) if one.key == "sticks"]
    assert (standing.number, standing.effect) == (0.85, "advice")


def test_a_limit_that_ships_off_is_switched_on_and_back(spring: Yard) -> None:
    page = send("clods", number="100", is_used="on")
    assert 'class="is-off"' not in row_of(
        page, "Topsoil&#x27;s water at least 100 % of the zone&#x27;s dry limit"
    )
    assert "Go back to what ships" in shown("?limit=clods")
    page = send("clods", then="back", source="")
    assert 'class="is-off"' in row_of(
        page, "Topsoil&#x27;s water at least 100 % of the zone&#x27;s dry limit"
    )
    newest = LimitChoice.objects.order_by("-id")[0]
    assert (newest.number, newest.is_used, newest.effect) == (None, None, "")
    assert limits_of(farm=spring.farm).choices == ()
    assert "Go back to what ships" not in shown("?limit=clods")


@pytest.mark.parametrize(
    ("boxes", "box", "says"),
    [
        ({"is_used": "off"}, "What it does", "The label wins; it can be made stricter, never left out."),
        ({"effect": "advice"}, "Whose number", "The label wins; it can be made stricter, never left out."),
        ({"number": "-5"}, "On or off", "The number is -5; re_entry is told from 0 to 720 h."),
        ({"number": "a few"}, "On or off", "“a few” is not a number."),
        ({"number": "2", "source": ""}, "Keep this choice", "It is empty, and something must stand there."),
    ],
)
def test_what_a_label_does_not_allow_is_refused_at_its_box_and_nothing_typed_is_lost(
    spring: Yard, boxes: dict[str, str], box: str, says: str
) -> None:
    sent = {"number": "0", "is_used": "on", "effect": "shuts", "source": "I know better", **boxes}
    page = send("re_entry", status=422, **sent)
    form = page.partition('id="change"')[2].partition("</form>")[0]
    assert f'class="wrong" role="alert">{says}</span>' in form
    assert form.index(says) < form.index(box)
    assert f'name="number" inputmode="decimal" autocomplete="off" size="8" value="{sent["number"]}"' in form
    assert f'name="is_used" value="{sent["is_used"]}" checked' in form
    assert f'name="effect" value="{sent["effect"]}" checked' in form
    assert f'name="source" value="{sent["source"]}"' in form
    assert LimitChoice.objects.count() == 0


def test_a_share_out_of_reach_is_refused_in_the_per_cent_that_were_typed(spring: Yard) -> None:
    page = send("sticks", status=422, number="300")
    assert "300 % cannot be; it is told from 0 to 200 %." in page
    assert 'value="300"' in page
    assert LimitChoice.objects.count() == 0


def test_a_label_s_hours_may_be_made_longer(spring: Yard) -> None:
    assert "and 12 hours more" in send("re_entry", number="12")
    assert LimitChoice.objects.get().number == 12


def test_another_farm_s_field_an_unknown_limit_and_other_roles_find_nothing(spring: Yard) -> None:
    make_field(make_farm("other-farm", name="Other"), "far-10", name="Far 10")
    assert signed_in("mona").get(f"{ADDRESS}?field=far-10").status_code == 404
    assert signed_in("mona").get(f"{ADDRESS}?limit=nothing").status_code == 404
    send("nothing", status=404)
    send("sticks", status=404, field="far-10")
    for name in ("bo", "rosa"):
        client = signed_in(name)
        assert client.get(ADDRESS).status_code == 403
        assert client.post(f"{ADDRESS}sticks/", {}).status_code == 403
        assert client.post(f"{ADDRESS}zones/fit/", {}).status_code == 403
    assert LimitChoice.objects.count() == 0


def test_the_page_serves_without_weather_soil_or_work(db: None, yard: Yard) -> None:
    SoilZone.objects.all().delete()
    page = shown()
    assert "No soil is described for the fields of" in page
    assert "<h2>Disk</h2>" in page


def test_nothing_on_the_page_needs_inline_style_or_script_and_every_box_has_a_name(spring: Yard) -> None:
    answer = signed_in("mona").get(f"{ADDRESS}?field=pond-40&limit=sticks")
    page = answer.content.decode()
    assert "default-src 'none'" in answer["Content-Security-Policy"]
    assert not re.search(r"\sstyle=|<style|<script(?! src=./static/pages/)|\son\w+=", page)
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    labels = set(re.findall(r'<label for="([^"]+)"', page))
    for box in re.findall(r"<(?:select|input)[^>]*>", page):
        if 'type="hidden"' in box or 'type="radio"' in box:
            continue
        named = re.search(r'id="([^"]+)"', box)
        assert named is not None, box
        assert named[1] in labels


def said(yard: Yard, day: int, what: str) -> Remark:
    row, _is_new = record_remark(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        field=yard.field,
        said_at=dt.datetime(2026, 4, day, 12, tzinfo=MONDAY.tzinfo),
        what=what,
        operation="disk",
        said_by=None,
        now=AT_TEN,
    )
    return row


def mark_of(page: str) -> str:
    found = re.search(r'name="mark" value="([^"]+)"', page)
    assert found is not None
    return found[1]


def test_the_fit_to_remarks_is_shown_before_and_after_and_one_button_keeps_it(spring: Yard) -> None:
    for day in (15, 16, 17, 18):
        said(spring, day, "too_wet")
    page = shown("?field=pond-40")
    table = page.partition("What the remarks would make of them")[2]
    wet = re.search(
        r'data-label="Limit">wet</td>.*?Before">(0\.\d{3})<.*?agrees with">(\d)<.*?<b>(0\.\d{3})</b>.*?agrees with">(\d)<',
        table,
        re.S,
    )
    assert wet is not None
    assert float(wet[3]) < float(wet[1])
    assert int(wet[4]) > int(wet[2])
    page = (
        signed_in("mona")
        .post(f"{ADDRESS}zones/fit/", {"field": "pond-40", "mark": mark_of(page)}, follow=True)
        .content.decode()
    )
    assert "1 zone has new limits." in page
    zone = SoilZone.objects.get(field=spring.field)
    assert f"{zone.workable_m3_m3:.3f}" == wet[3]
    change = ZoneLimitChange.objects.get()
    assert (change.remark_count, change.set_by_name, str(change.set_by)) == (4, "mona", "mona")
    assert "fitted to 4 remarks, mona, April 20, 2026" in page
    assert 'name="mark"' not in page


def test_a_remark_that_came_in_since_the_page_was_read_must_be_seen_first(spring: Yard) -> None:
    for day in (16, 17, 18):
        said(spring, day, "too_wet")
    mark = mark_of(shown())
    said(spring, 19, "too_wet")
    page = (
        signed_in("mona")
        .post(f"{ADDRESS}zones/fit/", {"field": "", "mark": mark}, follow=True)
        .content.decode()
    )
    assert "Remarks or weather came in since" in page
    assert ZoneLimitChange.objects.count() == 0


def test_a_choice_no_limit_can_follow_is_told_and_shuts_nothing(spring: Yard) -> None:
    LimitChoice.objects.create(farm=spring.farm, key="gone", number=3, source=REASON, set_at=AT_TEN)
    assert "is not followed" in shown()


def test_the_page_s_facts_take_as_many_questions_of_many_fields_as_of_one(spring: Yard) -> None:
    choose(spring, "sticks", number=0.9)

    def asked() -> int:
        farm = Farm.objects.get(pk=spring.farm.pk)
        with CaptureQueriesContext(connection) as found:
            limits_facts(farm=farm, field=None, key="", typed={}, now=AT_TEN)
        return len(found)

    of_one = asked()
    for number in range(8):
        make_field(spring.farm, f"mill-{number}", name=f"Mill {number}")
    assert asked() == of_one


@pytest.mark.parametrize("number", ["1e999999999", "1e400", "NaN", "-Infinity", "12345678901234567890"])
def test_numbers_no_limit_can_hold_are_refused_with_a_sentence(spring: Yard, number: str) -> None:
    assert 'class="wrong"' in send("sticks", status=422, number=number)
    assert LimitChoice.objects.count() == 0
