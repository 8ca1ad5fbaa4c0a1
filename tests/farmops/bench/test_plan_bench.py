"""The bench of plans: its farms, its peers, what it judges; nothing here is timed."""

import json
from dataclasses import replace
from importlib import import_module
from io import StringIO
from pathlib import Path
from time import monotonic
from typing import Any

import pytest
from django.core.management import call_command

from farmops.bench import children, plan, plan_reach, plan_sizes
from farmops.bench.plan_anew import (
    PRICES,
    WET_FROM_MIN,
    WET_TO_MIN,
    after_rain,
    had_to_at_least,
    planned_anew,
)
from farmops.bench.plan_best import BadBest, Best, keep_best, read_best
from farmops.bench.plan_exact import ExactPeer
from farmops.bench.plan_farms import Farm
from farmops.bench.plan_long import cheapest
from farmops.bench.plan_measures import BadPlan, farm_problem, judged, named
from farmops.bench.plan_pieces import Pieces
from farmops.bench.plan_pyjobshop import CannotSay, Translation, laid_in
from farmops.bench.plan_sizes import Tried
from farmops.bench.rows import Choices
from scheduling.selectors.sent import CHANGE_LATER_CENTS, CHANGE_SOON_CENTS, SOON_MIN
from scheduling.solver import PlacedTask, Plan, Problem, greedy, parse_problem, solve
from scheduling.solver.board import Board
from scheduling.solver.cost import cents
from scheduling.solver.solving import as_plan
from scheduling.solver.starting import schedule_from
from tests.scheduling.solver.tiny import random_problem

pytestmark = pytest.mark.long


