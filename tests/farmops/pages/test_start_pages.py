"""A farm from nothing on the pages: each step, what is refused on the way, and what it leaves behind."""

import datetime as dt
import json
import re
from decimal import Decimal
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from farmops.core.models import LongWork, User
from farmops.farms.models import (
    Farm,
    Field,
    Hand,
    HandAway,
    Implement,
    Machine,
    Membership,
    Role,
    Season,
    Shift,
    SoilZone,
    StartFile,
)
from farmops.pages import start_boundaries_page
from farmops.pages.views import start_files
from farmops.weather.models import DailyWeather
from ledger.models import Rate
from tests.factories import make_farm, make_field, make_hand

pytestmark = pytest.mark.django_db
STATE_PLANE = Path(__file__).parents[1] / "farms" / "outlines" / "georgia_west_ft.zip"
IMPLEMENTS = "name,does,width_ft,speed_min_mph,speed_mph,speed_max_mph,efficiency_pct,power_needed_hp\n"
HANDS = "name,may_do,days,from,to,rest_from,rest_to,sat_from,sat_to,language\n"


def file_of(content: bytes | str, name: str = "fields.zip") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content.encode() if isinstance(content, str) else content)


@pytest.fixture
def boss(client: Client) -> Client:
    client.force_login(User.objects.create_superuser("ada", password=None))
    return client


@pytest.fixture
def farm(boss: Client) -> Farm:
    farm = make_farm(latitude_deg=Decimal("31.305"), longitude_deg=Decimal("-84.04"))
    Membership.objects.create(farm=farm, user=User.objects.get(username="ada"), role=Role.MANAGER)
    return farm


def said(answer: Any) -> str:
    return str(answer.content.decode())


def square(west: float, south: float = 31.30, side: float = 0.004) -> dict[str, Any]:
    ring = [
        [west, south],
        [west + side, south],
        [west + side, south + side],
        [west, south + side],
        [west, south],
    ]
    return {"type": "Polygon", "coordinates": [ring]}


def collection(*geometries: Any) -> str:
    features = [
        {"type": "Feature", "properties": {"NAME": f"F{n}"}, "geometry": one}
        for n, one in enumerate(geometries, start=1)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features})


def test_only_who_runs_the_service_begins_a_farm_and_an_empty_service_says_how(client: Client) -> None:
    assert "createsuperuser" in said(client.get("/sign-in/"))
    client.force_login(User.objects.create_user("tom"))
    assert client.get("/start/").status_code == 403
    assert "createsuperuser" not in said(Client().get("/sign-in/"))


