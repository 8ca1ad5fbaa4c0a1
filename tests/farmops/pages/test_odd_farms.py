"""Farms as nobody would set one up for a test: near a pole, with half a weather record, with names full of signs."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Farm, Membership
from farmops.weather.selectors import NoWeather, daily_series
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.farmops.pages.conftest import signed_in
from tests.farmops.weather.makers import make_days, make_station
from tests.scheduling.ground import MONDAY, make_dry_spring

FIELD = "/farms/heron-slough/fields/pond-40/"
MORNING = "/farms/heron-slough/morning/"
NONE = {"temp_min_c": None, "temp_max_c": None}


def farm_of_mona(monkeypatch: pytest.MonkeyPatch, **facts: Any) -> Farm:
    monkeypatch.setattr(clock, "now", lambda: MONDAY + dt.timedelta(hours=10))
    farm = make_farm(**facts)
    Membership.objects.create(
        farm=farm, user=User.objects.create_user("mona", password="x" * 12), role="manager"
    )
    make_pass(make_season(make_field(farm)))
    return farm


def both_say(sentence: str) -> None:
    for address in (FIELD, MORNING):
        answer = signed_in("mona").get(address)
        assert answer.status_code == 200
        assert sentence in answer.content.decode(), address


def test_a_farm_near_a_pole_is_told_that_its_ground_is_not_modeled(
    db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm = farm_of_mona(monkeypatch, latitude_deg=Decimal("78.2"), zone="Europe/Oslo")
    make_dry_spring(farm)
    both_say("lies at 78.2° of latitude; the ground is worked out only up to 66°")
    answer = signed_in("mona").post("/farms/heron-slough/week/plan/", {"first_on": "2026-04-20"}, follow=True)
    assert "only up to 66°" in answer.content.decode()


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ({"rain_mm": None}, "the rain was never read"),
        (NONE, "highest temperature were never read"),
    ],
)
def test_weather_of_which_a_column_was_never_read_is_named(
    db: None, monkeypatch: pytest.MonkeyPatch, row: dict[str, None], says: str
) -> None:
    farm = farm_of_mona(monkeypatch)
    make_days(make_station(farm), MONDAY.date() - dt.timedelta(days=100), [row] * 100)
    both_say(says)
    with pytest.raises(NoWeather, match=says):
        daily_series(farm=farm, first=MONDAY.date(), last=MONDAY.date())


def test_a_month_without_warmth_takes_it_from_the_nearest_days_that_have_it(
    db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm = farm_of_mona(monkeypatch)
    first = MONDAY.date() - dt.timedelta(days=100)
    make_days(make_station(farm), first, [{}] * 60 + [NONE] * 35 + [{}] * 5)
    assert signed_in("mona").get(FIELD).status_code == 200
    hole = daily_series(farm=farm, first=first + dt.timedelta(days=75), last=first + dt.timedelta(days=76))
    assert (hole.temp_min_c[0], hole.temp_max_c[0], hole.kind[0]) == (10.0, 22.0, "filled")
    assert any("too little history" in note for note in hole.notes)


def test_names_with_signs_stay_words_in_pages_and_drawings(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    farm = farm_of_mona(monkeypatch)
    make_dry_spring(farm)
    evil = "\"><script>alert(1)</script>'&amp;<b>😀"
    field = make_field(farm, "evil-1", name=evil)
    field.zones.update(name=evil, share_pct=50)
    field.zones.create(farm=farm, name="</title></svg>", texture="clay_loam", share_pct=50)
    make_pass(make_season(field))
    for address in ("/farms/heron-slough/fields/evil-1/", MORNING, "/farms/heron-slough/fields/"):
        page = signed_in("mona").get(address).content.decode()
        assert "alert(1)" in page
        assert "<script" not in page.replace('<script src="/static/pages/', "")
        assert page.count("</title></svg>") == 0
        assert "&amp;amp;" in page, "what was typed as a sign of the page stays as it was typed"
