"""Each value of the format put wrong in turn: one sentence that begins with the path of that very value.

The table of what each key may hold is written from the rule book, not from the code.
"""

import copy
import json
import math
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from scheduling.solver import ProblemError, from_json, parse_problem, problem_to_json, read_plan, read_problem
from tests.scheduling.solver import example

Json = dict[str, Any]
Keys = tuple[str | int, ...]

# What a value may be: its kind, with ? where null may stand too.
PROBLEM_KINDS = {
    "start": "text", "zone": "text", "horizon": "above 0", "step": "above 0", "resources": "list", "places": "list",
    "road_minutes": "list", "tasks": "list", "places[]": "text", "road_minutes[]": "list",
    "road_minutes[][]": "not negative", "resources[]": "object", "resources[].id": "text", "resources[].kind": "text",
    "resources[].home": "text", "resources[].roams": "flag", "resources[].calendar": "list",
    "resources[].calendar[]": "object", "resources[].calendar[].from": "not negative",
    "resources[].calendar[].to": "not negative", "resources[].calendar[].extra_cents_per_hour": "not negative",
    "resources[].road_factor": "number", "resources[].road_cents_per_minute": "not negative",
    "resources[].road_calendar": "list", "resources[].road_calendar[]": "object",
    "resources[].road_calendar[].from": "not negative", "resources[].road_calendar[].to": "not negative",
    "resources[].changeover": "object", "resources[].changeover.minutes": "not negative",
    "resources[].changeover.cents": "not negative", "resources[].setup_now": "text?", "tasks[]": "object",
    "tasks[].id": "text", "tasks[].place": "text", "tasks[].operation": "text", "tasks[].modes": "list",
    "tasks[].modes[]": "object", "tasks[].modes[].id": "text", "tasks[].modes[].resources": "list",
    "tasks[].modes[].resources[]": "text", "tasks[].modes[].setup": "text?", "tasks[].modes[].minutes": "above 0",
    "tasks[].modes[].cents": "not negative", "tasks[].open": "list", "tasks[].open[]": "object",
    "tasks[].open[].from": "not negative", "tasks[].open[].to": "not negative", "tasks[].open[].chance": "chance",
    "tasks[].after": "list", "tasks[].after[]": "object", "tasks[].after[].task": "text",
    "tasks[].after[].min_gap": "not negative", "tasks[].after[].max_gap": "not negative?",
    "tasks[].earliest": "not negative", "tasks[].latest": "whole?", "tasks[].due": "whole?",
    "tasks[].late_cents_per_hour": "not negative", "tasks[].leave_cents": "not negative?",
    "tasks[].hold_limit": "not negative?", "tasks[].fixed": "object?", "tasks[].fixed.mode": "text",
    "tasks[].fixed.from": "whole", "tasks[].under_way": "object?", "tasks[].under_way.mode": "text",
    "tasks[].under_way.minutes_left": "above 0", "tasks[].under_way.cents_left": "not negative",
    "tasks[].under_way.held_for": "not negative", "tasks[].was": "object?", "tasks[].was.mode": "text",
    "tasks[].was.from": "whole", "tasks[].was.change_cents": "not negative", "format": "text",
}  # fmt: skip
REQUIRED = {
    "format", "start", "zone", "horizon", "step", "resources", "places", "road_minutes", "tasks", "resources[].id",
    "resources[].kind", "resources[].home", "resources[].calendar", "resources[].calendar[].from",
    "resources[].calendar[].to", "resources[].road_calendar[].from", "resources[].road_calendar[].to",
    "resources[].changeover.minutes", "resources[].changeover.cents", "tasks[].id", "tasks[].place",
    "tasks[].operation", "tasks[].modes", "tasks[].modes[].id", "tasks[].modes[].resources", "tasks[].modes[].minutes",
    "tasks[].modes[].cents", "tasks[].open", "tasks[].open[].from", "tasks[].open[].to", "tasks[].after[].task",
    "tasks[].fixed.mode", "tasks[].fixed.from", "tasks[].under_way.mode", "tasks[].under_way.minutes_left",
    "tasks[].under_way.cents_left", "tasks[].under_way.held_for", "tasks[].was.mode", "tasks[].was.from",
    "tasks[].was.change_cents",
}  # fmt: skip
PLAN_KINDS = {
    "format": "text", "status": "text", "cost": "whole?", "bound": "whole?", "seconds": "number",
    "cost_parts": "object?", "cost_parts.direct": "not negative", "cost_parts.late": "not negative",
    "cost_parts.extra": "not negative", "cost_parts.road": "not negative", "cost_parts.change": "not negative",
    "cost_parts.left": "not negative", "cost_parts.weather": "not negative", "tasks": "list", "tasks[]": "object",
    "tasks[].id": "text", "tasks[].mode": "text", "tasks[].from": "whole", "tasks[].to": "whole", "left": "list",
    "left[]": "object", "left[].id": "text", "left[].why": "words", "why": "list", "why[]": "object",
    "why[].task": "text?", "why[].rule": "text", "why[].says": "words",
}  # fmt: skip
HUGE = 10**40
NUMBERS = [5, 0.5, Decimal("0.5")]
NO_NUMBERS = [math.nan, math.inf, -math.inf, Decimal("NaN"), Decimal("sNaN"), Decimal("-Infinity")]
WHOLE_WRONG = ["5", True, 1.0, 2.5, Decimal(3), HUGE, -HUGE, [], {}, *NO_NUMBERS]
WRONG_VALUES: dict[str, list[Any]] = {
    "text": ["", " \n", "\ud800", "x" * 301, 5, 0.5, True, [], {}, math.nan],
    "words": ["\udfff", 5, 0.5, True, [], {}, math.nan],
    "list": ["yard", 5, True, {}, {"0": 1}, math.nan],
    "object": ["yard", 5, True, [], [1], math.nan],
    "flag": ["true", 0, 1, 1.0, [], {}],
    "whole": WHOLE_WRONG,
    "not negative": [-1, *WHOLE_WRONG],
    "above 0": [0, -1, *WHOLE_WRONG],
    "number": ["1", True, -1, HUGE, [], {}, *NO_NUMBERS],
    "chance": ["1", True, -0.0001, 1.0001, 0.33333, 2, HUGE, [], {}, Decimal("1e-9999"), *NO_NUMBERS],
}


