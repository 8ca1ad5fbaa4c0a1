"""Nobody is planned into a field that the same plan sprays, before the label lets people in again.

The hours are those of 40 CFR 170.407 (Worker Protection Standard): no entry to the treated ground before the
restricted-entry interval on the label has passed.
"""

import datetime as dt
import uuid
from decimal import Decimal

import pytest

from farmops.farms.models import Farm, Hand, Season
from scheduling.models import FieldPass
from scheduling.selectors.passes import open_passes
from scheduling.selectors.windows import pass_windows
from scheduling.services.passes import BadOrderOfWork, Step, lay_out
from scheduling.services.sprayings import record_spraying
from scheduling.services.work import record_work
from scheduling.solver import check, parse_problem, solve
from tests.factories import make_field, make_hand, make_pass, make_season
from tests.scheduling.ground import MONDAY, SUNDAY, make_dry_spring, make_pivot
from tests.scheduling.problems import Built, built, task

pytestmark = pytest.mark.django_db
SPRAY = Step("burndown", custom_ac_per_h=Decimal(60), reentry_h=Decimal("48"))
WALK = Step("debris_walk")
TWO_DAYS = 2880


@pytest.fixture
def season(farm: Farm) -> Season:
    make_hand(farm, "teo", operations=("debris_walk", "pivot_start", "pivot_stop"))
    return make_season(make_field(farm))


def minutes(result: Built) -> dict[str, tuple[int, int]]:
    problem = parse_problem(result.problem)
    plan = solve(problem, seconds=5, seed=1, workers=1, rounds=20)
    assert check(problem, plan).violations == ()
    return {one.id: (one.start, one.end) for one in plan.tasks}


def test_the_step_after_a_spraying_waits_for_its_label(season: Season) -> None:
    lay_out(season=season, steps=[SPRAY, WALK])
    result = built(season.farm)
    assert task(result, "pond-40/debris_walk")["after"] == [{"task": "pond-40/burndown", "min_gap": TWO_DAYS}]
    planned = minutes(result)
    assert planned["pond-40/debris_walk"][0] >= planned["pond-40/burndown"][1] + TWO_DAYS


def test_the_label_goes_before_gaps_of_the_order(season: Season) -> None:
    lay_out(season=season, steps=[SPRAY, Step("debris_walk", min_gap_min=60, max_gap_min=600)])
    [link] = task(built(season.farm), "pond-40/debris_walk")["after"]
    assert (link["min_gap"], link["max_gap"]) == (TWO_DAYS, TWO_DAYS)


def test_a_longer_gap_of_the_order_stays(season: Season) -> None:
    lay_out(season=season, steps=[SPRAY, Step("debris_walk", min_gap_min=5000)])
    assert task(built(season.farm), "pond-40/debris_walk")["after"][0]["min_gap"] == 5000


def test_the_label_holds_after_the_spraying_is_reported_and_the_label_is_not(season: Season) -> None:
    spray, _walk = lay_out(season=season, steps=[SPRAY, WALK])
    record_work(
        farm=season.farm,
        client_id=uuid.uuid4(),
        field_pass=spray,
        hand=Hand.objects.get(code="teo"),
        work_on=MONDAY.date() - dt.timedelta(days=1),
        hand_min=0,
        done_ac=spray.area_ac,
        is_finished=True,
        recorded_by=None,
        now=MONDAY,
    )
    assert (
        task(built(season.farm), "pond-40/debris_walk")["earliest"] == TWO_DAYS
    )  # from Sunday's midnight on


