"""`manage.py solve --explain` and `--was`: told or written whole, and refused before any planning is done."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.scheduling.solver import example


def _write(path: Path, item: Any) -> str:
    path.write_text(json.dumps(item), encoding="utf-8")
    return str(path)


def _solve(folder: Path, problem: dict[str, Any], *words: str) -> str:
    told = StringIO()
    line = [_write(folder / "problem.json", problem), "--seconds", "2", "--rounds", "5"]
    call_command("solve", *line, "--out", str(folder / "plan.json"), *words, stdout=told)
    return told.getvalue()


def test_reasons_are_told_day_by_day(tmp_path: Path) -> None:
    problem = example.problem()
    del problem["tasks"][0]["was"]
    told = _solve(tmp_path, problem, "--explain").splitlines()
    assert told[1:4] == [
        "Mon Apr 5",
        "  7:30 am to 1:15 pm: field-01/disk, tractor-1+disk-1+hand-1",
        "      Why then: hand-1 is not at work before Mon Apr 5 7:00 am, and then needs 20 minutes to get ready here. "
        "disk-1 needs 40 minutes to get ready here, and can be there Mon Apr 5 7:20 am at the soonest.",
    ]
    assert told[4].startswith("      Next best: ")


def test_left_tasks_are_told_after_the_days(tmp_path: Path) -> None:
    problem = example.problem()
    problem["tasks"][0]["leave_cents"] = 10
    told = _solve(tmp_path, problem, "--explain")
    assert "\nLeft\n  field-01/disk: Doing it costs more than leaving it. Mon Apr 5 8:00 am with" in told


def test_reasons_and_changes_are_written_into_files(tmp_path: Path) -> None:
    problem = example.problem()
    old = [_write(tmp_path / "old.json", problem), _write(tmp_path / "old-plan.json", example.plan())]
    files = [str(tmp_path / "reasons.json"), str(tmp_path / "changes.json")]
    told = _solve(tmp_path, problem, "--explain", files[0], "--was", *old, "--changes", files[1])
    assert len(told.splitlines()) == 1
    reasons, changes = (json.loads(Path(file).read_text(encoding="utf-8")) for file in files)
    assert (reasons["format"], changes["format"]) == ("plan-reasons/1", "plan-changes/1")
    assert [task["id"] for task in reasons["tasks"]] == ["field-01/disk"]
    # Back at 450 the change of $5 would be paid again; nothing else differs between the two hours.
    assert [(task["kind"], task["saves_cents"]) for task in changes["tasks"]] == [("hour", 500)]
    assert (changes["old_cost"], changes["new_cost"]) == (45088, 44588)
    assert not list(tmp_path.glob(".*"))


def test_changes_are_told_with_what_had_to_change_first(tmp_path: Path) -> None:
    old = [
        _write(tmp_path / "old.json", example.problem()),
        _write(tmp_path / "old-plan.json", example.plan()),
    ]
    problem = example.problem()
    problem["tasks"][0]["open"] = [{"from": 600, "to": 2880}]
    told = _solve(tmp_path, problem, "--was", *old).splitlines()
    assert told[1].startswith("1 task of 1 changes, and had to. The new plan costs $")
    assert told[2:] == [
        "Had to change",
        "  field-01/disk: It moves from Mon Apr 5 7:30 am to Mon Apr 5 10:00 am. "
        "It had to: it is shut Mon Apr 5 7:30 am.",
    ]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--changes", "{}/changes.json"], "--changes needs --was, which names the older plan."),
        (["--explain", "{}/plan.json"], "--out, --explain and --changes must name different files."),
        (
            ["--explain", "{}/no/reasons.json"],
            "{}/no/reasons.json cannot be written: there is no such folder to write in.",
        ),
        (["--explain", "{}"], "{} is a folder; --explain names a file."),
        (["--was", "{}/old.json", "{}/gone.json"], "{}/gone.json cannot be read: No such file or directory."),
        (["--was", "{}/old.json", "{}/bad.json"], "{}/bad.json: format is missing."),
        (
            ["--was", "{}/old.json", "{}/other.json"],
            "{}/other.json has the task far, which {}/old.json has not.",
        ),
    ],
)
def test_a_wrong_use_is_exit_code_2_and_nothing_is_written(
    tmp_path: Path, words: list[str], says: str
) -> None:
    _write(tmp_path / "old.json", example.problem())
    _write(tmp_path / "bad.json", {})
    other = example.plan()
    other["tasks"][0]["id"] = "far"
    _write(tmp_path / "other.json", other)
    with pytest.raises(CommandError) as refused:
        _solve(tmp_path, example.problem(), *(word.replace("{}", str(tmp_path)) for word in words))
    assert refused.value.returncode == 2
    assert str(refused.value) == says.replace("{}", str(tmp_path))
    assert not (tmp_path / "plan.json").exists()
