"""From a real weather record to a posted week: a corn farm at Champion, Nebraska, in three springs.

The record (1982 to 2018) ships with the package aquacrop; the farm is invented. The springs are chosen by their rain
of April and May alone: the dry one at a tenth of the ranks, the ordinary one in the middle, the wet one next to last.
"""

import datetime as dt
import uuid
from collections.abc import Iterator, Sequence
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import transaction
from django.db.models import Sum

from farmops.desk.services import plan_week
from farmops.farms.models import Farm
from farmops.science.units import fahrenheit_from_celsius
from farmops.weather.models import DailyWeather
from farmops.weather.selectors import daily_series
from ledger.models import Line
from ledger.selectors.costs import field_costs
from ledger.services.posting import post_pending
from ledger.services.verify import verify_ledger
from scheduling.models import FieldPass, PassState, PlannedTask, WeekPlan
from scheduling.selectors.passes import pass_key
from scheduling.selectors.plans import left_of_plan, tasks_of_plan, worked_hours
from scheduling.selectors.windows import pass_windows
from scheduling.services.planning import send_plan
from scheduling.services.work import record_work
from scheduling.windows import PassWindows, WindowsReport
from tests.flows.champion_farm import (
    CENTS_PER_MIN,
    FIELDS,
    ZONE,
    lay_out_corn,
    make_corn_farm,
    midnight,
    monday_from,
    spring_rain_mm,
    write_weather,
    years_by_rain,
)
from tests.open_climates import CHAMPION_STATION, climate, tenths

