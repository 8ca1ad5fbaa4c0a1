"""Bad input: one sentence, with the path of the value that is wrong."""

import json
import math
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from scheduling.solver import ProblemError, from_json, parse_problem, read_plan, read_problem
from tests.scheduling.solver import example

HUGE = 10**40


def _at(problem: dict[str, Any], path: str) -> tuple[Any, Any]:
    """Return the holder and the last key of a path such as tasks[0].modes[0].minutes."""
    keys = [int(key) if key.isdigit() else key for key in path.replace("[", ".").replace("]", "").split(".")]
    holder: Any = problem
    for key in keys[:-1]:
        holder = holder[key]
    return holder, keys[-1]


WRONG: list[tuple[str, Any, str]] = [
    ("format", "planning-problem/2", "must be"),
    ("start", "2027-04-05T00:00:00", "offset"),
    ("start", "next Monday", "must be a time"),
    ("start", 5, "must be text"),
    ("zone", "Mars/Olympus", "IANA"),
    ("zone", "../etc/passwd", "IANA"),
    ("horizon", 0, "at least 1"),
    ("horizon", 525600, "at most"),
    ("horizon", 10080.0, "whole number"),
    ("horizon", True, "whole number"),
    ("horizon", HUGE, "at most"),
    ("step", 0, "at least 1"),
    ("step", 11, "must divide"),
    ("step", None, "whole number"),
    ("places", "yard", "must be a list"),
    ("places[1]", "yard", "is already"),
    ("places[1]", "", "must not be empty"),
    ("places[1]", "\ud800", "surrogate"),
    ("road_minutes", [[0, 20]], "2 rows"),
    ("road_minutes[1]", [20], "2 numbers"),
    ("road_minutes[1][1]", 3, "must be 0"),
    ("road_minutes[0][1]", -20, "at least 0"),
    ("road_minutes[0][1]", math.nan, "whole number"),
    ("resources[1].id", "tractor-1", "is already"),
    ("resources[0].home", "barn", "does not exist"),
    ("resources[0].roams", 1, "true or false"),
    ("resources[0].kind", None, "must be text"),
    ("resources[0].setup_now", 4, "must be text"),
    ("resources[0].changeover", None, "must be an object"),
    ("resources[0].changeover.minutes", -30, "at least 0"),
    ("resources[0].road_cents_per_minute", 0.5, "whole number"),
    ("resources[1].road_factor", -2.0, "between"),
    ("resources[1].road_factor", "2", "must be a number"),
    ("resources[1].road_factor", math.inf, "must be a number"),
    ("resources[1].road_factor", Decimal("1e-999999999"), "at most 30 decimals"),
    ("resources[1].road_calendar", None, "must be a list"),
    ("resources[1].road_calendar[0].to", 400, "must come after"),
    ("resources[2].calendar[1].from", 700, "must not come before 720"),
    ("resources[2].calendar[0].from", 1100, "after"),
    ("resources[2].calendar[2].to", 10081, "horizon"),
    ("resources[2].calendar[2].extra_cents_per_hour", -1, "at least 0"),
    ("tasks[0].place", "field-02", "does not exist"),
    ("tasks[0].operation", "", "must not be empty"),
    ("tasks[0].modes", {}, "must be a list"),
    ("tasks[0].modes[0].minutes", -5, "at least 1"),
    ("tasks[0].modes[0].minutes", 0, "at least 1"),
    ("tasks[0].modes[0].minutes", "315", "whole number"),
    ("tasks[0].modes[0].minutes", False, "whole number"),
    ("tasks[0].modes[0].cents", HUGE, "at most"),
    ("tasks[0].modes[0].cents", -1, "at least 0"),
    ("tasks[0].modes[0].resources[1]", "disk-9", "does not exist"),
    ("tasks[0].modes[0].resources[1]", "tractor-1", "is already"),
    ("tasks[0].open", None, "must be a list"),
    ("tasks[0].open[0].chance", 1.1, "between 0 and 1"),
    ("tasks[0].open[0].chance", -0.1, "between 0 and 1"),
    ("tasks[0].open[0].chance", 0.33333, "at most 4 decimals"),
    ("start", "9999-12-31T00:00:00+00:00", "years 1970 to 2999"),
    ("tasks[0].open[0].chance", Decimal("1e-2000000"), "at most 4 decimals"),
    ("tasks[0].open[0].chance", "0.9", "must be a number"),
    ("tasks[0].open[0].chance", True, "must be a number"),
    ("tasks[0].late_cents_per_hour", -1, "at least 0"),
    ("tasks[0].leave_cents", -1, "at least 0"),
    ("tasks[0].hold_limit", -1, "at least 0"),
    ("tasks[0].was.change_cents", -1, "at least 0"),
    ("tasks[0].was.from", "early", "whole number"),
    ("tasks[0].was.mode", None, "must be text"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "says"), WRONG, ids=[f"{p}={str(v)[:20]!r}" for p, v, _ in WRONG])
