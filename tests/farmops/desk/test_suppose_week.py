"""What would help a week, on the terminal: dollars, and nothing stored; and what a plan made anew changes."""

import datetime as dt
import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from farmops.core import jobs
from farmops.core.models import JobRun
from farmops.desk import supposing
from farmops.desk.help_lines import changes_in_words, help_lines, sure_in_words
from farmops.desk.services import plan_week
from farmops.desk.supposing import Answer, Help, PlanUnderWay, what_would_help
from farmops.farms.models import Farm, Hand, HandAway, Implement
from scheduling.models import FieldPass, WeekPlan
from scheduling.services.passes import Step, lay_out
from scheduling.services.planning import send_plan
from scheduling.services.supposing import SuppositionRefused
from tests.factories import make_farm, make_field, make_hand, make_implement, make_machine, make_season
from tests.scheduling.ground import MONDAY, SUNDAY_EVENING, make_dry_spring

pytestmark = pytest.mark.django_db
ASKED = ["--farm", "heron-slough", "--from", "2026-04-20", "--as-of", "2026-04-19", "--days", "2"]
SEARCHED = ["--seconds", "2", "--rounds", "3"]


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    make_machine(farm)
    make_machine(farm, "tractor-2")
    make_implement(farm)
    make_hand(farm)
    make_hand(farm, "teo")
    make_dry_spring(farm)
    for code in ("pond-40", "river-60"):
        lay_out(season=make_season(make_field(farm, code)), steps=[Step("disk", leave_cents=90_000)])
    return farm


