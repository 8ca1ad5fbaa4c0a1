"""The price of late work from what the crop loses by its planting day."""

import datetime as dt
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from farmops.farms.models import Farm, LatePlantingFacts, Region
from scheduling.models import FieldPass
from scheduling.selectors.lateness import late_prices, straight_line
from scheduling.services.passes import Step, lay_out
from scheduling.solver import parse_problem, solve
from tests.factories import make_field, make_implement, make_pass, make_season
from tests.scheduling.ground import NEW_YORK
from tests.scheduling.problems import EAST, built, resource, task

pytestmark = pytest.mark.django_db
MAY_18 = dt.datetime(2026, 5, 18, tzinfo=NEW_YORK)
STEADY = [{"after": "04-01", "per_day": 1}]


def cotton(farm: Farm, **facts: Any) -> LatePlantingFacts:
    """1,000 lb at 80 cents: 800 dollars an acre, so that 1 % is 8 dollars."""
    defaults: dict[str, Any] = {
        "yield_per_ac": Decimal(1_000),
        "yield_unit": "lb",
        "price_usd": Decimal("0.80"),
    }
    return LatePlantingFacts.objects.create(farm=farm, crop="cotton", **{**defaults, **facts})


def planting(farm: Farm, **facts: Any) -> FieldPass:
    make_implement(farm, "planter", operations=("plant",))
    return make_pass(make_season(make_field(farm)), "plant", **facts)


def test_planting_is_late_from_the_day_on_which_the_curve_begins(farm: Farm) -> None:
    """40 ac x 6 lb x .80 = 192 dollars a day after May 20, in Georgia: 8.00 an hour from Thursday, May 21."""
    cotton(farm)
    planting(farm)
    row = task(built(farm, starts_at=MAY_18), "pond-40/plant")
    assert (row["due"], row["late_cents_per_hour"]) == (3 * 1440, 800)
    assert row["leave_cents"] == 90_000 + 4 * 19_200, "left, it has lost what four days take as well"


def test_a_crop_that_loses_all_along_is_late_from_the_first_minute(farm: Farm) -> None:
    cotton(farm, losses=STEADY)
    planting(farm)
    row = task(built(farm), "pond-40/plant")
    assert (row["due"], row["late_cents_per_hour"]) == (0, round(40 * 800 / 24))


def test_nothing_is_late_before_the_curve_begins_but_a_lost_day_still_counts(farm: Farm) -> None:
    """A tenth of the 192 dollars that a day will take: 19.20 for the 177 minutes, 6.51 an hour."""
    cotton(farm)
    planting(farm)
    row = task(built(farm), "pond-40/plant")
    assert "due" not in row
    assert row["late_cents_per_hour"] == round(1_920 * 60 / 177)
    assert row["leave_cents"] == 90_000


def test_an_orders_own_late_price_overrules(farm: Farm) -> None:
    cotton(farm, losses=STEADY)
    planting(farm, due_on=dt.date(2026, 4, 22), late_cents_per_day=2_400)
    row = task(built(farm), "pond-40/plant")
    assert (row["due"], row["late_cents_per_hour"], row["leave_cents"]) == (3 * 1440, 100, 90_000)


def test_each_day_part_of_a_planting_is_late_by_its_own_acres(farm: Farm) -> None:
    cotton(farm, losses=STEADY)
    make_implement(farm, "planter", operations=("plant",))
    make_pass(make_season(make_field(farm, planted_ac=Decimal(300))), "plant")
    rows = built(farm).problem["tasks"]
    assert [row["due"] for row in rows] == [0, 0, 0]
    assert [row["late_cents_per_hour"] for row in rows] == [round(100 * 800 / 24)] * 3


def test_what_planting_waits_for_is_not_late_but_a_day_lost_there_is_a_day_of_planting(farm: Farm) -> None:
    cotton(farm, losses=STEADY)
    make_implement(farm, "planter", operations=("plant",))
    lay_out(season=make_season(make_field(farm)), steps=[Step("disk", leave_cents=1), Step("plant")])
    row = task(built(farm), "pond-40/disk")
    assert "due" not in row
    assert row["late_cents_per_hour"] == round(40 * 800 * 60 / 177), "40 ac x 8 dollars over 177 minutes"