def test_from_an_empty_service_to_all_that_a_plan_needs(boss: Client) -> None:
    assert "Begin the farm" in said(boss.get("/"))
    empty = boss.post("/start/", {})
    assert empty.status_code == 422
    for sentence in ("Give the farm a name.", "Choose the clock.", "Give the place, or the file"):
        assert sentence in said(empty)
    facts = {"name": "Täst Farm", "zone": "America/New_York", "elevation_ft": "210"}
    other = boss.post("/start/", {**facts, "place": "31.3, 84.05"})
    assert "west of Greenwich it begins with a minus" in said(other)
    begun = boss.post("/start/", {**facts, "file": file_of(STATE_PLANE.read_bytes())}, follow=True)
    farm = Farm.objects.get()
    assert (farm.code, round(farm.latitude_deg, 2)) == ("tast-farm", Decimal("31.31"))
    assert "All 20 outlines in the file can become fields." in said(begun)
    assert "Georgia West (ftUS)" in said(begun)
    assert not Field.objects.exists(), "nothing is kept before somebody says so"
    base = f"/farms/{farm.code}/start/"
    assert boss.get("/", follow=True).redirect_chain[-1][0] == base, (
        "a farm without fields opens with its setting up"
    )
    keep = {"then": "keep", "named_by": "NAME", **{f"take-{n}": "on" for n in range(1, 21)}}
    keep |= {f"name-{n}": f"Field No. {n}" for n in range(1, 21)}
    assert "Choose the texture" in said(boss.post(f"{base}boundaries/", keep))
    twice = boss.post(f"{base}boundaries/", {**keep, "texture": "sandy_loam", "name-3": "field no. 2"})
    assert "Field 2 has the same name." in said(twice)
    assert not Field.objects.exists()
    boss.post(f"{base}boundaries/", {**keep, "texture": "sandy_loam"})
    assert Field.objects.count() == SoilZone.objects.filter(texture="sandy_loam", share_pct=100).count() == 20
    assert not StartFile.objects.exists()
    clay = Field.objects.get(code="field-no-7")
    boxes: dict[str, str] = {f"acres-{one.pk}": str(one.planted_ac) for one in Field.objects.all()}
    boxes |= {f"acres-{clay.pk}": "31.5", f"texture-{clay.pk}": "clay_loam", f"crop-{clay.pk}": "peanuts"}
    boss.post(f"{base}fields/", {"crop_year": "2027", "crop": "cotton", **boxes})
    assert Season.objects.filter(crop_year=2027, crop="cotton").count() == 19
    assert Season.objects.get(field=clay).area_ac == Decimal("31.5")
    assert clay.zones.get().texture == "clay_loam"
    rows = 'name,power_hp,meter_start_h\nbig tractor,250,"2,104.6"\n'
    assert "One row is right. Keep it?" in said(
        boss.post(f"{base}machines/", {"then": "read", "file": file_of(rows, "m.csv")}, follow=True)
    )
    assert not Machine.objects.exists()
    boss.post(f"{base}machines/", {"then": "keep", "rows": rows})
    assert Machine.objects.get().meter_start_h == Decimal("2104.6")
    boss.post(f"{base}implements/", {"then": "keep", "rows": f"{IMPLEMENTS}disk,disk,28,4,5,6,80,175\n"})
    hands = f"{HANDS}José Prado,disk; sembrar,lun-sat,7:00,6 pm,12:00,12:30,7,12:00,español\n"
    boss.post(f"{base}hands/", {"then": "keep", "rows": hands})
    assert Shift.objects.filter(hand__code="jose-prado").count() == 5 * 2 + 1
    days = [dt.date(2026, 1, 1) + dt.timedelta(days=n) for n in range(60)]
    weather = "date,temp_min_f,temp_max_f,rain_in\n" + "".join(f"{day},45,66.5,0.1\n" for day in days)
    boss.post(f"{base}weather/", {"format": "daily-csv", "file": file_of(weather, "w.csv")})
    assert DailyWeather.objects.filter(farm=farm).count() == 60
    page = said(boss.get(base))
    assert "Seven of nine steps are done. Next: orders of work" in page
    assert Hand.objects.get().language == "es"
    assert Implement.objects.get().code == "disk"


def test_what_cannot_be_a_field_is_named_and_left_out(boss: Client, farm: Farm) -> None:
    make_field(farm, "old", boundary=square(-84.20), name="Old")
    bow = {
        "type": "Polygon",
        "coordinates": [[[-84.0, 31.3], [-83.99, 31.31], [-83.99, 31.3], [-84.0, 31.31], [-84.0, 31.3]]],
    }
    outlines = (
        square(-84.05),
        square(-84.05, 31.30005),
        square(-84.048),
        bow,
        square(-80.0),
        square(-84.5, 31.0, 0.1),
        {"type": "Point", "coordinates": [-84, 31]},
        square(-84.20),
    )
    page = boss.post(
        f"/farms/{farm.code}/start/boundaries/",
        {"then": "read", "file": file_of(collection(*outlines), "f.json")},
        follow=True,
    )
    text = said(page)
    assert "2 of 8 outlines in the file can become fields." in text
    assert "It is the same ground as F1." in text
    assert "It lies over F1 by 20.9 acres." in text
    assert "The boundary crosses itself near [-83.9950000, 31.3050000]." in text
    assert "km from the farm (at most 200)." in text
    assert "at most 5,000 are taken for one field" in text
    assert "It is a Point, which encloses no ground." in text
    assert "It is the same ground as Old." in text
    forged = {
        "then": "keep",
        "texture": "loam",
        "take-4": "on",
        "name-4": "Bow",
        "take-1": "on",
        "name-1": "Old",
    }
    wrong = boss.post(f"/farms/{farm.code}/start/boundaries/", forged)
    assert "The farm has a field of this name already." in said(wrong)
    assert Field.objects.count() == 1