def full_problem() -> Json:
    """Return the example with every key of the format in it."""
    problem = example.problem()
    task = problem["tasks"][0]
    task.update(earliest=0, latest=1000, after=[], fixed=None, under_way=None)
    mode = task["modes"][0]["id"]
    problem["tasks"].append(
        {
            **copy.deepcopy(task),
            "id": "field-01/bed",
            "after": [{"task": "field-01/disk", "min_gap": 0, "max_gap": 600}],
            "fixed": {"mode": mode, "from": 901},
            "under_way": {"mode": mode, "minutes_left": 5, "cents_left": 0, "held_for": 9},
        }
    )
    return problem


def full_plan() -> Json:
    plan = example.plan()
    plan["left"] = [{"id": "field-01/bed", "why": "It is shut."}]
    plan["why"] = [{"task": "field-01/bed", "rule": "open", "says": "It is shut."}]
    return plan


def leaves(value: Any, keys: Keys = ()) -> Iterator[Keys]:
    """Return the way to each value inside, those of lists and objects too."""
    if keys:
        yield keys
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in pairs:
        yield from leaves(item, (*keys, key))


def as_path(keys: Keys, number: bool = True) -> str:
    path = ""
    for key in keys:
        path += (f"[{key}]" if number else "[]") if isinstance(key, int) else f".{key}" if path else key
    return path


def holder_of(value: Any, keys: Keys) -> Any:
    for key in keys[:-1]:
        value = value[key]
    return value


def refusal(parse: Any, value: Any) -> ProblemError | None:
    error = None
    try:
        parse(value)
    except ProblemError as refused:
        error = refused
    if error is not None:
        says = str(error)
        assert says.startswith(f"{error.path} ")
        assert says.endswith(".")
        assert says.isprintable()
        assert len(says) < 250
    return error


