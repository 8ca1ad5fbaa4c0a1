"""`manage.py solve`: exit codes, one sentence for each trouble, nothing half written, no database."""

import json
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from scheduling.solver import check, parse_problem, plan, read_plan
from tests.scheduling.solver.by_hand import small_farm


def _write(folder: Path, problem: Any) -> Path:
    path = folder / "problem.json"
    path.write_text(json.dumps(problem), encoding="utf-8")
    return path


def test_a_plan_is_written_and_told(tmp_path: Path) -> None:
    out = tmp_path / "plan.json"
    told = StringIO()
    call_command("solve", str(_write(tmp_path, small_farm())), seconds="5", out=str(out), stdout=told)
    assert told.getvalue() == f"4 tasks planned, 1 left; cost $313.67, proved cheapest. Written to {out}.\n"
    assert check(parse_problem(small_farm()), read_plan(out)).violations == ()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plan.json", "problem.json"]


def test_rounds_give_the_same_bytes_on_each_run(tmp_path: Path) -> None:
    problem = _write(tmp_path, small_farm())
    for name in ("one", "other"):
        out = str(tmp_path / name)
        call_command("solve", str(problem), seconds="5", rounds="20", seed="3", out=out, stdout=StringIO())
    assert (tmp_path / "one").read_bytes() == (tmp_path / "other").read_bytes()


def test_no_plan_is_exit_code_1_with_the_causes_said_and_written(tmp_path: Path) -> None:
    problem = small_farm()
    problem["tasks"][0]["open"] = []
    out = tmp_path / "plan.json"
    with pytest.raises(CommandError) as refused:
        call_command("solve", str(_write(tmp_path, problem)), seconds="5", out=str(out))
    assert refused.value.returncode == 1
    must, shut = str(refused.value).splitlines()[1:]
    # Left, it costs: disking and the walk 92.50, overtime 3.15, trips (30 x 95 + 15 x 35) 33.75, changes .70, left 607.77.
    assert must.startswith("- north/disk must be done.")
    assert "$737.87" in must
    # Open, it is the plan that was worked out by hand.
    assert shut.startswith("- north/disk goes on only while it is open.")
    assert "$313.67" in shut
    written = read_plan(out)
    assert (written.status, written.cost, written.tasks) == ("none", None, ())
    assert [clash.rule for clash in written.why] == ["leave_cents", "open"]


def _refused(folder: Path, problem: Path, **changes: str) -> str:
    options = {"seconds": "1", "out": str(folder / "plan.json"), **changes}
    with pytest.raises(CommandError) as refused:
        call_command("solve", str(problem), **options)
    assert refused.value.returncode == 2
    assert not (folder / "plan.json").exists()
    assert "\n" not in str(refused.value)
    return str(refused.value)


def test_a_bad_problem_is_exit_code_2_and_nothing_is_written(tmp_path: Path) -> None:
    problem = small_farm()
    problem["tasks"][3]["modes"][0]["minutes"] = -5
    says = _refused(tmp_path, _write(tmp_path, problem))
    assert says == "tasks[3].modes[0].minutes must be at least 1, not -5."


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("seconds", "0"),
        ("seconds", "soon"),
        ("seconds", "nan"),
        ("seed", "-1"),
        ("workers", "0"),
        ("rounds", "0"),
    ],
)
def test_a_wrong_option_is_exit_code_2(tmp_path: Path, option: str, value: str) -> None:
    says = _refused(tmp_path, _write(tmp_path, small_farm()), **{option: value})
    assert says.startswith(f"--{option} must be a")


def test_a_file_that_is_not_there_or_cannot_be_written_is_exit_code_2(tmp_path: Path) -> None:
    assert "cannot be read: No such file" in _refused(tmp_path, tmp_path / "none.json")
    assert "cannot be read: Is a directory" in _refused(tmp_path, tmp_path)
    problem = _write(tmp_path, small_farm())
    assert "there is no such folder" in _refused(tmp_path, problem, out=str(tmp_path / "no" / "plan.json"))
    assert "is a folder" in _refused(tmp_path, problem, out=str(tmp_path))


def test_a_plan_that_cannot_be_finished_leaves_the_old_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "plan.json"
    out.write_text("old", encoding="utf-8")

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(plan.os, "fsync", full)
    with pytest.raises(CommandError, match="No space left on device"):
        call_command("solve", str(_write(tmp_path, small_farm())), seconds="1", out=str(out))
    assert out.read_text(encoding="utf-8") == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plan.json", "problem.json"]


def test_the_command_line_gives_the_exit_codes_and_needs_no_database(tmp_path: Path) -> None:
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "farmops.settings.testing"}
    environment["FARMOPS_DATABASE_URL"] = "postgres://nobody@127.0.0.1:1/none"

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        line = [sys.executable, str(Path(settings.BASE_DIR) / "manage.py"), "solve", *words]
        return subprocess.run(
            line, capture_output=True, text=True, env=environment, cwd=tmp_path, check=False
        )

    good = _write(tmp_path, small_farm())
    done = run(str(good), "--seconds", "2", "--out", "plan.json")
    assert (done.returncode, done.stderr) == (0, "")
    assert run(str(good), "--seconds", "2").returncode == 2
    bad = tmp_path / "bad.json"
    bad.write_text("{}", encoding="utf-8")
    done = run(str(bad), "--seconds", "2", "--out", "other.json")
    assert (done.returncode, done.stderr.strip()) == (2, "CommandError: format is missing.")
    assert not (tmp_path / "other.json").exists()