def run(*asked: str) -> tuple[str, str]:
    out, err = StringIO(), StringIO()
    call_command("plan_week", *ASKED, *SEARCHED, *asked, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def planned(farm: Farm, **asked: Any) -> WeekPlan:
    asked = {"first_on": MONDAY.date(), "days": 2, "seconds": 2, "rounds": 3, "now": SUNDAY_EVENING, **asked}
    return plan_week(farm=farm, **asked)


def test_what_is_supposed_is_told_in_dollars_best_first_and_nothing_is_stored(farm: Farm) -> None:
    out, _ = run("--suppose", "disk-1:-1", "--suppose", "hand:+1@monday", "--suppose", "Teo:-1@monday")
    lines = out.splitlines()
    assert lines[0].startswith("As it is, the plan costs $")
    told = [line for line in lines if line.startswith("  ") and "$" in line[:16]]
    assert told[0].split("  ")[-1] == "One more hand on Monday, April 20"
    assert told[-1].split()[0] == "-$1,800.00", "both fields are left, and nothing is spent on them"
    assert told[-1].endswith(" missing on all days")
    assert "    Then left: disk on Pond 40, disk on River 60." in out
    assert lines[-1].endswith("nothing is stored.")
    assert not WeekPlan.objects.exists()
    assert not JobRun.objects.exists()


def test_json_holds_the_answers_in_cents(farm: Farm) -> None:
    out, _ = run("--suppose", "rain", "--json")
    told = json.loads(out)
    assert told["format"] == "plan-help/1"
    [one] = told["answers"]
    assert (one["suppose"], one["says"]) == ("rain", "Rain on all days")
    assert one["cents"] == told["cost"] - 180_000 == one["least_cents"] == one["most_cents"]
    assert one["now_left"] == ["disk on Pond 40", "disk on River 60"]


def test_without_a_word_it_is_what_is_asked_first(farm: Farm) -> None:
    FieldPass.objects.filter(farm=farm, season__field__code="pond-40").update(leave_cents=0)
    out, _ = run("--suppose", "", "--json")
    assert run("--suppose", "--json")[0] == out
    assert {
        one["suppose"] for one in json.loads(run("--suppose", "--suppose", "rain", "--json")[0])["answers"]
    } > {
        "rain",
        "disk:+1",
    }
    assert {one["suppose"] for one in json.loads(out)["answers"]} == {
        "overtime:+1h",
        "hand:+1@monday",
        "hand:+1@tuesday",
        "disk:+1",
        "outfit:disk:+1",
    }
    assert "A hired disk-1 with its tractor and driver to disk on all days" in [
        one["says"] for one in json.loads(out)["answers"]
    ]


def test_where_nothing_is_left_or_late_no_implement_is_asked_about_without_a_word(farm: Farm) -> None:
    told = json.loads(run("--suppose", "--json")[0])
    assert {one["suppose"] for one in told["answers"]} == {
        "overtime:+1h",
        "hand:+1@monday",
        "hand:+1@tuesday",
    }


def test_what_is_not_understood_ends_with_code_2_before_anything_is_searched(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(**_: Any) -> None:
        raise AssertionError("searched")

    monkeypatch.setattr(supposing, "solve_week", never)
    with pytest.raises(CommandError, match="there is no 'plow' here") as refused:
        run("--suppose", "plow:+1")
    assert refused.value.returncode == 2
    with pytest.raises(CommandError, match="nothing to --send") as refused:
        run("--suppose", "disk:+1", "--send")
    assert refused.value.returncode == 2


def test_what_clashes_with_it_is_said_by_names(farm: Farm) -> None:
    Implement.objects.update(name="the wide disk")
    lay_out(season=make_season(make_field(farm, "mill-30")), steps=[Step("disk", leave_cents=None)])
    (none,) = what_would_help(
        plan=planned(farm), suppose=["disk-1:-1"], seconds=2, rounds=3, now=SUNDAY_EVENING
    ).answers
    assert none.cents is None
    assert "“disk” on Mill 30 must be done." in none.why_none
    assert "he wide disk" in none.why_none
    assert "mill-30" not in none.why_none
    assert "disk-1" not in none.why_none


def test_a_stored_plan_is_asked_without_being_touched_and_by_one_at_a_time(farm: Farm) -> None:
    plan = planned(farm)
    before = WeekPlan.objects.values().get()
    heard: list[tuple[int, int, str]] = []
    found = what_would_help(
        plan=plan,
        suppose=["teo:-1", "imani:-1", "teo:-1"],
        seconds=2,
        rounds=3,
        now=SUNDAY_EVENING,
        told=lambda done, of, following: heard.append((done, of, following)),
    )
    assert [one.suppose for one in found.answers] == ["teo:-1", "imani:-1"]
    teo, imani = "Teo missing on all days", "Imani missing on all days"
    assert heard == [(0, 4, teo), (1, 4, imani), (2, 4, teo), (3, 4, imani), (4, 4, "")]
    assert (found.cost_cents, found.bound_cents) == (plan.cost_cents, plan.bound_cents)
    assert WeekPlan.objects.values().get() == before
    assert jobs.claim(
        job=f"suppose of farm {farm.pk}", slot=1, now=SUNDAY_EVENING, stale_after=dt.timedelta(minutes=2)
    )
    with pytest.raises(PlanUnderWay):
        what_would_help(plan=plan, suppose=["teo:-1"], seconds=2, rounds=3, now=SUNDAY_EVENING)
    with pytest.raises(SuppositionRefused) as refused:
        what_would_help(plan=plan, suppose=["teo:-1", "rain@someday"], seconds=2, now=SUNDAY_EVENING)
    assert list(refused.value.fields) == ["suppose/1"]


def test_a_plan_made_anew_says_what_changed_of_the_sent_one_and_why(farm: Farm) -> None:
    sent = send_plan(plan=planned(farm), now=SUNDAY_EVENING)
    used = {task.hand_id for task in sent.tasks.all()}
    hand = Hand.objects.get(pk=used.pop())
    HandAway.objects.create(farm=farm, hand=hand, first_on=MONDAY.date(), last_on=MONDAY.date())
    out, _ = run("--keep-sent")
    assert "Beside plan 1, which was sent: " in out
    changes = out.partition("Beside plan 1")[2].splitlines()[1:]
    assert changes
    assert all("It had to: " in line for line in changes)
    told = json.loads(run("--keep-sent", "--json", "--send")[0])
    assert told["against"] == 1
    assert told["changes"]["format"] == "plan-changes/1"
    assert told["changes"]["had_to"] == len(changes)
    assert "Beside plan" not in run()[0]


def test_a_search_that_is_broken_off_stores_nothing(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    def pressed_twice(*_: Any, **__: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("scheduling.services.planning.solve", pressed_twice)
    with pytest.raises(CommandError, match="Broken off; nothing was stored") as refused:
        run()
    assert refused.value.returncode == 1
    assert not WeekPlan.objects.exists()


def answer(**facts: Any) -> Answer:
    whole: dict[str, Any] = {
        "suppose": "disk:+1",
        "says": "One more implement to disk on all days",
        "cents": 120_000,
        "least_cents": 90_000,
        "most_cents": 150_000,
        "is_sure": False,
        "now_planned": (),
        "now_left": (),
        "moved": (),
        "overtime_min": 0,
    }
    return Answer(**{**whole, **facts})


def test_answers_are_said_with_what_changes_and_how_sure_they_are() -> None:
    one = answer(now_planned=("a", "b", "c", "d", "e"), moved=("f",), overtime_min=-75)
    assert changes_in_words(one) == [
        "Then planned too: a, b, c, d and 1 more.",
        "1 pass moves.",
        "Less overtime: 1 h 15 min.",
    ]
    assert sure_in_words(one).startswith("It lies between $900.00 and $1,500.00")
    none = answer(cents=None, least_cents=None, most_cents=None, why_none="It must be done.", says="Rain")
    lines = help_lines(Help(200_000, 150_000, (one, none)))
    assert lines[0] == "As it is, the plan costs $2,000.00; the cheapest possible is not below $1,500.00."
    assert "  +$1,200.00  One more implement to disk on all days" in lines
    assert lines[lines.index("     no plan  Rain") + 1].strip() == "It must be done."
    assert "Nothing was worked out." in help_lines(Help(1, 1, ()))
