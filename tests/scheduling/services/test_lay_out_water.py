"""Irrigation turns, work of the growing crop and hired work in an order of work."""

import datetime as dt
import itertools
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Season
from scheduling.models import PassLink, PivotPlace
from scheduling.selectors.passes import pass_key
from scheduling.services.passes import BadOrderOfWork, Step, lay_out
from tests.factories import make_farm, make_field, make_season
from tests.scheduling.ground import make_pivot

pytestmark = pytest.mark.django_db
INCH = Decimal("1.00")
NOON = dt.datetime(2026, 4, 19, 16, tzinfo=dt.UTC)


@pytest.fixture
def season() -> Season:
    field = make_field(make_farm(), planted_ac=Decimal("120"))
    make_pivot(field)
    return make_season(field)


def names(season: Season, *steps: Step) -> list[str]:
    passes = lay_out(season=season, steps=steps, pivot_stands_at_deg=Decimal(90))
    chain = set(PassLink.objects.values_list("before_id", "after_id"))
    assert chain == {(a.pk, b.pk) for a, b in itertools.pairwise(passes)}
    return [pass_key(one).removeprefix("pond-40/") for one in passes]


def test_a_turn_is_started_and_stopped_by_a_hand(season: Season) -> None:
    assert names(season, Step("irrigate", depth_in=INCH), Step("irrigate", depth_in=INCH)) == [
        *("pivot_start/water", "irrigate", "pivot_stop/water"),
        *("pivot_start-2/water", "irrigate-2", "pivot_stop-2/water"),
    ]


def test_land_may_be_watered_between_two_passes_before_planting(season: Season) -> None:
    assert names(season, Step("rip_bed"), Step("irrigate", depth_in=INCH), Step("plant")) == [
        "rip_bed",
        *("pivot_start/water", "irrigate", "pivot_stop/water"),
        "plant",
        *("pivot_start", "pivot_walk", "pivot_stop"),
        *("rip_bed/strip", "plant/strip"),
        *("pivot_start-2", "pivot_walk-2", "pivot_stop-2"),
    ]


def test_after_planting_the_work_goes_over_the_whole_ground_in_its_order(season: Season) -> None:
    assert names(
        season,
        Step("debris_walk"),
        Step("burndown"),
        Step("plant"),
        Step("irrigate", depth_in=INCH),
        Step("sidedress"),
        Step("defoliate"),
        Step("pick"),
        Step("shred"),
        Step("cover"),
    ) == [
        *("debris_walk", "burndown", "plant"),
        *("pivot_start", "pivot_walk", "pivot_stop"),
        *("burndown/strip", "plant/strip"),
        *("pivot_start-2", "pivot_walk-2", "pivot_stop-2"),
        *("pivot_start/water", "irrigate", "pivot_stop/water"),
        *("sidedress", "defoliate", "pick", "shred", "cover"),
    ]


def test_whoever_looks_at_the_end_of_a_turn_may_come_after_a_sunday(season: Season) -> None:
    """From Saturday at 7 pm to Monday at 7 am are 36 hours."""
    _, turn, stop = lay_out(season=season, steps=[Step("irrigate", depth_in=INCH)])
    assert PassLink.objects.get(before=turn, after=stop).max_gap_min == 36 * 60


def test_a_move_starts_from_where_the_pivot_was_last_seen(season: Season) -> None:
    """It parks at 90 degrees: seen at 300 it walks 150 the shorter way, seen on its line it does not walk."""
    seen = {"farm": season.farm, "is_running": False, "recorded_at": NOON, "pivot": season.field.pivot}

    def walked() -> list[Decimal | None]:
        passes = lay_out(season=season, steps=[Step("disk")])
        return [one.pivot_degrees for one in passes if one.operation == "pivot_walk"]

    assert walked() == [Decimal(180), Decimal("20.0")]
    PivotPlace.objects.create(client_id=uuid.uuid4(), seen_at=NOON, angle_deg=Decimal(10), **seen)
    PivotPlace.objects.create(
        client_id=uuid.uuid4(), seen_at=NOON + dt.timedelta(hours=1), angle_deg=Decimal(300), **seen
    )
    assert walked() == [Decimal(150), Decimal("20.0")]


def test_a_turn_waters_the_circle_and_no_more_than_the_season_has(season: Season) -> None:
    """A circle of 1,210 ft has pi x 1,210^2 / 43,560 = 105.59 ac."""
    turn = lay_out(season=season, steps=[Step("irrigate", depth_in=INCH)])[1]
    assert (turn.area_ac, turn.depth_in) == (Decimal("105.59"), INCH)
    half = make_season(season.field, crop="peanuts", part="north", area_ac=Decimal(52))
    assert lay_out(season=half, steps=[Step("irrigate", depth_in=INCH)])[1].area_ac == Decimal(52)


def test_hired_work_keeps_its_pace(season: Season) -> None:
    passes = lay_out(season=season, steps=[Step("spread", custom_ac_per_h=Decimal(45))])
    assert passes[-1].custom_ac_per_h == Decimal(45)


@pytest.mark.parametrize(
    ("step", "says"),
    [
        ({"operation": "irrigate"}, "needs its depth"),
        ({"operation": "irrigate", "depth_in": Decimal("3.01")}, "a turn puts on 0.05 to 3"),
        ({"operation": "irrigate", "depth_in": Decimal("0.04")}, "a turn puts on 0.05 to 3"),
        ({"operation": "disk", "depth_in": INCH}, "only an irrigation turn"),
        ({"operation": "irrigate", "depth_in": INCH, "custom_ac_per_h": INCH}, "by the farm itself"),
        ({"operation": "pick", "custom_ac_per_h": Decimal(0)}, "a pace is above 0"),
        ({"operation": "pick", "custom_ac_per_h": Decimal(501)}, "at most 500"),
    ],
)
def test_water_and_hire_that_make_no_sense_are_refused(
    season: Season, step: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadOrderOfWork, match=says):
        lay_out(season=season, steps=[Step(**step)])


def test_land_without_a_pivot_is_not_irrigated() -> None:
    season = make_season(make_field(make_farm()))
    with pytest.raises(BadOrderOfWork, match="has no pivot to irrigate with"):
        lay_out(season=season, steps=[Step("irrigate", depth_in=INCH)])