def test_swapped_axes_are_told_and_taken_the_other_way_round(boss: Client, farm: Farm) -> None:
    geometry = square(-84.05)
    geometry["coordinates"] = [[[y, x] for x, y in ring] for ring in geometry["coordinates"]]
    address = f"/farms/{farm.code}/start/boundaries/"
    told = boss.post(address, {"then": "read", "file": file_of(collection(geometry), "f.json")}, follow=True)
    assert "longitude and latitude look swapped, since the other way round it lies" in said(told)
    assert "The outline in the file can become a field." in said(
        boss.post(address, {"then": "swap"}, follow=True)
    )


@pytest.mark.parametrize(
    ("kind", "rows", "says"),
    [
        (
            "implements",
            f"{IMPLEMENTS}disk,disk,28 ft,4,5,6,80,175",
            "Row 2, column width_ft: “28 ft” is not a number",
        ),
        (
            "implements",
            f"{IMPLEMENTS}disk,disk,28,4,7,6,80,175",
            "column speed_mph: 7.0 mph does not lie between",
        ),
        ("implements", f"{IMPLEMENTS}a,mulch,900,4,5,6,80,1", "column width_ft: 900 is outside 0.5 to 200"),
        (
            "implements",
            f"{IMPLEMENTS}a,mulch,900,4,5,6,80,1",
            "column does: “mulch” is no work that is known",
        ),
        (
            "machines",
            "name,power_hp,meter_start_h\n\n\nold,50,\n",
            "Row 4, column meter_start_h: is missing.",
        ),
        ("machines", "name,powr_hp,meter_start_h\nold,50,1", "“powr_hp”; is power_hp meant?"),
        (
            "machines",
            "name;power_hp;meter_start_h\nold;50;1\nOLD;60;1\n",
            "Row 3, column name: row 2 says the same.",
        ),
        (
            "machines",
            "name,power_hp,meter_start_h,code\nold,50,1,taken",
            "column code: something else of the farm has the code",
        ),
        ("machines", 'name,power_hp,meter_start_h\n"old,50,1', "each quotation mark is closed"),
        ("hands", f"{HANDS}Wes,all,mon-fri,18:00,7:00,,,,,", "column to: 07:00 is not later than 18:00"),
        (
            "hands",
            f"{HANDS}Wes,all,moon,7,25:00,12:00,,,,xx",
            "column days: “moon” are not days such as mon-fri",
        ),
        (
            "hands",
            f"{HANDS}Wes,all,moon,7,25:00,12:00,,,,xx",
            "column language: “xx” is neither English nor Spanish",
        ),
        (
            "hands",
            f"{HANDS}Wes,all,mon,7,17:00,12:00,,,,",
            "column rest_to: is missing: a stretch of hours has two ends",
        ),
        ("pivots", "field,pump,name\n", "missing in the first line: last_tower_radius_ft"),
        ("pumps", "name,flow_gpm\nwell,1_000\n", "“1_000” is not a number"),
    ],
)
def test_each_bad_cell_is_named_and_nothing_is_kept(
    boss: Client, farm: Farm, kind: str, rows: str, says: str
) -> None:
    Machine.objects.create(farm=farm, code="x", name="x", power_hp=1, meter_start_h=0)
    Hand.objects.create(farm=farm, code="taken", name="somebody")
    page = boss.post(f"/farms/{farm.code}/start/{kind}/", {"then": "keep", "rows": rows})
    assert page.status_code == 422
    assert says in said(page)
    assert (Machine.objects.count(), Implement.objects.count(), Hand.objects.count()) == (1, 0, 1)
    assert StartFile.objects.get().content == {"text": rows}, "what was handed in waits to be mended"