@pytest.mark.parametrize(
    ("whole", "kinds", "parse"),
    [(full_problem(), PROBLEM_KINDS, parse_problem), (full_plan(), PLAN_KINDS, from_json)],
    ids=["problem", "plan"],
)
def test_a_value_of_the_wrong_kind_is_refused_by_its_own_path(whole: Json, kinds: Json, parse: Any) -> None:
    assert refusal(parse, whole) is None
    seen = set()
    for keys in leaves(whole):
        kind = kinds[as_path(keys, number=False)]
        seen.add(as_path(keys, number=False))
        for wrong in [*WRONG_VALUES[kind.removesuffix("?")], *([] if kind.endswith("?") else [None])]:
            changed = copy.deepcopy(whole)
            holder_of(changed, keys)[keys[-1]] = wrong
            error = refusal(parse, changed)
            assert error is not None, (keys, wrong)
            # An empty or other list or object is told by what it lacks.
            inside = isinstance(wrong, (list, dict)) and error.path.startswith(as_path(keys))
            assert error.path == as_path(keys) or inside, (keys, wrong, str(error))
        if kind.endswith("?"):
            changed = copy.deepcopy(whole)
            holder_of(changed, keys)[keys[-1]] = None
            assert refusal(parse, changed) is None, keys
    assert seen == set(kinds)


def test_a_key_that_is_missing_is_refused_where_the_rule_book_wants_it_and_nowhere_else() -> None:
    for keys in leaves(full_problem()):
        if isinstance(keys[-1], int):
            continue
        changed = full_problem()
        del holder_of(changed, keys)[keys[-1]]
        error = refusal(parse_problem, changed)
        if as_path(keys, number=False) in REQUIRED:
            assert error is not None, keys
            assert str(error).startswith(f"{as_path(keys)} is missing"), keys
        else:
            assert error is None, keys


@pytest.mark.parametrize(
    ("whole", "parse"), [(full_problem(), parse_problem), (full_plan(), from_json)], ids=["problem", "plan"]
)
def test_a_key_too_many_is_refused_in_every_object(whole: Json, parse: Any) -> None:
    places: list[Keys] = [()]
    places += [keys for keys in leaves(whole) if isinstance(_value(whole, keys), dict)]
    for keys in places:
        changed = copy.deepcopy(whole)
        _value(changed, keys)["minuts"] = 5
        error = refusal(parse, changed)
        assert error is not None
        assert str(error) == f"{as_path((*keys, 'minuts'))} is not a key of this format."


def _value(value: Any, keys: Keys) -> Any:
    for key in keys:
        value = value[key]
    return value


def test_a_key_that_stands_twice_is_refused_in_every_object_of_a_file(tmp_path: Path) -> None:
    path = tmp_path / "file.json"
    for whole, read in ((full_problem(), read_problem), (full_plan(), read_plan)):
        objects = [keys for keys in leaves(whole) if isinstance(_value(whole, keys), dict)]
        for keys in objects:
            changed = copy.deepcopy(whole)
            item = _value(changed, keys)
            first = next(iter(item))
            item["again"] = item[first]
            path.write_text(json.dumps(changed).replace('"again"', json.dumps(first)), encoding="utf-8")
            error = refusal(read, path)
            assert str(error) == f"{as_path((*keys, first))} stands twice in the same object."


NAMES = [
    ("resources[].home", "the place"),
    ("tasks[].place", "the place"),
    ("tasks[].modes[].resources[]", "the resource"),
    ("tasks[].after[].task", "the task"),
    ("tasks[].under_way.mode", "the mode"),
]


def test_a_name_that_nobody_bears_is_refused_where_it_stands() -> None:
    wanted = dict(NAMES)
    seen = set()
    for keys in leaves(full_problem()):
        what = wanted.get(as_path(keys, number=False))
        if what is None:
            continue
        for name in ("nobody", "Yard", "tractor-1 ", "0"):
            changed = full_problem()
            holder_of(changed, keys)[keys[-1]] = name
            says = f'{as_path(keys)} names {what} "{name}", which does not exist.'
            assert str(refusal(parse_problem, changed)) == says
        seen.add(as_path(keys, number=False))
    assert seen == set(wanted)


@pytest.mark.parametrize(
    "kind", ["resources", "tasks", "places", "tasks[1].modes", "tasks[0].modes[0].resources"]
)
def test_an_id_that_stands_twice_is_told_with_both_places(kind: str) -> None:
    problem = full_problem()
    listed = eval_path(problem, kind)
    listed.append(copy.deepcopy(listed[0]))
    if kind == "places":
        problem["road_minutes"] = [[0] * 3 for _ in range(3)]
    last = f"{kind}[{len(listed) - 1}]"
    error = refusal(parse_problem, problem)
    assert error is not None
    assert error.path in (last, f"{last}.id")
    assert str(error).endswith(f", which {kind}[0] is already.")


def eval_path(value: Any, path: str) -> Any:
    for key in path.replace("[", ".").replace("]", "").split("."):
        value = value[int(key) if key.isdigit() else key]
    return value