RANKED = years_by_rain()
SPRINGS = {"dry": RANKED[len(RANKED) // 10], "ordinary": RANKED[len(RANKED) // 2], "wet": RANKED[-2]}


pytestmark = (
    pytest.mark.django_db
)  # each test runs within the module's transaction, and is taken back by itself


@pytest.fixture(scope="module")
def farm(
    django_db_setup: None, django_db_blocker: object, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Farm]:
    """The farm with 37 years of weather, brought in once by the command and taken back at the end."""
    path = write_weather(tmp_path_factory.mktemp("champion"))
    with django_db_blocker.unblock(), transaction.atomic():  # type: ignore[attr-defined]
        farm = make_corn_farm()
        call_command(
            "import_weather", "--farm", farm.code, "--format", "ghcn-daily", str(path), stdout=StringIO()
        )
        yield farm
        transaction.set_rollback(True)


def hours(windows: PassWindows) -> float:
    return sum(stretch.to_min - stretch.from_min for stretch in windows.open) / 60


def looked_back(farm: Farm, passes: Sequence[FieldPass], first: dt.date, days: int) -> WindowsReport:
    """Return the windows of days that are past: all their weather was read."""
    return pass_windows(
        farm=farm,
        passes=passes,
        starts_at=midnight(first),
        days=days,
        as_of=first + dt.timedelta(days=days + 7),
    )


def of(report: WindowsReport, operation: str) -> list[PassWindows]:
    return [windows for windows in report.passes if windows.operation == operation]


def planned_week(farm: Farm, monday: dt.date) -> WeekPlan:
    """Plan the week on the Sunday evening before, with what was known then."""
    sunday = monday - dt.timedelta(days=1)
    now = midnight(sunday) + dt.timedelta(hours=18)
    return plan_week(farm=farm, first_on=monday, seconds=1, rounds=5, seed=1, now=now, as_of=sunday)


def test_the_record_comes_through_the_archives_layout_to_the_tenth(farm: Farm) -> None:
    record = climate("champion")
    stored = DailyWeather.objects.filter(farm=farm, station__code=CHAMPION_STATION)
    assert stored.count() == len(record) == 13_514
    assert not stored.filter(is_filled=True).exists()
    rain = stored.aggregate(rain_mm=Sum("rain_mm"))["rain_mm"]
    assert rain == pytest.approx(sum(tenths(row.rain_mm) for row in record) / 10)
    month = daily_series(farm=farm, first=dt.date(1988, 5, 1), last=dt.date(1988, 5, 31))
    printed = [row for row in record if (row.day.year, row.day.month) == (1988, 5)]
    assert month.temp_max_c == pytest.approx([float(row.temp_max_c) for row in printed], abs=0.0501)
    assert month.kind == ["observed"] * 31


def test_the_chosen_springs_are_dry_ordinary_and_wet() -> None:
    dry, ordinary, wet = (spring_rain_mm()[SPRINGS[name]] for name in ("dry", "ordinary", "wet"))
    assert dry < ordinary / 2
    assert wet > ordinary * Decimal("1.4")


def test_a_wet_spring_has_fewer_hours_for_the_disk_than_a_dry_one(farm: Farm) -> None:
    open_h = {}
    for name, year in SPRINGS.items():
        report = looked_back(farm, lay_out_corn(farm, year), dt.date(year, 4, 1), 61)
        open_h[name] = sum(hours(windows) for windows in of(report, "disk"))
    assert open_h["dry"] > open_h["ordinary"] > open_h["wet"]
    assert open_h["dry"] - open_h["wet"] > 10 * 24 * len(FIELDS)  # ten days on each field


def test_over_many_springs_the_hours_for_the_disk_fall_as_the_rain_rises(farm: Farm) -> None:
    years = RANKED[::4]
    open_h = []
    for year in years:
        report = looked_back(farm, lay_out_corn(farm, year), dt.date(year, 4, 1), 61)
        open_h.append(sum(hours(windows) for windows in of(report, "disk")))
        assert all(hours(windows) > 0 for windows in of(report, "disk"))  # no year without a window
    assert _rank_correlation(open_h) < -0.8


@pytest.mark.parametrize("name", SPRINGS)
def test_soil_warmth_rules_planting_out_in_early_april_and_in_by_mid_may(farm: Farm, name: str) -> None:
    year = SPRINGS[name]
    passes = lay_out_corn(farm, year)
    april = looked_back(farm, passes, dt.date(year, 4, 1), 7)
    for windows in of(april, "plant"):
        assert windows.open == ()
        cold = [stretch for stretch in windows.shut if stretch.limit == "corn_soil"]
        assert all("cold for corn" in stretch.says_en for stretch in cold)
        assert (
            sum(stretch.to_min - stretch.from_min for stretch in cold) >= 3 * 24 * 60
        )  # rain and wet ground come first elsewhere
    assert _mean_soil_f(april) < 55
    may = looked_back(farm, passes, dt.date(year, 5, 8), 14)
    assert all(hours(windows) >= 24 for windows in of(may, "plant"))
    assert _mean_soil_f(may) > 55


@pytest.mark.parametrize("name", SPRINGS)
def test_a_week_of_early_april_is_planned_without_planting(farm: Farm, name: str) -> None:
    year = SPRINGS[name]
    passes = lay_out_corn(farm, year)
    early = planned_week(farm, monday_from(year, 4, 2))
    assert {task.operation for task in tasks_of_plan(plan=early)} == {"disk"}
    left = dict(left_of_plan(plan=early))
    assert all("cold for corn" in left[f"{one.season.field.code}/plant"] for one in passes)
    _assert_only_in_open_hours(farm, early)


@pytest.mark.parametrize("name", SPRINGS)
def test_a_week_of_mid_may_is_planned_worked_and_posted_and_the_costs_balance(farm: Farm, name: str) -> None:
    year = SPRINGS[name]
    passes = lay_out_corn(farm, year)
    plan = planned_week(farm, monday_from(year, 5, 12))
    tasks = list(tasks_of_plan(plan=plan))
    assert {task.operation for task in tasks} == {"disk", "plant"}
    _assert_only_in_open_hours(farm, plan)
    send_plan(plan=plan, now=plan.made_at)
    sunday_evening = midnight(monday_from(year, 5, 12)) + dt.timedelta(days=6, hours=18)
    for task in tasks:
        _record(farm, task, sunday_evening)
    report = post_pending(farm=farm, now=sunday_evening)
    assert (report.posted, report.waiting) == (len(tasks), [])

    expected: dict[str, int] = {}
    for task in tasks:
        tool = "disk" if task.operation == "disk" else "planter"
        cents_per_min = CENTS_PER_MIN["hand"] + CENTS_PER_MIN["tractor"] + CENTS_PER_MIN[tool]
        expected[task.field.code] = expected.get(task.field.code, 0) + task.work_min * cents_per_min
    posted: dict[str, int] = {}
    for row in field_costs(farm=farm, crop_year=year):
        posted[row.field] = posted.get(row.field, 0) + row.cents
    assert posted == expected
    assert Line.objects.filter(farm=farm).aggregate(cents=Sum("cents"))["cents"] == 0
    assert verify_ledger(farm=farm).is_whole
    done = {task.field_pass_id for task in tasks if task.part_no == task.part_count}
    for one in passes:
        one.refresh_from_db()
        assert (one.state == PassState.FINISHED) == (one.pk in done)


def _mean_soil_f(report: WindowsReport) -> float:
    days = [day.soil_temp_mean_c for zone in report.ground for day in zone.days]
    return float(fahrenheit_from_celsius(sum(days) / len(days)))


def _record(farm: Farm, task: PlannedTask, now: dt.datetime) -> None:
    assert task.hand is not None
    record_work(
        farm=farm,
        client_id=uuid.uuid5(uuid.NAMESPACE_URL, f"champion:{task.plan_id}:{task.task_key}"),
        field_pass=task.field_pass,
        hand=task.hand,
        machine=task.machine,
        implement=task.implement,
        work_on=task.starts_at.astimezone(ZONE).date(),
        hand_min=task.work_min,
        machine_min=task.work_min,
        done_ac=task.area_ac,
        is_finished=task.part_no == task.part_count,
        recorded_by=None,
        now=now,
    )


def _assert_only_in_open_hours(farm: Farm, plan: WeekPlan) -> None:
    """Hold every hour of work against windows that are judged anew."""
    tasks = list(tasks_of_plan(plan=plan))
    first = plan.starts_at.astimezone(ZONE).date()
    report = pass_windows(
        farm=farm,
        passes=[task.field_pass for task in tasks],
        starts_at=plan.starts_at,
        days=plan.days,
        as_of=first - dt.timedelta(days=1),
    )
    worked_min = 0
    for task in tasks:
        open_stretches = report.of(pass_key(task.field_pass)).open
        for from_at, to_at in worked_hours(plan=plan, task=task):
            begins, ends = (int((at - plan.starts_at).total_seconds() // 60) for at in (from_at, to_at))
            worked_min += ends - begins
            minutes = set(range(begins, ends))
            for stretch in open_stretches:
                minutes -= set(range(stretch.from_min, stretch.to_min))
            assert minutes == set(), f"{task.task_key} works in a shut hour"
    assert worked_min >= sum(task.work_min for task in tasks) > 0


def _rank_correlation(values: list[float]) -> float:
    """Return Spearman's rank correlation of values with their order."""
    count = len(values)
    ranks = {
        value: sum(other < value for other in values) + (sum(other == value for other in values) - 1) / 2
        for value in values
    }
    mean = (count - 1) / 2
    with_order = sum((index - mean) * (ranks[value] - mean) for index, value in enumerate(values))
    of_order = sum((index - mean) ** 2 for index in range(count))
    of_ranks = sum((ranks[value] - mean) ** 2 for value in values)
    return with_order / (of_order * of_ranks) ** 0.5
