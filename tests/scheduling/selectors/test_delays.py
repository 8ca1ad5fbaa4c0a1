"""What a delay costs, as the problem says it: by the hour after `due`, and by the day where nothing is late."""

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest

from farmops.farms.models import Farm
from scheduling.selectors.delays import Delay, delay_keys
from scheduling.solver import parse_problem, solve
from tests.factories import make_field, make_implement, make_pass, make_season
from tests.scheduling.ground import windows_of
from tests.scheduling.problems import EAST, built, task

WEEKDAY_MIN = 1440
NEAR_EAST = EAST | {"longitude_deg": Decimal("-83.430000")}
TUESDAY, THURSDAY = (WEEKDAY_MIN, 2 * WEEKDAY_MIN), (3 * WEEKDAY_MIN, 4 * WEEKDAY_MIN)


def test_a_task_that_can_be_late_has_its_true_hour() -> None:
    delay = Delay(due_min=1440, late_cents_per_day=Fraction(4_800), lost_day_cents=Fraction(4_800))
    assert delay_keys(delay, share=Fraction(1, 2), is_last=True, minutes=177) == {
        "due": 1440,
        "late_cents_per_hour": 200,
    }


def test_a_task_that_cannot_be_late_loses_a_whole_day_where_all_of_it_is_shut() -> None:
    """240 minutes at a chance of 0 cost 4 h x 1,200 = 4,800 cents: the day."""
    delay = Delay(late_cents_per_day=Fraction(4_800), lost_day_cents=Fraction(4_800))
    assert delay_keys(delay, share=Fraction(1), is_last=True, minutes=240) == {"late_cents_per_hour": 1_200}


def test_a_part_that_others_follow_is_not_late_itself_unless_each_part_is() -> None:
    delay = Delay(1440, Fraction(4_800), Fraction(4_800), is_of_each_part=False)
    assert "due" not in delay_keys(delay, share=Fraction(1, 2), is_last=False, minutes=60)
    each = Delay(1440, Fraction(4_800), Fraction(4_800), is_of_each_part=True)
    assert delay_keys(each, share=Fraction(1, 2), is_last=False, minutes=60) == {
        "due": 1440,
        "late_cents_per_hour": 100,
    }


@pytest.mark.django_db
@pytest.mark.parametrize("due_on", [None, dt.date(2026, 5, 9)])
def test_a_nine_in_ten_tuesday_beats_a_five_in_ten_thursday_that_would_save_a_trip(
    farm: Farm, due_on: dt.date | None
) -> None:
    """The planter is needed next door on Thursday anyway, so that planting then saves hooking it up and a trip.

    By the hours to be worked alone, .4 x 3 h at 5.00 an hour, the wait for Thursday would be worth it.
    """
    make_implement(farm, "planter", operations=("plant",))
    season = make_season(make_field(farm, "pond-40", **EAST))
    make_pass(season, "plant", due_on=due_on, late_cents_per_day=12_000)
    neighbor = make_season(make_field(farm, "pond-41", planted_ac=Decimal(20), **EAST))
    make_pass(neighbor, "plant")
    other = make_season(make_field(farm, "pond-42", planted_ac=Decimal(20), **NEAR_EAST))
    make_pass(other, "disk")
    windows = windows_of(
        farm,
        open_of={
            "pond-40/plant": [(*TUESDAY, 0.9), (*THURSDAY, 0.5)],
            "pond-41/plant": [(*THURSDAY, 1.0)],
            "pond-42/disk": [(2 * WEEKDAY_MIN, 3 * WEEKDAY_MIN, 1.0)],
        },
    )
    problem = built(farm, windows=windows)
    row = task(problem, "pond-40/plant")
    plan = solve(parse_problem(problem.problem), seconds=2, rounds=20, seed=1)
    planned = next(one for one in plan.tasks if one.id == row["id"])
    assert TUESDAY[0] <= planned.start < TUESDAY[1]
    row["late_cents_per_hour"] = round(12_000 / 24)
    by_the_hour = solve(parse_problem(problem.problem), seconds=2, rounds=20, seed=1)
    idle = next(one for one in by_the_hour.tasks if one.id == row["id"])
    assert idle.start >= THURSDAY[0], "the story has a point: the plain hourly price leaves Tuesday idle"


@pytest.mark.django_db
def test_what_the_weather_may_take_is_told_in_few_stretches(farm: Farm) -> None:
    make_pass(make_season(make_field(farm)))
    hourly = [(60 * hour, 60 * hour + 60, 0.9 + (hour % 3) / 100) for hour in range(168)]
    windows = windows_of(farm, open_of={"pond-40/disk": hourly})
    assert task(built(farm, windows=windows), "pond-40/disk")["open"] == [
        {"from": 0, "to": 10_080, "chance": 0.91}
    ]