def test_a_template_is_handed_out_and_its_own_rows_are_not_kept(boss: Client, farm: Farm) -> None:
    for kind in ("machines", "implements", "hands", "pumps"):
        template = boss.get(f"/farms/{farm.code}/start/{kind}/rows.csv").content.decode("utf-8-sig")
        page = boss.post(f"/farms/{farm.code}/start/{kind}/", {"then": "keep", "rows": template})
        assert "this is still the row that shows how the table is filled" in said(page)
    assert boss.get(f"/farms/{farm.code}/start/outfits/").status_code == 404


def test_a_known_row_changes_what_its_columns_say_and_leaves_the_rest(boss: Client, farm: Farm) -> None:
    address = f"/farms/{farm.code}/start/hands/"
    boss.post(address, {"then": "keep", "rows": f"{HANDS}Wes Tull,all,mon-fri,7:00,17:00,,,,,Spanish"})
    hand = Hand.objects.get()
    Hand.objects.update(email="wes@farm.example")
    HandAway.objects.create(farm=farm, hand=hand, first_on=dt.date(2026, 7, 1), last_on=dt.date(2026, 7, 3))
    boss.post(address, {"then": "keep", "rows": "name,may_do,days,from,to\nwes tull,disk,mon,8:00,12:00"})
    hand.refresh_from_db()
    assert (hand.name, hand.email, hand.language) == ("wes tull", "wes@farm.example", "es")
    assert [one.operation for one in hand.skills.all()] == ["disk"]
    assert Shift.objects.get(hand=hand).starts_at == dt.time(8)
    assert HandAway.objects.get().hand == hand


