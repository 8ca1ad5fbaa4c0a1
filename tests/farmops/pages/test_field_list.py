"""The list of fields: its map, its lines, what its address asks for, and how often it asks the database."""

import datetime as dt
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pyproj import Geod

from farmops.core import clock
from farmops.pages.plots.farm_map import MapField, farm_map, length_said
from scheduling.models import PassLink, PassState
from tests.factories import make_field, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.farmops.pages.test_markup import Document
from tests.scheduling.ground import make_dry_spring

ADDRESS = "/farms/heron-slough/fields/"


@pytest.fixture
def spring(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm)
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=5))
    return yard


def shown(query: str = "") -> str:
    answer = signed_in("mona").get(ADDRESS + query)
    assert answer.status_code == 200
    assert Document(answer.text).wrong == []
    return re.sub(r"\s+", " ", answer.text)


def names(page: str) -> list[str]:
    return re.findall(r'<th scope="row"><span class="fig">[^<]*</span> <a href="[^"]*">(.*?)</a>', page)


def test_a_season_is_a_line_whose_address_keeps_what_is_asked_for(spring: Yard) -> None:
    corn = make_season(make_field(spring.farm, "low-30", texture="clay_loam"), crop="corn")
    make_season(corn.field, crop="cotton", crop_year=2025)
    make_pass(corn, "disk", state=PassState.FINISHED, due_on=dt.date(2026, 4, 1))
    bed = make_pass(corn, "rip_bed", due_on=dt.date(2026, 4, 18))
    plant = make_pass(corn, "plant", due_on=dt.date(2026, 5, 2))
    PassLink.objects.create(farm=spring.farm, before=bed, after=plant)
    make_pass(corn, "combine", state=PassState.CALLED_OFF)
    make_field(spring.farm, "bare-10").zones.all().delete()

    page = shown()
    assert names(page) == ["Bare 10", "Low 30", "Pond 40"]
    assert "Two of three fields wait for work. One is late." in page
    line = page[page.index("residue of cotton") :]
    steps = re.findall(r'<li class="([a-z _]+)">(.*?) <small>(.*?)</small>', line[: line.index("</ol>")])
    assert steps == [
        ("done", "disk", "done"),
        ("next late", "rip and bed", "next, late: due Apr 18"),
        ("ahead", "plant", "ahead, due May 2"),
        ("off", "combine", "called off"),
    ]
    assert page.count('<path class="g') == 2
    assert page.count('<path class="unknown"') == 1

    assert names(shown("?show=late")) == ["Low 30"]
    assert names(shown("?show=idle")) == ["Bare 10"]
    assert names(shown("?show=today&crop=cotton")) == ["Pond 40"]
    none = shown("?show=begun&crop=corn")
    assert "No field is so today." in none
    assert "fields are so" not in none
    assert '<option value="begun" selected>' in none
    assert '<option value="corn" selected>' in none
    assert names(shown("?show=nonsense&crop=hay&page=0")) == names(page)


def test_more_fields_ask_the_database_no_more_often(spring: Yard) -> None:
    client = signed_in("mona")
    client.get(ADDRESS)
    counts = []
    for number in (0, 5):
        for at in range(number):
            season = make_season(make_field(spring.farm, f"more-{at}"))
            PassLink.objects.create(
                farm=spring.farm, before=make_pass(season, "disk"), after=make_pass(season, "plant")
            )
        client.get(ADDRESS)  # works the ground of the new fields out
        with CaptureQueriesContext(connection) as asked:
            assert client.get(ADDRESS).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_the_map_keeps_north_up_and_its_bar_true_to_the_ground() -> None:
    """Distances by PROJ's geodesics on WGS 84, to one in a hundred."""

    def square(west: float, south: float) -> dict[str, object]:
        side = 0.004
        ring = [
            (west, south),
            (west + side, south),
            (west + side, south + side),
            (west, south + side),
            (west, south),
        ]
        return {"type": "Polygon", "coordinates": [ring]}

    places = ((-83.60, 31.40), (-83.56, 31.43))
    drawn = farm_map(
        [MapField(n, f"f-{n}", square(*place), 1, "0.20", "") for n, place in enumerate(places, start=1)]
    )
    assert drawn is not None
    (x1, y1), (x2, y2) = (
        [float(part) for part in re.findall(r"M(\S+) ([\d.]+)", one.path)[0]] for one in drawn.fields
    )
    assert x2 > x1
    assert y2 < y1
    number, unit = drawn.bar_said.replace(",", "").split()
    feet = float(number) * (1 if unit == "ft" else 5280)
    feet_per_px = feet / (float(drawn.bar_end_px) - 8)
    metres = Geod(ellps="WGS84").inv(*places[0], *places[1])[2]
    assert ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 * feet_per_px == pytest.approx(metres / 0.3048, rel=0.01)
    assert farm_map([]) is None


@pytest.mark.parametrize(
    ("length_ft", "said"), [(500, "500 ft"), (2000, "2,000 ft"), (5280, "1 mile"), (26_400, "5 miles")]
)
def test_the_scale_is_in_feet_and_from_a_mile_on_in_miles(length_ft: int, said: str) -> None:
    assert length_said(length_ft) == said
