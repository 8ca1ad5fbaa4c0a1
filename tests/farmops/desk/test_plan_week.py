"""The week planned in one call, and the command that prints it."""

import datetime as dt
import json
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from farmops.desk.services import plan_week
from farmops.desk.week_table import clock_12h, dollars
from farmops.farms.models import Farm, Hand
from ledger.services.rates import set_rate
from scheduling.models import FieldPass, PassState, PlanState, WeekPlan
from scheduling.services.passes import Step, lay_out
from scheduling.solver import check, parse_problem
from scheduling.solver.plan import from_json
from tests.factories import make_farm, make_field, make_hand, make_implement, make_machine, make_season
from tests.scheduling.ground import MONDAY, NEW_YORK, SUNDAY_EVENING, make_dry_spring, make_pivot

pytestmark = pytest.mark.django_db

ASKED = [
    "--farm",
    "heron-slough",
    "--from",
    "2026-04-20",
    "--as-of",
    "2026-04-19",
    "--seconds",
    "2",
    "--rounds",
    "20",
]


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_machine(farm)
    make_implement(farm)
    make_hand(farm)
    make_dry_spring(farm)
    field = make_field(farm, planted_ac=Decimal(100))
    make_pivot(field)
    lay_out(
        season=make_season(field), steps=[Step("disk", leave_cents=90_000)], pivot_stands_at_deg=Decimal(90)
    )
    lay_out(
        season=make_season(make_field(farm, "river-60")),
        steps=[Step("disk", leave_cents=90_000), Step("plant", leave_cents=1)],
    )
    return farm


@pytest.fixture
def priced(farm: Farm) -> Farm:
    valid_from = dt.date(2026, 1, 1)
    for kind, usd in (("wage", "18.00"), ("machine", "45.00"), ("implement", "15.00")):
        set_rate(
            farm=farm,
            kind=kind,
            usd_per_unit=usd,
            valid_from=valid_from,
            holds_fuel=kind == "machine",
            now=SUNDAY_EVENING,
        )
    return farm


def run(*asked: str) -> tuple[str, str]:
    out, err = StringIO(), StringIO()
    call_command("plan_week", *ASKED, *asked, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def test_the_week_is_planned_at_the_ledger_s_prices_from_local_midnight(priced: Farm) -> None:
    plan = plan_week(farm=priced, first_on=MONDAY.date(), seconds=2, rounds=20, now=SUNDAY_EVENING)
    assert plan.starts_at == MONDAY
    assert check(parse_problem(plan.problem), from_json(plan.plan)).violations == ()
    disk = next(row for row in plan.problem["tasks"] if row["id"] == "river-60/disk")
    assert disk["modes"][0]["cents"] == 23_010  # 177 min at 78.00 an hour
    assert plan.windows["as_of"] == "2026-04-19"


def test_the_table_names_day_hour_outfit_field_and_work_and_what_was_left(priced: Farm) -> None:
    out, err = run()
    assert err == ""
    lines = out.splitlines()
    assert lines[0] == "Heron Slough: plan 1, 7 days from Monday, April 20, 2026"
    assert lines[2].split() == ["day", "time", "outfit", "field", "work"]
    assert "tractor-1, disk-1, Imani" in out
    assert "disk, strip, 1.7 ac" in out
    assert "by itself" in out
    assert "  River 60, plant: No tractor, implement and hand here can plant in these days." in out
    assert "Cost $" in out
    assert "the work itself: machines, implements, hands" in out
    plan = WeekPlan.objects.get()
    rows = [line for line in lines if " am to " in line or " pm to " in line]
    assert len([line for line in rows if "goes on" not in line]) == plan.tasks.count()
    assert {line[:3] for line in rows} <= {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}


def test_json_goes_to_standard_output_alone(priced: Farm) -> None:
    out, _ = run("--json", "--send")
    told = json.loads(out)
    plan = WeekPlan.objects.get()
    assert (told["number"], told["state"], told["plan"]) == (1, "sent", plan.plan)
    assert told["left"] == [
        {"pass": "river-60/plant", "why": "No tractor, implement and hand here can plant in these days."}
    ]
    assert plan.state == PlanState.SENT
    assert FieldPass.objects.filter(state=PassState.SENT).count() == 6


def test_prices_that_are_missing_are_told_beside_the_plan(farm: Farm) -> None:
    out, err = run()
    assert "Counted as 0: " in err
    assert "Cost $" in out


def test_an_unknown_farm_ends_with_code_1_and_a_sentence(farm: Farm) -> None:
    with pytest.raises(CommandError, match="No farm has the code 'nowhere'") as refused:
        call_command("plan_week", "--farm", "nowhere", "--from", "2026-04-20")
    assert refused.value.returncode == 1


def test_no_plan_ends_with_code_1_and_the_rules_that_clash(priced: Farm) -> None:
    FieldPass.objects.filter(operation="disk").update(leave_cents=None)
    Hand.objects.get().away.create(farm=priced, first_on=dt.date(2026, 4, 20), last_on=dt.date(2026, 4, 26))
    with pytest.raises(CommandError, match="No plan keeps every rule") as refused:
        run()
    assert refused.value.returncode == 1
    assert "/disk" not in str(refused.value)
    assert "“disk” on " in str(refused.value)
    assert not WeekPlan.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (["--from", "20 April"], "'20 April' is not a date like 2027-04-05"),
        (["--seconds", "0"], "0 is not between 0 and a million"),
        (["--seconds", "nan"], "nan is not between"),
        (["--days", "soon"], "'soon' is not a number"),
        (["--from", "9999-12-31"], "9999-12-31 is not in the years 1900 to 2100"),
        (["--as-of", "0001-01-01"], "0001-01-01 is not in the years"),
        (["--workers", "65"], "65 threads are more than 64"),
    ],
)
def test_what_is_not_understood_is_named(farm: Farm, wrong: list[str], says: str) -> None:
    with pytest.raises(CommandError, match=says):
        run(*wrong)


@pytest.mark.parametrize(
    ("hour", "minute", "shown"),
    [(0, 5, "12:05 am"), (12, 0, "12:00 pm"), (23, 59, "11:59 pm"), (7, 30, "7:30 am")],
)
def test_hours_are_shown_on_a_twelve_hour_clock(hour: int, minute: int, shown: str) -> None:
    assert clock_12h(dt.datetime(2026, 4, 20, hour, minute, tzinfo=NEW_YORK)) == shown


@pytest.mark.parametrize(
    ("cents", "shown"), [(0, "$0.00"), (120_450, "$1,204.50"), (-300, "-$3.00"), (7, "$0.07")]
)
def test_cents_are_shown_as_dollars(cents: int, shown: str) -> None:
    assert dollars(cents) == shown