def test_small_sizes_give_every_table_without_a_verdict(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search and what is known of the farm are measured in children of their own, as all is where time is judged."""
    in_children = children.measured

    def measured(function: str, **arguments: Any) -> dict[str, Any]:
        module, _, name = function.rpartition(".")
        if name in ("named", "planned"):
            return in_children(function, **arguments)
        for of_a_child in ("cores", "most_seconds", "environ"):
            arguments.pop(of_a_child, None)
        found = getattr(import_module(module), name)(**arguments)
        return {"peak_mb": 1.0, **json.loads(json.dumps(found))}

    for part in (plan_sizes, plan_reach):
        monkeypatch.setattr(part, "measured", measured)
    out = StringIO()
    call_command("bench", "plan", "--small", "--json", stdout=out)
    report = json.loads(out.getvalue())
    assert report["conditions"][-1] == "Small sizes: no limit is judged."
    assert all(row["is_met"] is None for row in report["rows"])
    titles = [grid["title"] for grid in report["tables"]]
    assert titles == [
        "4 fields, 9 passes, 7 days: dollars",
        "Proofs: farms of 5 fields, 1 s",
        "Job shops, 1 s",
    ]
    ways = [line[0] for line in report["tables"][0]["lines"]]
    assert ways == [
        "the search",
        "construction alone",
        "exact model of all",
        "exact model by pieces",
        "PyJobShop",
    ]
    assert report["tables"][0]["columns"] == ["way", "1 s", "bound", "left", "MB", "first plan, s", "took, s"]


def test_sizes_times_and_reach_are_those_that_were_promised() -> None:
    assert plan.PARTS == ("10", "30", "60", "120", "proofs", "anew", "job-shops")
    assert plan_sizes.LIMITS_S == (5, 15, 60)
    assert plan_sizes.CORES == 2
    assert plan_sizes.NEAR == {30: 1.02, 60: 1.02, 120: 1.04}
    assert plan_sizes.MOST_MB == {120: 1000.0}
    assert plan_sizes.FIRST_WITHIN_S == {60: 1.0, 120: 3.0}
    assert (plan_reach.PROOF_FIELDS, plan_reach.PROOF_S, plan_reach.LEAST_PROOFS) == (5, 10, 9)
    assert (plan_reach.ANEW_FIELDS, plan_reach.ANEW_WITHIN_S, plan_reach.MOST_TIMES_HAD_TO) == (60, 5.0, 2)
    assert (plan_reach.SHOP_S, plan_reach.MOST_OVER) == (20, 0.03)
    assert len(plan_reach.TEN_BY_TEN) == 17


def test_a_drawn_farm_has_what_farms_have() -> None:
    problem = farm_problem(fields=30, seed=1)
    assert named(fields=30, seed=1) == {
        "instance": "30 fields, seed 1",
        "problem": named(fields=30, seed=1)["problem"],
        "tasks": 96,
        "days": 7,
    }
    assert farm_problem(fields=120, seed=1).horizon == 14 * 1440
    # Pivots are moved by two hands at both ends, and walk alone between.
    moves = [task for task in problem.tasks if task.operation == "move"]
    hands = [
        {sum(name.startswith("hand") for name in mode.resources) for mode in task.modes} for task in moves
    ]
    assert len(moves) == 12
    assert [counts for task, counts in zip(moves, hands) if task.id.endswith("walk")] == [{0}] * 4
    assert [counts for task, counts in zip(moves, hands) if not task.id.endswith("walk")] == [{2}] * 8
    # Half days that are shut, outfits of different pace, chains, parts.
    work = [task for task in problem.tasks if task.operation != "move"]
    half_days = 14 * len(work)
    shut = half_days - sum(len(task.open) for task in work)
    assert 0.15 < shut / half_days < 0.35
    assert all(len({mode.minutes for mode in task.modes}) <= 2 for task in work)
    assert any(len({mode.minutes for mode in task.modes}) == 2 for task in work)
    assert sum(bool(task.after) for task in problem.tasks) > len(problem.tasks) / 2
    assert Farm(30, 1).problem == Farm(30, 1).problem != Farm(30, 2).problem


def as_built(problem: Problem) -> Plan:
    return as_plan(greedy.construct(Board(problem)), is_proved=False, bound_units=0, seconds=0)


def test_small_pieces_make_a_plan_cheaper_and_keep_every_rule() -> None:
    problem = farm_problem(fields=5, seed=3)
    schedule = greedy.construct(Board(problem))
    before = schedule.units
    pieces = Pieces(schedule, seed=1, workers=1)
    for _ in range(8):
        assert pieces.piece(2.0)
        if schedule.units < before:
            break
    assert schedule.units < before
    judged(problem, as_plan(schedule, is_proved=False, bound_units=0, seconds=0))


def test_pieces_of_odd_problems_never_break_a_rule_or_cost_more() -> None:
    freed = 0
    for number in range(24):
        problem = parse_problem(random_problem(number))
        schedule = greedy.construct(Board(problem))
        if schedule.units >= greedy.MUST_UNITS:
            continue
        before = schedule.units
        freed += Pieces(schedule, seed=number, workers=1).piece(1.0)
        assert schedule.units <= before
        judged(problem, as_plan(schedule, is_proved=False, bound_units=0, seconds=0))
    assert freed >= 12


def test_the_exact_peer_tells_of_plans_as_they_come_until_one_is_proved() -> None:
    problem = farm_problem(fields=3, seed=2)
    board = Board(problem)
    start = greedy.construct(board)
    told: list[int] = []
    ended = ExactPeer(board).improve(start, until=monotonic() + 60, seed=1, workers=1, told=told.append)
    assert ended.proved
    assert ended.bound_units == told[-1] < start.units
    assert told == sorted(told, reverse=True)
    assert told[0] <= start.units
    # The planner's own search, on its own, comes to the same least cost.
    plan = solve(problem, seconds=60, rounds=60)
    assert (plan.status, plan.cost) == ("best", cents(told[-1]))


def test_the_second_program_plans_a_small_farm_and_its_plan_is_laid_into_the_format() -> None:
    problem = farm_problem(fields=2, seed=3)
    found = Translation(problem).solve(seconds=30, seed=1, workers=1)
    assert found is not None
    assert len(found) == len(problem.tasks) == 9
    board = Board(problem)
    schedule = laid_in(board, found, greedy.empty(board))
    assert all(place is not None for place in schedule.places)
    judged(problem, as_plan(schedule, is_proved=False, bound_units=0, seconds=0))


def test_the_second_program_is_not_asked_what_it_cannot_say() -> None:
    problem = farm_problem(fields=3, seed=4)
    with pytest.raises(CannotSay, match="earlier places"):
        Translation(after_rain(problem, as_built(problem)))


def test_a_plan_that_breaks_a_rule_is_never_counted() -> None:
    problem = farm_problem(fields=3, seed=4)
    good = judged(problem, as_built(problem))
    first = good.tasks[0]
    bad = replace(
        good, tasks=(PlacedTask(first.id, first.mode, first.start + 15, first.end), *good.tasks[1:])
    )
    with pytest.raises(BadPlan, match=first.id):
        judged(problem, bad)


def small_week(**keys: Any) -> dict[str, Any]:
    """A hand and two fields an hour's road apart, three passes of two hours each on Tuesday."""
    calendar = [{"from": day * 1440 + 420, "to": day * 1440 + 1080} for day in range(4)]
    tasks = [
        {
            "id": name,
            "place": place,
            "operation": "disk",
            "modes": [{"id": "hand-1", "resources": ["hand-1"], "minutes": 120, "cents": 100}],
            "open": [{"from": 0, "to": 4 * 1440}],
            "leave_cents": 90_000,
        }
        for name, place in (("a", "field-1"), ("b", "field-1"), ("c", "field-2"))
    ]
    return {
        "format": "planning-problem/1",
        "start": "2027-04-05T00:00:00-04:00",
        "zone": "America/New_York",
        "horizon": 4 * 1440,
        "step": 15,
        "resources": [{"id": "hand-1", "kind": "hand", "home": "yard", "roams": True, "calendar": calendar}],
        "places": ["yard", "field-1", "field-2"],
        "road_minutes": [[0, 30, 30], [30, 0, 60], [30, 60, 0]],
        "tasks": tasks,
        **keys,
    }


def sent(*placed: tuple[str, int, int]) -> Plan:
    return Plan(
        status="good",
        cost=0,
        bound=0,
        seconds=0.0,
        cost_parts=None,
        tasks=tuple(PlacedTask(name, "hand-1", start, end) for name, start, end in placed),
        left=(),
    )


def test_passes_had_to_change_when_their_start_is_gone_or_they_run_into_another() -> None:
    # By hand. The wet afternoon is Tuesday from 1 pm: a in the morning stands, b after it has no start there any more,
    # c on Wednesday stands.
    problem = parse_problem(small_week())
    assert (WET_FROM_MIN, WET_TO_MIN) == (1440 + 780, 2880)
    plan = sent(("a", 1440 + 600, 1440 + 720), ("b", 1440 + 780, 1440 + 900), ("c", 2880 + 600, 2880 + 720))
    assert had_to_at_least(after_rain(problem, plan), plan) == 1
    # a begins at noon and is caught by the rain: it ends on Wednesday at 8 am (60 minutes before 1 pm, 60 from 7 am),
    # and c stands in another field at 8.30, an hour's road away: one of the two had to change.
    caught = sent(("a", 1440 + 720, 1440 + 840), ("c", 2880 + 510, 2880 + 630))
    assert had_to_at_least(after_rain(problem, caught), caught) == 1
    # From 9 am on there is room for the road.
    roomy = sent(("a", 1440 + 720, 1440 + 840), ("c", 2880 + 540, 2880 + 660))
    assert had_to_at_least(after_rain(problem, roomy), roomy) == 0
    # Two passes of one field in a row where the first now ends late.
    row = sent(("a", 1440 + 720, 1440 + 840), ("b", 2880 + 465, 2880 + 585))
    assert had_to_at_least(after_rain(problem, row), row) == 1
    # c waits four hours for a, and would wait too short then: it is a that runs into both, and a alone had to change.
    tasks = small_week()["tasks"]
    tasks[2]["after"] = [{"task": "a", "min_gap": 240}]
    waits = parse_problem(small_week(tasks=tasks))
    both = sent(*((p.id, p.start, p.end) for p in row.tasks), ("c", 2880 + 645, 2880 + 765))
    assert had_to_at_least(after_rain(waits, both), both) == 1
    # Without b in the way it is still one of the two, and by the wait alone.
    wait = sent(("a", 1440 + 720, 1440 + 840), ("c", 2880 + 645, 2880 + 765))
    assert had_to_at_least(after_rain(waits, wait), wait) == 1
    assert had_to_at_least(after_rain(problem, wait), wait) == 0


def test_changes_cost_what_they_do_where_a_week_plan_was_sent() -> None:
    assert (PRICES.soon_until_min, PRICES.soon_cents) == (SOON_MIN, CHANGE_SOON_CENTS)
    assert PRICES.later_cents == CHANGE_LATER_CENTS
    problem = parse_problem(small_week())
    plan = sent(("a", 600, 720), ("c", 2880 + 600, 2880 + 720))
    was = {task.id: task.was for task in after_rain(problem, plan).tasks}
    assert was["b"] is None
    first, later = was["a"], was["c"]
    assert first is not None
    assert later is not None
    # Today's is dearer to change than all else could ever cost: three passes left at $900.
    assert first.change_cents > 3 * 90_000
    assert later.change_cents == CHANGE_LATER_CENTS
    wet = after_rain(problem, sent(("b", 1440 + 780, 1440 + 900)))
    # Rain takes its place: nobody pays for changing what cannot stay.
    assert [task.was.change_cents for task in wet.tasks if task.was is not None] == [0]


def test_planning_anew_is_told_in_passes_that_changed_and_that_had_to() -> None:
    got = planned_anew(fields=3, seed=4, first_seconds=0.5, seconds=0.5, workers=1)
    assert got["planned"] >= got["changed"] >= got["had_to"] >= got["had_to_at_least"]
    assert got["cost"] >= got["bound"]


def test_planning_anew_goes_on_from_what_of_the_sent_plan_still_fits(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = farm_problem(fields=12, seed=1)
    sent_plan = as_built(problem)
    wet = after_rain(problem, sent_plan)
    board = Board(wet)
    kept = schedule_from(board, sent_plan)
    gone = [number for number in board.order if kept.places[number] is None]
    assert len(gone) > len(sent_plan.left)
    greedy.fill(kept, gone)
    # With nothing built afresh, one round can do no better than go on from there.
    monkeypatch.setattr(greedy, "construct", greedy.empty)
    anew = solve(wet, seconds=5, rounds=1, start=sent_plan)
    assert anew.cost is not None
    assert anew.cost <= cents(kept.units)


def test_looking_long_ends_in_time_with_a_plan_and_whose_it_is() -> None:
    got = cheapest(fields=3, seed=4, minutes=0.05, workers=1)
    built = as_built(farm_problem(fields=3, seed=4))
    assert built.cost is not None
    assert got["cost"] <= built.cost
    assert got["method"] in ("search", "search, then pieces by the exact model")


def test_what_was_found_in_a_long_look_is_kept_and_told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    file = tmp_path / "best.csv"
    answers: dict[str, dict[str, Any]] = {
        "named": {"instance": "30 fields, seed 1", "problem": "aaaa", "tasks": 96, "days": 7},
        "cheapest": {"cost": 812_345_67, "method": "search", "minutes": 2.04},
    }
    monkeypatch.setattr(
        plan_sizes, "measured", lambda function, **sizes: answers[function.rpartition(".")[2]]
    )
    monkeypatch.setattr(plan_sizes, "keep_best", lambda found: keep_best(found, file))
    monkeypatch.setattr(plan_sizes, "read_best", lambda: read_best(file))
    first = plan_sizes.better([30], 2.0, Choices()).grids[0]
    assert first.lines == (("30 fields, seed 1", "812,346", "search", "kept"),)
    answers["cheapest"]["cost"] += 1
    again = plan_sizes.better([30], 2.0, Choices()).grids[0]
    assert again.lines[0][3] == "812,346 was found before"
    assert read_best(file)["30 fields, seed 1", "aaaa"].minutes == 2.0


def test_best_costs_are_kept_when_cheaper_new_or_of_a_changed_problem(tmp_path: Path) -> None:
    file = tmp_path / "bench" / "best.csv"
    assert read_best(file) == {}
    one = Best("30 fields, seed 1", "aaaa", 1000, "search", 60.0)
    assert keep_best([one], file) == [one]
    assert keep_best([replace(one, cost_cents=1000)], file) == []
    assert keep_best([replace(one, cost_cents=1001)], file) == []
    cheaper = replace(one, cost_cents=999, method="pieces")
    other = Best("60 fields, seed 1", "bbbb", 5000, "search", 2.5)
    assert keep_best([cheaper, other], file) == [cheaper, other]
    changed = replace(one, problem="cccc", cost_cents=2000)
    assert keep_best([changed], file) == [changed]
    assert set(read_best(file).values()) == {changed, other}
    assert sorted(path.name for path in file.parent.iterdir()) == ["best.csv"]


def test_a_file_of_best_costs_that_makes_no_sense_is_refused_by_line(tmp_path: Path) -> None:
    file = tmp_path / "best.csv"
    file.write_text("instance,problem,cost_cents,method,minutes\n30,aaaa,12.5,search,1\n", encoding="utf-8")
    with pytest.raises(BadBest, match=r"best.csv, line 2: .*12\.5"):
        read_best(file)
    file.write_text("a,b\n", encoding="utf-8")
    with pytest.raises(BadBest, match="line 1: the columns must be instance, problem"):
        read_best(file)


def test_the_best_costs_that_are_kept_belong_to_the_farms_that_are_drawn() -> None:
    names = {
        (known["instance"], known["problem"]) for known in (named(fields=f, seed=1) for f in plan_sizes.SIZES)
    }
    assert set(read_best()) <= names


def of_size(
    monkeypatch: pytest.MonkeyPatch,
    *,
    ours: dict[int, int | None],
    peer: dict[int, int | None],
    mb: float = 400.0,
) -> list[tuple[str, float | None, bool | None]]:
    tried = Tried("the search", ours, bound=800, left=0, peak_mb=mb, first_seconds=0.9)
    monkeypatch.setattr(plan_sizes, "_search", lambda fields, limits: tried)
    monkeypatch.setattr(plan_sizes, "_PEERS", {"a peer": lambda way, fields, limits: Tried(way, peer)})
    known = {"instance": "60 fields, seed 1", "problem": "none such", "tasks": 3, "days": 7}
    monkeypatch.setattr(plan_sizes, "measured", lambda function, **arguments: known)
    part = plan_sizes.of_size(60, Choices())
    return [(row.what, row.ratio, row.is_met) for row in part.rows]


def test_a_plan_dearer_than_a_peers_or_far_from_the_best_is_missed(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = of_size(monkeypatch, ours={5: 1100, 15: 1030, 60: 1000}, peer={5: None, 15: 1030, 60: 990})
    assert rows == [
        ("cost beside the cheapest peer: none has a plan", None, True),
        ("cost beside the cheapest peer: a peer", 1.0, True),
        ("cost beside the cheapest peer: a peer", 1000 / 990, False),
        ("cost beside the best ever: a peer at 60 s", 1030 / 990, False),
        ("the first plan, checked or not", 0.9, True),
    ]
    near = of_size(monkeypatch, ours={5: 1100, 15: 1020, 60: 1000}, peer={5: None, 15: None, 60: None})
    assert near[3] == ("cost beside the best ever: the search at 60 s", 1.02, True)