def test_a_wrong_value_is_refused_by_its_path(path: str, value: Any, says: str) -> None:
    problem = example.problem()
    holder, key = _at(problem, path)
    holder[key] = value
    with pytest.raises(ProblemError) as refused:
        parse_problem(problem)
    found = refused.value
    assert found.path.startswith(path) or found.path == "resources[2].calendar[0].to"
    assert says in str(found)
    assert str(found).startswith(found.path + " ")
    assert str(found).endswith(".")
    assert "\n" not in str(found)
    assert len(str(found)) < 250


ADDED: list[tuple[str, str, Any, str]] = [
    ("tasks[0].modes[0]", "minuts", 5, "tasks[0].modes[0].minuts is not a key"),
    ("tasks[0].open[0]", "extra_cents_per_hour", 5, "tasks[0].open[0].extra_cents_per_hour is not a key"),
    ("resources[1].road_calendar[0]", "chance", 1, "resources[1].road_calendar[0].chance is not a key"),
    ("resources[0]", "a\nb", 1, 'resources[0]."a\\nb" is not a key'),
    ("tasks[0]", "earliest", -1, "tasks[0].earliest must be at least 0"),
    ("tasks[0]", "earliest", None, "tasks[0].earliest must be a whole number, not null"),
    ("tasks[0]", "after", None, "tasks[0].after must be a list"),
    ("tasks[0]", "after", [{"task": "nobody"}], "tasks[0].after[0].task names the task"),
    ("tasks[0]", "after", [{"task": "field-01/disk"}], "tasks[0].after[0].task closes a circle"),
    ("tasks[0]", "after", [{"task": "field-01/disk", "min_gap": -1}], "tasks[0].after[0].min_gap must be"),
    ("tasks[0]", "after", [{"task": "field-01/disk", "min_gap": None}], "tasks[0].after[0].min_gap must be"),
    ("tasks[0]", "after", [{"min_gap": 1}], "tasks[0].after[0].task is missing"),
    ("tasks[0]", "fixed", {"mode": "x"}, "tasks[0].fixed.from is missing"),
    ("tasks[0]", "fixed", [], "tasks[0].fixed must be an object"),
    ("tasks[0]", "under_way", {"mode": "gone", "minutes_left": 1, "cents_left": 0, "held_for": 0}, "under_way.mode names"),
    ("tasks[0]", "under_way", {"mode": "x"}, "tasks[0].under_way.minutes_left is missing"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("path", "key", "value", "says"), ADDED, ids=[f"{p}.{k!r}-{i}" for i, (p, k, *_) in enumerate(ADDED)]
)
def test_a_key_that_does_not_belong_or_does_not_fit_is_refused(
    path: str, key: str, value: Any, says: str
) -> None:
    problem = example.problem()
    holder, last = _at(problem, path)
    holder[last][key] = value
    with pytest.raises(ProblemError) as refused:
        parse_problem(problem)
    assert says in str(refused.value)


REQUIRED = [
    "format", "start", "zone", "horizon", "step", "resources", "places", "road_minutes", "tasks",
    "resources[0].id", "resources[0].kind", "resources[0].calendar", "resources[0].home",
    "resources[0].changeover.cents", "resources[2].calendar[0].from", "resources[2].calendar[0].to",
    "tasks[0].id", "tasks[0].place", "tasks[0].operation", "tasks[0].modes", "tasks[0].open",
    "tasks[0].modes[0].id", "tasks[0].modes[0].resources", "tasks[0].modes[0].minutes", "tasks[0].modes[0].cents",
    "tasks[0].was.change_cents",
]  # fmt: skip


@pytest.mark.parametrize("path", REQUIRED)
def test_a_missing_key_is_named(path: str) -> None:
    problem = example.problem()
    holder, key = _at(problem, path)
    del holder[key]
    with pytest.raises(ProblemError, match="is missing") as refused:
        parse_problem(problem)
    assert refused.value.path == path


def test_a_longer_circle_is_told_in_full() -> None:
    problem = example.problem()
    first = problem["tasks"][0]
    problem["tasks"] = [
        {**first, "id": name, "after": [{"task": ahead}]}
        for name, ahead in (("a", "c"), ("b", "a"), ("c", "b"))
    ]
    with pytest.raises(ProblemError, match=r'"a" after "c" after "b" after "a"') as refused:
        parse_problem(problem)
    assert refused.value.path == "tasks[1].after[0].task"


def test_a_very_long_chain_is_no_circle() -> None:
    problem = example.problem()
    first = problem["tasks"][0]
    problem["tasks"] = [
        {**first, "id": f"t{n}", "after": [{"task": f"t{n - 1}"}] if n else []} for n in reversed(range(3000))
    ]
    assert len(parse_problem(problem).tasks) == 3000


def test_null_stands_where_the_format_lets_it() -> None:
    problem = example.problem()
    problem["resources"][0]["setup_now"] = None
    task = problem["tasks"][0]
    task.update(
        latest=None, due=None, leave_cents=None, hold_limit=None, fixed=None, under_way=None, was=None
    )
    task["modes"][0]["setup"] = None
    task["after"] = []
    parsed = parse_problem(problem).tasks[0]
    assert (parsed.latest, parsed.due, parsed.leave_cents, parsed.hold_limit) == (None, None, None, None)


def test_a_mode_of_the_past_may_be_gone() -> None:
    problem = example.problem()
    problem["tasks"][0]["was"]["mode"] = "sold"
    problem["tasks"][0]["fixed"] = {"mode": "sold", "from": -30}
    assert parse_problem(problem).tasks[0].fixed is not None


def test_numbers_of_a_file_are_read_exactly(tmp_path: Path) -> None:
    text = json.dumps(example.PROBLEM).replace('"chance": 0.9', '"chance": 0.5800')
    path = tmp_path / "problem.json"
    path.write_text(text.replace('"road_factor": 2.0', '"road_factor": 1.1'), encoding="utf-8")
    problem = read_problem(path)
    assert problem.tasks[0].open[0].chance_e4 == 5800
    # 11 tenths exactly: 20 x 1.1 is 22 minutes, where binary floats would round it up to 23.
    assert problem.resources[1].road_factor * 20 == 22


FILES: list[tuple[str, bytes, str]] = [
    ("nothing", b"", "is empty"),
    ("nothing but a byte order mark", b"\xef\xbb\xbf", "is empty"),
    ("ten megabytes of spaces", b" \n" * 5_000_000, "is empty"),
    ("a cut file", b'{"format": "planning-problem/1", "start":', "line 1 column"),
    ("another encoding", '{"format": "Bögen"}'.encode("latin-1"), "is not UTF-8"),
    ("garbage", b"\x00\xff" * 5_000_000, "is not UTF-8"),
    ("ten megabytes of brackets", b"[" * 10_000_000, "nested too deeply"),
    ("ten megabytes of digits", b"9" * 10_000_000, "must be an object"),
    ("a number past all bounds", b'{"horizon": 1e99999999999999999999}', "format is missing"),
    ("a list", b"[]", "must be an object"),
    ("a key twice", b'{"format": 1, "format": 2}', "format stands twice"),
]


@pytest.mark.parametrize(("what", "raw", "says"), FILES, ids=[what for what, _, _ in FILES])
def test_a_file_that_is_no_problem_is_refused_in_one_sentence(
    tmp_path: Path, what: str, raw: bytes, says: str
) -> None:
    path = tmp_path / "problem.json"
    path.write_bytes(raw)
    with pytest.raises(ProblemError) as refused:
        read_problem(path)
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 300


@pytest.mark.parametrize(
    "text",
    [
        "NaN",
        "Infinity",
        "-Infinity",
        "9" * 5000,
        "1e999999999",
        "1e99999999999999999999",
        "-0.5",
        "0." + "3" * 5_000_000,
        "1" + "0" * 2_000_000 + "e-2000000",
        "9" * 5_000_000,
    ],
    ids=lambda text: f"{text[:22]} of {len(text)}",
)
def test_no_number_is_taken_for_a_number(tmp_path: Path, text: str) -> None:
    path = tmp_path / "problem.json"
    for key in ('"chance": 0.9', '"minutes": 315', '"road_factor": 2.0'):
        name = key.split(":", maxsplit=1)[0]
        path.write_text(json.dumps(example.PROBLEM).replace(key, f"{name}: {text}"), encoding="utf-8")
        with pytest.raises(ProblemError) as refused:
            read_problem(path)
        assert refused.value.path.endswith(name.strip('"'))


PLANS: list[tuple[str, Any, str]] = [
    ("format", "week-plan/2", "format must be"),
    ("status", "fine", "status must be"),
    ("seconds", "1", "seconds must be"),
    ("cost", 1.5, "cost must be a whole number"),
    ("tasks", [{"id": "a", "mode": "b", "from": 1}], "tasks[0].to is missing"),
    ("left", [{"id": "a"}], "left[0].why is missing"),
    ("cost_parts", {"direct": 1}, "cost_parts.late is missing"),
    ("extra", 1, "extra is not a key"),
]


@pytest.mark.parametrize(("key", "value", "says"), PLANS, ids=[key for key, _, _ in PLANS])
def test_a_plan_file_is_judged_alike(key: str, value: Any, says: str) -> None:
    with pytest.raises(ProblemError) as refused:
        from_json({**example.plan(), key: value})
    assert says in str(refused.value)


def test_a_plan_comes_back_from_its_file(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(example.PLAN), encoding="utf-8")
    assert read_plan(path) == from_json(example.plan())


def test_a_road_factor_is_taken_as_a_program_writes_a_fraction() -> None:
    value = example.problem()
    value["resources"][1]["road_factor"] = 4 / 3
    assert parse_problem(value).resources[1].road_factor == Fraction("1.3333333333333333")
