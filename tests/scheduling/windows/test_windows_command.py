"""The command that tells the windows of a farm."""

import datetime as dt
import json
from io import StringIO
from itertools import pairwise

import pytest
from django.core.management import CommandError, call_command

from farmops.farms.models import Farm
from scheduling.services.limit_choices import choose_limit
from tests.factories import make_farm, make_field, make_pass, make_season
from tests.scheduling.windows.makers import make_days

pytestmark = pytest.mark.django_db


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_pass(make_season(make_field(farm)), "disk")
    rain = {dt.date(2026, 4, 18): 40.0, dt.date(2026, 4, 19): 40.0}
    make_days(farm, first=dt.date(2026, 1, 1), last=dt.date(2026, 4, 19), rain_mm=rain)
    return farm


def told(*arguments: str) -> str:
    out = StringIO()
    call_command("windows", *arguments, stdout=out)
    return out.getvalue()


def test_json_holds_the_windows_as_of_the_day_before(farm: Farm) -> None:
    report = json.loads(told("--farm", farm.code, "--from", "2026-04-20", "--days", "3", "--json"))
    assert (report["format"], report["as_of"], report["horizon"]) == ("windows/1", "2026-04-19", 3 * 1440)
    assert report["start"] == "2026-04-20T00:00:00-04:00"
    assert [one["pass"] for one in report["passes"]] == ["pond-40/disk"]


def test_the_same_question_has_the_same_answer_to_the_byte(farm: Farm) -> None:
    asked = ("--farm", farm.code, "--from", "2026-04-20", "--json")
    assert told(*asked) == told(*asked)


def test_words_name_the_hours_and_the_reason(farm: Farm) -> None:
    text = told("--farm", farm.code, "--from", "2026-04-20")
    assert text.count("\nPond 40: disk\n") + text.startswith("Pond 40: disk\n") == 1
    assert "pond-40/disk" not in text
    assert "Mon Apr 20    12 am" in text
    assert "shut: sticks to the boot: topsoil 0." in text
    assert "open" in text


def test_no_two_neighbors_read_alike(farm: Farm) -> None:
    lines = [line.strip() for line in told("--farm", farm.code, "--from", "2026-04-20").splitlines()]
    parts = [line.split("  ") for line in lines if " to " in line]
    assert all(
        one[-1] != other[-1] or not other[0].startswith(one[0].split(" to ")[1])
        for one, other in pairwise(parts)
    )


def test_words_name_the_farms_own_choices(farm: Farm) -> None:
    choose_limit(
        farm=farm,
        key="sticks",
        number=0.9,
        source="heavy spot by the gate",
        set_by=None,
        now=dt.datetime(2026, 4, 2, 15, tzinfo=dt.UTC),
    )
    text = told("--farm", farm.code, "--from", "2026-04-20")
    assert "Chosen: sticks on all fields: 0.9 on 2026-04-02 (heavy spot by the gate)" in text
    report = json.loads(told("--farm", farm.code, "--from", "2026-04-20", "--json"))
    assert [(one["limit"], one["number"]) for one in report["choices"]] == [("sticks", 0.9)]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--farm", "nowhere", "--from", "2026-04-20"), "No farm has the code 'nowhere'"),
        (("--farm", "heron-slough", "--from", "20 April"), "--from is '20 April'"),
        (("--farm", "heron-slough", "--from", "2026-04-20", "--as-of", "x"), "--as-of is 'x'"),
        (("--farm", "heron-slough", "--from", "9999-12-30"), "the years told of are 1900 to 2100"),
        (("--farm", "heron-slough", "--from", "2026-04-20", "--as-of", "0001-01-01"), "--as-of is 0001"),
        (("--farm", "heron-slough", "--from", "2026-04-20", "--days", "0"), "--days is 0"),
        (("--farm", "heron-slough", "--from", "2026-04-20", "--days", "17"), "--days is 17"),
    ],
)
def test_a_bad_question_is_answered_with_a_sentence(
    farm: Farm, arguments: tuple[str, ...], says: str
) -> None:
    with pytest.raises(CommandError, match=says):
        told(*arguments)


def test_a_farm_without_weather_is_told_so() -> None:
    make_field(make_farm())
    with pytest.raises(CommandError, match="No weather is known"):
        told("--farm", "heron-slough", "--from", "2026-04-20")
