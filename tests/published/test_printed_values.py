"""Every printed value, and the rule that each public function has one or a reason for having none."""

import ast
import json
import re
from pathlib import Path

import numpy as np
import pytest

import farmops.science
from farmops.science.bibliography import SOURCES
from tests.published.cases import MARKS, Case, read_cases
from tests.published.reasons import CHECKED_OTHERWISE

CASES = read_cases()
PACKAGE = Path(farmops.science.__file__).parent


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_printed_value_is_reproduced(case: Case) -> None:
    result = case.resolve()(**case.inputs)
    if case.is_wording:
        assert result == case.expected
        return
    expected = np.asarray(json.loads(case.expected), dtype=np.float64)
    got = np.asarray(result, dtype=np.float64)
    assert got.shape == expected.shape
    slack = 1e-9 * np.maximum(np.abs(expected), 1.0)
    assert np.all(np.abs(got - expected) <= case.allowed + slack), (
        f"got {got}, printed {expected}, allowed ±{case.allowed}"
    )


def test_rows_name_their_mark_and_say_why_they_need_another_tolerance() -> None:
    unmarked = [case.name for case in CASES if case.mark not in MARKS]
    unexplained = [case.name for case in CASES if bool(case.tolerance) != bool(case.why)]
    assert (unmarked, unexplained) == ([], [])


def test_sources_of_science_are_in_the_bibliography() -> None:
    science = [case for case in CASES if case.function.startswith("farmops.science.")]
    assert len(science) > 150
    assert [case.name for case in science if case.source not in SOURCES] == []


def test_no_row_stands_twice() -> None:
    seen = [(case.function, case.place, repr(case.inputs)) for case in CASES]
    assert len(seen) == len(set(seen))


def public_functions() -> set[str]:
    """Return the dotted names of the functions that modules of science define for others."""
    return {
        f"farmops.science.{path.stem}.{node.name}"
        for path in PACKAGE.glob("*.py")
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and path.stem != "ranges"
    }


def test_each_public_function_has_a_printed_value_or_a_reason() -> None:
    functions = public_functions()
    assert len(functions) > 60
    printed = {case.function for case in CASES}
    assert sorted(functions - printed - CHECKED_OTHERWISE.keys()) == []


def test_reasons_are_for_functions_that_exist_and_name_a_test_that_exists() -> None:
    assert sorted(CHECKED_OTHERWISE.keys() - public_functions()) == []
    root = PACKAGE.parents[1]
    missing = [test for test, _ in CHECKED_OTHERWISE.values() if not (root / "tests" / test).is_file()]
    assert missing == []


def test_keys_that_docstrings_name_are_in_the_bibliography_and_each_is_used() -> None:
    text = " ".join(
        path.read_text(encoding="utf-8") for path in PACKAGE.glob("*.py") if path.stem != "bibliography"
    )
    looks_like_a_key = set(re.findall(r"\b[a-z]{2,}_?[a-z]?[0-9]{2,}\b", text)) - {
        "float64",
        "float32",
        "int64",
        "dd60",
    }
    assert sorted(looks_like_a_key - SOURCES.keys()) == []
    used = {key for key in SOURCES if re.search(rf"\b{key}\b", text)} | {case.source for case in CASES}
    assert sorted(SOURCES.keys() - used) == []