def test_hours_of_the_plan_shut_the_field_until_the_labels_own_are_kept(season: Season) -> None:
    make_dry_spring(season.farm)
    spray, _walk = lay_out(season=season, steps=[SPRAY, WALK])
    begins = MONDAY - dt.timedelta(hours=9)
    record_work(
        farm=season.farm,
        client_id=uuid.uuid4(),
        field_pass=spray,
        hand=Hand.objects.get(code="teo"),
        work_on=begins.date(),
        starts_at=begins,
        hand_min=60,
        done_ac=Decimal(30),
        is_finished=False,
        recorded_by=None,
        now=MONDAY,
    )

    def shut(key: str = "pond-40/debris_walk") -> list[tuple[int, int]]:
        report = pass_windows(
            farm=season.farm,
            passes=list(open_passes(farm=season.farm)),
            starts_at=MONDAY,
            days=5,
            as_of=SUNDAY,
        )
        stretches = report.of(key).shut
        return [(one.from_min, one.to_min) for one in stretches if one.limit == "re_entry"]

    assert shut()[0][0] == 0
    assert shut()[-1][1] == (48 - 8) * 60  # it ended at 4 pm on Sunday
    assert shut("pond-40/burndown") == []  # the rest of it may be sprayed
    record_spraying(
        farm=season.farm,
        client_id=uuid.uuid4(),
        field=season.field,
        ended_at=begins + dt.timedelta(hours=1),
        products="Short Stayer",
        reentry_h=Decimal(12),
        recorded_by=None,
        now=MONDAY,
    )
    assert shut()[-1][1] == (12 - 8) * 60


def test_work_of_another_season_on_the_field_is_kept_out_too(season: Season) -> None:
    lay_out(season=season, steps=[SPRAY])
    lay_out(season=make_season(season.field, part="seed plot"), steps=[WALK])
    planned = minutes(built(season.farm))
    walk, spray = (next(at for key, at in planned.items() if work in key) for work in ("walk", "burndown"))
    assert spray[1] + TWO_DAYS <= walk[0] or walk[1] <= spray[0]


def test_a_pivot_is_kept_out_too(season: Season) -> None:
    make_pivot(season.field)
    turn = Step("irrigate", depth_in=Decimal("0.25"))
    lay_out(season=season, steps=[Step("debris_walk"), SPRAY, turn], pivot_stands_at_deg=Decimal(90))
    planned = minutes(built(season.farm))
    sprayed = max(ends for key, (_begins, ends) in planned.items() if "burndown" in key)
    assert all(
        begins >= sprayed + TWO_DAYS for key, (begins, _ends) in planned.items() if key.endswith("/water")
    )
    assert any(key.endswith("/water") for key in planned)


@pytest.mark.parametrize(
    ("walk", "first"),
    [
        ({"leave_cents": None}, "debris_walk"),
        ({"leave_cents": 80_000}, "burndown"),
        ({"leave_cents": 80_000, "due_on": dt.date(2026, 4, 21)}, "debris_walk"),
    ],
)
def test_of_two_that_nothing_links_the_more_pressing_goes_first(
    season: Season, walk: dict[str, object], first: str
) -> None:
    make_pass(season, "burndown", reentry_h=Decimal(12), custom_ac_per_h=Decimal(60))
    make_pass(season, "debris_walk", **walk)
    planned = minutes(built(season.farm))
    assert min(planned, key=lambda key: planned[key][0]) == f"pond-40/{first}"
    begins, ends = planned["pond-40/debris_walk"][0], planned["pond-40/burndown"][1]
    assert first == "debris_walk" or begins >= ends + 720


def test_another_field_is_open(season: Season) -> None:
    make_pass(season, "burndown", reentry_h=Decimal(12), custom_ac_per_h=Decimal(60))
    make_pass(make_season(make_field(season.farm, "river-60")), "debris_walk")
    assert "after" not in task(built(season.farm), "river-60/debris_walk")


@pytest.mark.parametrize(
    ("step", "says"),
    [
        (Step("disk", reentry_h=Decimal(12)), "only spraying has a label's hours"),
        (Step("spray", reentry_h=Decimal(721)), "keeps people out for 721 h; it is 0 to 720"),
    ],
)
def test_hours_that_no_label_has_are_refused(season: Season, step: Step, says: str) -> None:
    with pytest.raises(BadOrderOfWork, match=says):
        lay_out(season=season, steps=[step])
    assert not FieldPass.objects.exists()