def test_many_fields_are_kept_as_long_work(boss: Client, farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(start_files, "AT_ONCE", 2)
    monkeypatch.setattr(start_files, "EDITABLE", 3)
    monkeypatch.setattr(start_boundaries_page, "EDITABLE", 3)
    address = f"/farms/{farm.code}/start/boundaries/"
    content = collection(*[square(-84.05 + 0.01 * n) for n in range(4)])
    page = boss.post(address, {"then": "read", "file": file_of(content, "f.json")}, follow=True)
    assert "Keep all 4 fields" in said(page)
    done = boss.post(address, {"then": "keep", "texture": "loam"}, follow=True)
    work = LongWork.objects.get()
    assert (work.kind, work.state, work.result) == ("boundaries", "finished", {"fields": 4})
    assert "4 fields are kept." in said(done)
    assert Field.objects.count() == 4


def test_who_is_taken_on_chooses_a_password_once_by_the_link(boss: Client, farm: Farm) -> None:
    address = f"/farms/{farm.code}/start/people/"
    person = {"name": "Bo Key", "username": "bo", "email": "bo@farm.example", "language": "en"}
    assert "Choose what he or she does here." in said(boss.post(address, person))
    assert "“" not in said(boss.post(address, {**person, "roles": ["bookkeeper"]}, follow=True))
    taken = boss.post(address, {**person, "username": "ADA", "roles": ["bookkeeper"]})
    assert "Somebody signs in by this name already; choose another." in said(taken)
    user = User.objects.get(username="bo")
    assert set(user.memberships.values_list("role", flat=True)) == {"bookkeeper"}
    link = boss.post(f"{address}{user.pk}/link/").context["address"]
    path = link.removeprefix("http://testserver")
    stranger = Client()
    form = stranger.get(path, follow=True)
    word = "quince-ladder-94"
    stranger.post(form.redirect_chain[-1][0], {"new_password1": word, "new_password2": word})
    assert stranger.login(username="bo", password=word)
    assert "does not work any more" in said(Client().get(path, follow=True))
    again = boss.post(f"{address}{user.pk}/link/", follow=True)
    assert "nobody of this farm who waits for a password" in said(again), (
        "an account in use is not taken over"
    )
    me = User.objects.get(username="ada")
    assert "nobody of this farm" in said(boss.post(f"{address}{me.pk}/link/", follow=True))


def test_wages_and_prices_are_rows_of_what_there_is_and_rows_without_a_price_are_passed_over(
    boss: Client, farm: Farm
) -> None:
    make_hand(farm, "rosa")
    address = f"/farms/{farm.code}/start/rates/"
    page = unescape(said(boss.get(address)))
    assert re.search(
        r"kind,subject,unit,usd_per_unit,valid_from\nwage,rosa,h,,\d{4}-01-01\nfuel,,gal,,\d{4}-01-01", page
    )
    rows = "kind,subject,unit,usd_per_unit,valid_from\nwage,rosa,h,{},2026-01-01\nfuel,,gal,,2026-01-01\n"
    refused = boss.post(address, {"rows": rows.format("")})
    assert (refused.status_code, "No row has a price yet." in said(refused)) == (422, True)
    refused = boss.post(address, {"rows": rows.format("a lot")})
    assert refused.status_code == 422
    assert "a lot" in said(refused)
    assert not Rate.objects.exists()
    assert "1 rate is kept." in said(boss.post(address, {"rows": rows.format("17.25")}, follow=True))
    assert Rate.objects.get().price_e4 == 172_500
    assert "1 price stands already." in said(boss.get(address))


def test_other_farms_and_other_roles_are_kept_out(boss: Client, farm: Farm) -> None:
    other = make_farm("other")
    pages = ["", "boundaries/", "fields/", "machines/", "weather/", "rates/", "people/", "place/"]
    assert [boss.get(f"/farms/other/start/{one}").status_code for one in pages] == [404] * len(pages)
    foreign = make_field(other)
    forged = boss.post(f"/farms/{farm.code}/start/fields/", {"crop_year": "2026", f"acres-{foreign.pk}": "1"})
    assert forged.status_code == 404
    Membership.objects.update(role=Role.BOOKKEEPER)
    codes = [boss.get(f"/farms/{farm.code}/start/{one}").status_code for one in pages]
    assert codes == [200 if one == "rates/" else 403 for one in pages]


def test_the_pages_ask_the_database_as_often_whatever_there_is(boss: Client, farm: Farm) -> None:
    def counts() -> list[int]:
        found = []
        for page in ("", "boundaries/", "fields/", "machines/", "people/"):
            with CaptureQueriesContext(
                connection,
            ) as asked:
                assert boss.get(f"/farms/{farm.code}/start/{page}").status_code == 200
            found.append(len(asked))
        return found

    found: list[list[int]] = []
    for size in (2, 7):
        for n in range(size):
            make_field(farm, f"f{size}-{n}", boundary=square(-84.3 + 0.01 * n, 31.2 + size / 100))
            Machine.objects.create(
                farm=farm, code=f"m{size}-{n}", name=f"m{size}-{n}", power_hp=1, meter_start_h=0
            )
            clerk = User.objects.create_user(f"u{size}-{n}")
            Membership.objects.create(farm=farm, user=clerk, role=Role.BOOKKEEPER)
        content = collection(*[square(-84.05 + 0.01 * n) for n in range(size)])
        boss.post(
            f"/farms/{farm.code}/start/boundaries/", {"then": "read", "file": file_of(content, "f.json")}
        )
        rows = "name,power_hp,meter_start_h\n" + "".join(f"t{n},50,1\n" for n in range(size))
        boss.post(f"/farms/{farm.code}/start/machines/", {"then": "read", "rows": rows})
        found.append(counts())
    assert found[0] == found[1]