STRETCHES: list[tuple[list[tuple[int, int]], str, str]] = [
    ([(0, 10), (9, 20)], "[1].from", "must not come before 10"),
    ([(0, 10), (0, 10)], "[1].from", "must not come before 10"),
    ([(20, 30), (0, 10)], "[1].from", "must not come before 30"),
    ([(0, 30), (5, 10)], "[1].from", "must not come before 30"),
    ([(10, 10)], "[0].to", "must come after its from of 10"),
    ([(10, 9)], "[0].to", "must come after its from of 10"),
    ([(0, 10081)], "[0].to", "must not pass the horizon of 10080"),
    ([(-1, 10)], "[0].from", "must be at least 0"),
    ([(10080, 10080)], "[0].to", "must come after its from of 10080"),
]


@pytest.mark.parametrize("where", ["resources[2].calendar", "resources[1].road_calendar", "tasks[0].open"])
@pytest.mark.parametrize(("pairs", "path", "says"), STRETCHES, ids=[str(pairs) for pairs, *_ in STRETCHES])
def test_stretches_that_overlap_or_run_backward_or_out_are_refused(
    where: str, pairs: list[tuple[int, int]], path: str, says: str
) -> None:
    problem = full_problem()
    eval_path(problem, where)[:] = [{"from": a, "to": b} for a, b in pairs]
    error = refusal(parse_problem, problem)
    assert error is not None
    assert error.path == where + path
    assert says in str(error)


@pytest.mark.parametrize("where", ["resources[2].calendar", "resources[1].road_calendar", "tasks[0].open"])
def test_stretches_may_touch_and_there_may_be_none(where: str) -> None:
    for pairs in ([(0, 10), (10, 20), (20, 10080)], []):
        problem = full_problem()
        eval_path(problem, where)[:] = [{"from": a, "to": b} for a, b in pairs]
        assert refusal(parse_problem, problem) is None


CIRCLES = [
    {"field-01/disk": ["field-01/disk"]},
    {"field-01/disk": ["field-01/bed"], "field-01/bed": ["field-01/disk"]},
]


@pytest.mark.parametrize("circle", CIRCLES, ids=["of one", "of two"])
def test_a_circle_is_refused_where_it_closes(circle: dict[str, list[str]]) -> None:
    problem = full_problem()
    for task in problem["tasks"]:
        task["after"] = [{"task": name} for name in circle.get(task["id"], [])]
    error = refusal(parse_problem, problem)
    assert error is not None
    assert error.path.endswith(".after[0].task")
    assert "closes a circle" in str(error)


@pytest.mark.parametrize(
    "start", ["2027-04-05", "2027-04-05T00:00:00", "2027-13-05T00:00:00Z", "now", "20:00Z", "1e9"]
)
def test_a_start_that_is_no_time_with_its_offset_is_refused(start: str) -> None:
    error = refusal(parse_problem, {**full_problem(), "start": start})
    assert error is not None
    assert error.path == "start"


@pytest.mark.parametrize(
    "zone", ["EST5EDT4", "New York", "America", "america/new_york ", "/etc/passwd", "a\0b", "é", "-04:00"]
)
def test_a_zone_that_is_none_is_refused(zone: str) -> None:
    error = refusal(parse_problem, {**full_problem(), "zone": zone})
    assert error is not None
    assert str(error).startswith("zone must be an IANA name")


@pytest.mark.parametrize(
    ("horizon", "step", "path"),
    [
        (10080, 11, "step"),
        (10080, 10081, "step"),
        (10080, 4032, "step"),
        (525600, 15, "horizon"),
        (7, 2, "step"),
    ],
)
def test_a_step_that_does_not_divide_and_a_year_are_refused(horizon: int, step: int, path: str) -> None:
    error = refusal(parse_problem, {**full_problem(), "horizon": horizon, "step": step})
    assert error is not None
    assert error.path == path


def test_a_fixed_start_in_a_shut_hour_is_no_error() -> None:
    for start in (-30, 0, 725, 10079, 10080, 99999):
        problem = full_problem()
        problem["tasks"][1]["fixed"]["from"] = start
        assert refusal(parse_problem, problem) is None


def test_a_problem_with_every_key_comes_back_from_its_json() -> None:
    problem = parse_problem(full_problem())
    assert parse_problem(json.loads(json.dumps(problem_to_json(problem)))) == problem