def test_the_last_pass_that_can_be_planned_stands_in_for_a_planting_that_cannot(farm: Farm) -> None:
    cotton(farm, losses=STEADY)
    make_implement(farm, "planter", operations=("plant",))
    make_implement(farm, "bedder", operations=("rip_bed",))
    steps = [
        Step("disk", leave_cents=1),
        Step("rip_bed", leave_cents=1),
        Step("plant", leave_cents=1, earliest_on=dt.date(2026, 5, 9)),
    ]
    lay_out(season=make_season(make_field(farm)), steps=steps)
    result = built(farm)
    assert [row["id"] for row in result.problem["tasks"]] == ["pond-40/disk", "pond-40/rip_bed"]
    assert "due" not in task(result, "pond-40/disk")
    bed = task(result, "pond-40/rip_bed")
    assert (bed["due"], bed["late_cents_per_hour"]) == (0, round(40 * 800 / 24))


def test_a_crop_without_a_value_has_no_price_of_late_work(farm: Farm) -> None:
    planting(farm)
    row = task(built(farm, starts_at=MAY_18), "pond-40/plant")
    assert ("due" in row, row["late_cents_per_hour"]) == (False, 0)


def test_a_farm_takes_the_curve_it_names_or_its_regions_or_its_own(farm: Farm) -> None:
    facts = cotton(farm)

    def key() -> str | None:
        price = late_prices(farm=farm).get("cotton")
        return price.curve.key if price is not None else None

    assert key() == "ga-cotton"
    LatePlantingFacts.objects.filter(pk=facts.pk).update(curve="linear-cotton")
    assert key() == "linear-cotton"
    LatePlantingFacts.objects.filter(pk=facts.pk).update(losses=STEADY)
    assert key() == "own"
    LatePlantingFacts.objects.filter(pk=facts.pk).update(losses=None, curve="")
    farm.region = Region.FAO
    assert key() is None


def test_the_crop_that_loses_more_an_acre_is_planted_first(farm: Farm) -> None:
    """Two fields alike for one planter, a day's work: an acre of cotton loses 8 dollars a day, one of peanuts 1."""
    cotton(farm, losses=STEADY)
    make_implement(farm, "planter", operations=("plant",), width_ft=Decimal(12))
    for code, crop in (("a-field", "peanuts"), ("b-field", "cotton")):
        make_pass(make_season(make_field(farm, code, planted_ac=Decimal(25), **EAST), crop=crop), "plant")
    LatePlantingFacts.objects.create(
        farm=farm,
        crop="peanuts",
        yield_per_ac=Decimal(4_000),
        yield_unit="lb",
        price_usd=Decimal("0.25"),
        losses=[{"after": "04-01", "per_day": "0.1"}],
    )
    plan = solve(parse_problem(built(farm).problem), seconds=2, rounds=30, seed=1)
    starts = {one.id: one.start for one in plan.tasks}
    assert starts["b-field/plant"] < starts["a-field/plant"]


@pytest.mark.parametrize(
    ("lost", "first", "per_day"),
    [
        ([0, 0, 0], 0, 0),
        ([5, 10, 15], 0, 5),
        ([0, 0, 7, 14], 2, 7),
        ([0, 0, 100], 2, 100),
    ],
)
def test_a_curve_with_one_bend_is_met_exactly(lost: list[int], first: int, per_day: int) -> None:
    assert straight_line([Fraction(one) for one in lost]) == (first, per_day)


def test_a_step_comes_out_as_the_best_line_and_never_as_nothing() -> None:
    """A step of 100 on the third of five days: of the lines from each day on, tried one by one, none lies nearer."""
    lost = [Fraction(one) for one in (0, 0, 100, 100, 100)]
    first, per_day = straight_line(lost)

    def missed(begins: int, slope: Fraction) -> Fraction:
        line = [max(0, day - begins + 1) * slope for day in range(5)]
        return sum(((a - b) ** 2 for a, b in zip(lost, line, strict=True)), Fraction(0))

    tried = min(missed(begins, Fraction(slope)) for begins in range(5) for slope in range(0, 120))
    assert missed(first, per_day) <= tried
    assert per_day > 0


def test_a_planting_that_is_late_is_not_left_for_it(farm: Farm) -> None:
    """Leaving costs the week's loss too, so the plan plants although it is late and leaving alone is cheap."""
    cotton(farm, losses=STEADY)
    planting(farm, leave_cents=20_000)
    problem = built(farm).problem
    plan = solve(parse_problem(problem), seconds=2, rounds=10, seed=1)
    assert [one.id for one in plan.tasks] == ["pond-40/plant"]
    assert resource(built(farm), "planter")
