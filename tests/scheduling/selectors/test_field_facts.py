"""Reading plantings, water, remarks, sprayings and pivots of a farm."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.farms.models import Farm, Field, Hand, Season
from scheduling.models import FieldPass, PassState, PlannedTask, PlanState, WeekPlan, WorkRecord
from scheduling.selectors import field_facts
from scheduling.services.pivot_places import record_pivot_place
from scheduling.services.remarks import record_remark
from scheduling.services.sprayings import record_spraying
from scheduling.services.waterings import record_watering
from scheduling.services.work import record_work
from tests.factories import make_hand, make_pass, make_season
from tests.scheduling.facts import DAY, MORNING, NOW, make_watered_field, sent_by
from tests.scheduling.ground import NEW_YORK

pytestmark = pytest.mark.django_db
ONE_DAY = dt.timedelta(days=1)
INCH_MM = 25.4  # an inch in millimeters, exactly (NIST Handbook 44, appendix C)


@pytest.fixture
def field() -> Field:
    return make_watered_field()


@pytest.fixture
def farm(field: Field) -> Farm:
    return field.farm


@pytest.fixture
def season(field: Field) -> Season:
    return make_season(field)


@pytest.fixture
def hand(farm: Farm) -> Hand:
    return make_hand(farm)


def worked(number: int, field_pass: FieldPass, hand: Hand, day: dt.date, **facts: Any) -> WorkRecord:
    defaults: dict[str, Any] = {"hand_min": 60, "done_ac": Decimal(10), "is_finished": False}
    record, _ = record_work(
        **sent_by(
            number,
            farm=field_pass.farm,
            field_pass=field_pass,
            hand=hand,
            work_on=day,
            recorded_by=None,
            **{**defaults, **facts},
        )
    )
    return record


def test_a_season_is_planted_on_the_day_on_which_its_newest_planting_began(
    season: Season, hand: Hand
) -> None:
    first, again = make_pass(season, "plant"), make_pass(season, "plant", turn=2)
    worked(1, first, hand, dt.date(2026, 5, 4))
    worked(2, first, hand, dt.date(2026, 5, 5), done_ac=Decimal(0), is_finished=True)
    worked(3, again, hand, dt.date(2026, 5, 20))
    worked(4, again, hand, dt.date(2026, 5, 21))
    assert field_facts.planted_on(farm=season.farm, as_of=dt.date(2026, 5, 19)) == {
        season.pk: dt.date(2026, 5, 4)
    }
    assert field_facts.planted_on(farm=season.farm, as_of=DAY) == {season.pk: dt.date(2026, 5, 20)}


def test_hours_without_acres_other_work_and_corrected_records_plant_nothing(
    season: Season, hand: Hand
) -> None:
    planting = make_pass(season, "plant")
    worked(1, make_pass(season, "disk"), hand, dt.date(2026, 5, 1))
    worked(2, planting, hand, dt.date(2026, 5, 2), done_ac=Decimal(0))
    wrong = worked(3, planting, hand, dt.date(2026, 5, 3))
    assert field_facts.planted_on(farm=season.farm, as_of=DAY) == {season.pk: dt.date(2026, 5, 3)}
    worked(4, planting, hand, dt.date(2026, 5, 3), done_ac=Decimal(0), supersedes=wrong)
    assert field_facts.planted_on(farm=season.farm, as_of=DAY) == {}


def water(number: int, field: Field, inches: str, day: dt.date = DAY, **facts: Any) -> Any:
    row, _ = record_watering(
        **sent_by(
            number,
            farm=field.farm,
            field=field,
            water_on=day,
            depth_in=Decimal(inches),
            recorded_by=None,
            **facts,
        )
    )
    return row


def watered(farm: Farm, **asked: Any) -> dict[int, dict[dt.date, float]]:
    asked = {"first": DAY - 5 * ONE_DAY, "last": DAY + 5 * ONE_DAY, "as_of": DAY, **asked}
    found = field_facts.watered_mm(farm=farm, **asked)
    return {field_id: dict(days) for field_id, days in found.items()}


def test_water_of_a_day_adds_up_and_what_is_corrected_does_not_count(field: Field) -> None:
    water(1, field, "0.50")
    water(2, field, "0.25")
    water(3, field, "1.00", DAY - ONE_DAY)
    wrong = water(4, field, "2.00", DAY - 2 * ONE_DAY)
    water(5, field, "0.20", DAY - 2 * ONE_DAY, supersedes=wrong)
    mistaken = water(6, field, "0.60", DAY - 3 * ONE_DAY)
    water(7, field, "0.60", DAY - 3 * ONE_DAY, supersedes=mistaken, is_taken_back=True)
    assert watered(field.farm) == {
        field.pk: {
            DAY - 2 * ONE_DAY: pytest.approx(0.20 * INCH_MM),
            DAY - ONE_DAY: pytest.approx(1.00 * INCH_MM),
            DAY: pytest.approx(0.75 * INCH_MM),
        }
    }


def test_water_after_the_day_asked_as_of_is_not_known_yet(field: Field) -> None:
    water(1, field, "0.50")
    assert watered(field.farm, as_of=DAY - ONE_DAY) == {}


def test_a_reported_turn_waters_unless_the_day_has_its_own_row(
    field: Field, season: Season, hand: Hand
) -> None:
    turn = make_pass(season, "irrigate", depth_in=Decimal("0.80"))
    worked(1, turn, hand, DAY - ONE_DAY, done_ac=Decimal(30), hand_min=0)
    worked(2, turn, hand, DAY, done_ac=Decimal(10), hand_min=0, is_finished=True)
    assert watered(field.farm)[field.pk] == {
        DAY - ONE_DAY: pytest.approx(0.60 * INCH_MM),
        DAY: pytest.approx(0.20 * INCH_MM),
    }
    water(3, field, "0.70", DAY - ONE_DAY)
    assert watered(field.farm)[field.pk][DAY - ONE_DAY] == pytest.approx(0.70 * INCH_MM)


def test_a_turn_said_to_be_finished_without_acres_counts_whole(
    field: Field, season: Season, hand: Hand
) -> None:
    turn = make_pass(season, "irrigate", depth_in=Decimal("0.80"))
    worked(1, turn, hand, DAY, done_ac=Decimal(0), hand_min=0, is_finished=True)
    assert watered(field.farm)[field.pk] == {DAY: pytest.approx(0.80 * INCH_MM)}


def plan_turn(season: Season, *, state: str = PlanState.SENT, area_ac: Decimal = Decimal(40)) -> FieldPass:
    """Store a plan from Monday the 15th in which a turn runs from Tuesday 6 pm for 24 h, shut from 8 to 10 pm."""
    turn = make_pass(season, "irrigate", depth_in=Decimal("1.20"), state=PassState.SENT)
    starts_at = dt.datetime(2026, 6, 15, tzinfo=NEW_YORK)
    mode, resources = "pivot:pond-40+pump:pump-1", ["pivot:pond-40", "pump:pump-1"]
    begins, shut, opens, ends = 1440 + 1080, 1440 + 1200, 1440 + 1320, 2 * 1440 + 1080
    plan = WeekPlan.objects.create(
        farm=season.farm,
        number=1,
        state=state,
        starts_at=starts_at,
        days=7,
        made_at=starts_at,
        problem={
            "resources": [{"id": one, "calendar": [{"from": 0, "to": 10080}]} for one in resources],
            "tasks": [
                {
                    "id": "pond-40/irrigate",
                    "modes": [{"id": mode, "resources": resources}],
                    "open": [{"from": 0, "to": shut}, {"from": opens, "to": 10080}],
                }
            ],
        },
        problem_hash="0" * 64,
        plan={"tasks": [{"id": "pond-40/irrigate", "mode": mode, "from": begins, "to": ends}], "left": []},
        windows={"passes": [], "ground": []},
        status="good",
        seed=1,
        limits={},
    )
    PlannedTask.objects.create(
        farm=season.farm,
        plan=plan,
        task_key="pond-40/irrigate",
        field_pass=turn,
        field=season.field,
        operation="irrigate",
        area_ac=area_ac,
        mode=mode,
        starts_at=starts_at + dt.timedelta(minutes=begins),
        ends_at=starts_at + dt.timedelta(minutes=ends),
        work_min=1320,
    )
    return turn


def test_a_planned_turn_waters_by_the_hours_in_which_the_pivot_runs(season: Season) -> None:
    plan_turn(season)
    tuesday, wednesday = DAY + ONE_DAY, DAY + 2 * ONE_DAY
    assert watered(season.farm) == {
        season.field_id: {
            tuesday: pytest.approx(1.20 * INCH_MM * 4 / 22),  # 6 to 8 pm and 10 to midnight
            wednesday: pytest.approx(1.20 * INCH_MM * 18 / 22),
        }
    }
    assert list(watered(season.farm, as_of=tuesday)[season.field_id]) == [wednesday]
    assert list(watered(season.farm, last=tuesday)[season.field_id]) == [tuesday]


def test_what_is_left_of_a_turn_waters_by_its_acres(season: Season) -> None:
    plan_turn(season, area_ac=Decimal(10))
    assert sum(watered(season.farm)[season.field_id].values()) == pytest.approx(0.30 * INCH_MM)


@pytest.mark.parametrize("state", [PlanState.MADE, PlanState.REPLACED])
def test_a_plan_that_is_not_sent_waters_nothing(season: Season, state: str) -> None:
    plan_turn(season, state=state)
    assert watered(season.farm) == {}


def test_a_turn_that_was_called_off_waters_nothing(season: Season) -> None:
    turn = plan_turn(season)
    FieldPass.objects.filter(pk=turn.pk).update(state=PassState.CALLED_OFF)
    assert watered(season.farm) == {}


def test_remarks_are_read_by_the_days_of_the_farms_clock(farm: Farm, field: Field) -> None:
    late = dt.datetime(2026, 6, 14, 23, 30, tzinfo=NEW_YORK)  # the 15th already in UTC
    facts: dict[str, Any] = {"farm": farm, "field": field, "operation": "disk", "said_by": None}
    wet, _ = record_remark(**sent_by(1, **facts, said_at=late, what="too_wet"))
    fit, _ = record_remark(**sent_by(2, **facts, said_at=MORNING, what="fits"))
    assert field_facts.remarks_of(farm=farm, first=DAY - ONE_DAY, last=DAY - ONE_DAY) == (wet,)
    assert field_facts.remarks_of(farm=farm, first=DAY - ONE_DAY, last=DAY) == (wet, fit)
    dry, _ = record_remark(**sent_by(3, **facts, said_at=MORNING, what="too_dry", supersedes=fit))
    assert field_facts.remarks_of(farm=farm, first=DAY, last=DAY) == (dry,)
    record_remark(**sent_by(4, **facts, said_at=MORNING, what="too_dry", supersedes=dry, is_taken_back=True))
    assert field_facts.remarks_of(farm=farm, first=DAY, last=DAY) == ()


def test_sprayings_are_read_by_the_day_on_which_they_ended(farm: Farm, field: Field) -> None:
    ended = dt.datetime(2026, 6, 14, 23, 30, tzinfo=NEW_YORK)
    facts: dict[str, Any] = {
        "farm": farm,
        "field": field,
        "ended_at": ended,
        "products": "field herbicide A",
        "reentry_h": Decimal("12.5"),
        "recorded_by": None,
    }
    row, _ = record_spraying(**sent_by(1, **facts, plant_back_days=14))
    assert field_facts.sprayings_of(farm=farm, first=DAY - ONE_DAY, last=DAY) == (row,)
    assert field_facts.sprayings_of(farm=farm, first=DAY, last=DAY) == ()


def test_the_newest_sight_of_a_pivot_counts(farm: Farm, field: Field) -> None:
    facts: dict[str, Any] = {"farm": farm, "pivot": field.pivot, "recorded_by": None}
    noon = MORNING + dt.timedelta(hours=5)
    seen, _ = record_pivot_place(**sent_by(1, **facts, seen_at=noon, is_running=True, angle_deg=Decimal(45)))
    before, _ = record_pivot_place(**sent_by(2, **facts, seen_at=MORNING, is_running=False))
    assert field_facts.pivot_places_of(farm=farm, at=NOW) == {field.pk: seen}
    assert field_facts.pivot_places_of(farm=farm, at=MORNING) == {field.pk: before}
    assert field_facts.pivot_places_of(farm=farm, at=MORNING - ONE_DAY) == {}


READS: list[Callable[[Farm], Any]] = [
    lambda farm: field_facts.planted_on(farm=farm, as_of=DAY),
    watered,
    lambda farm: field_facts.remarks_of(farm=farm, first=DAY, last=DAY),
    lambda farm: field_facts.sprayings_of(farm=farm, first=DAY, last=DAY),
    lambda farm: field_facts.pivot_places_of(farm=farm, at=NOW),
]


@pytest.mark.parametrize("read", READS)
def test_more_fields_take_no_more_queries(farm: Farm, hand: Hand, read: Callable[[Farm], Any]) -> None:
    def fill(field: Field, number: int) -> None:
        season = make_season(field)
        worked(number, make_pass(season, "plant"), hand, DAY)
        worked(number + 1, make_pass(season, "irrigate", depth_in=Decimal("0.5")), hand, DAY)
        water(number + 2, field, "0.50")
        at: dict[str, Any] = {"farm": farm, "field": field}
        record_remark(
            **sent_by(number + 3, **at, said_at=MORNING, what="fits", operation="disk", said_by=None)
        )
        record_spraying(
            **sent_by(
                number + 4, **at, ended_at=MORNING, products="oil", reentry_h=Decimal(4), recorded_by=None
            )
        )
        record_pivot_place(
            **sent_by(
                number + 5,
                farm=farm,
                pivot=field.pivot,
                seen_at=MORNING,
                is_running=False,
                recorded_by=None,
            )
        )

    def used(value: Any) -> None:
        for row in value if isinstance(value, tuple) else value.values():
            str(getattr(row, "field", "")), str(getattr(row, "zone", "")), str(getattr(row, "pivot", ""))

    counts = []
    for number in range(3):
        field = make_watered_field(farm, f"field-{number}") if number else Field.objects.get(farm=farm)
        fill(field, 100 * (number + 1))
        with CaptureQueriesContext(connection) as queries:
            used(read(farm))
        counts.append(len(queries))
    assert counts[0] == counts[1] == counts[2] <= 3
