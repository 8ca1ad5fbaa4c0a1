"""`manage.py solve`: where the plan is written, what is never written over, and what ends a run in its midst."""

import fcntl
import json
import os
import signal
import stat
import subprocess
import sys
import termios
from array import array
from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from pathlib import Path
from time import sleep
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from scheduling.management import telling
from scheduling.management.commands import solve as command
from scheduling.solver import SolverFault, check, parse_problem, read_plan
from tests.scheduling.solver import example
from tests.scheduling.solver.by_hand import small_farm

pytestmark = pytest.mark.long


@pytest.fixture
def problem(tmp_path: Path) -> Path:
    path = tmp_path / "problem.json"
    path.write_text(json.dumps(example.PROBLEM), encoding="utf-8")
    return path


def run(problem: Path, out: Path, **options: Any) -> str:
    told = StringIO()
    call_command("solve", str(problem), seconds="5", out=str(out), stdout=told, **options)
    return told.getvalue()


def refusal(problem: Path, out: Path, **options: Any) -> CommandError:
    with pytest.raises(CommandError) as refused:
        run(problem, out, **options)
    assert "\n" not in str(refused.value)
    return refused.value


@pytest.fixture
def no_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is refused is refused before the search, not after it."""

    def search(*args: Any, **options: Any) -> None:
        raise AssertionError("searched")

    monkeypatch.setattr(command, "solve", search)


@pytest.mark.usefixtures("no_search")
def test_the_plan_is_never_written_over_what_is_read(problem: Path) -> None:
    before = problem.read_bytes()
    link = problem.with_name("link.json")
    link.symlink_to(problem.name)
    old = problem.with_name("old.json")
    old.write_text(json.dumps(example.PLAN), encoding="utf-8")
    for out in (problem, link, problem.parent / "." / "problem.json"):
        error = refusal(problem, out)
        assert (error.returncode, str(error)) == (2, f"{out} is read here; --out must name another file.")
    was = [str(problem), str(old)]
    assert str(refusal(problem, old, was=was)) == f"{old} is read here; --out must name another file."
    says = f"{old} is read here; --explain must name another file."
    assert str(refusal(problem, problem.with_name("new.json"), was=was, explain=str(old))) == says
    assert problem.read_bytes() == before
    assert json.loads(old.read_text(encoding="utf-8")) == example.PLAN


@pytest.mark.usefixtures("no_search")
def test_a_place_that_cannot_be_written_is_told_before_the_search(
    problem: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    long = problem.with_name("a" * 300)
    error = refusal(problem, long)
    assert (error.returncode, str(error)) == (2, f"{long} cannot be written: File name too long.")
    (problem.parent / "astray").symlink_to("nowhere/plan.json")
    assert "there is no such folder" in str(refusal(problem, problem.parent / "astray"))

    def shut(**options: Any) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(telling, "TemporaryFile", shut)
    error = refusal(problem, problem.with_name("plan.json"))
    assert (error.returncode, str(error)[-37:]) == (2, "cannot be written: Permission denied.")


def test_a_long_name_is_written_like_any_other(problem: Path) -> None:
    out = problem.with_name("a" * 250)
    run(problem, out)
    assert read_plan(out).status == "best"
    assert sorted(path.name for path in problem.parent.iterdir()) == ["a" * 250, "problem.json"]


def test_a_link_is_followed_and_a_file_keeps_its_rights(problem: Path) -> None:
    kept = problem.with_name("kept.json")
    kept.write_text("old", encoding="utf-8")
    kept.chmod(0o600)
    link = problem.with_name("link.json")
    link.symlink_to("kept.json")
    run(problem, link)
    assert link.is_symlink()
    assert read_plan(kept).status == "best"
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def test_a_pipe_is_written_into_and_stays_a_pipe(problem: Path) -> None:
    pipe = problem.with_name("pipe")
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    run(problem, pipe)
    written = json.loads(os.read(reader, 60_000))
    os.close(reader)
    assert written["status"] == "best"
    assert pipe.is_fifo()


def test_a_fault_of_the_solver_is_exit_code_3_and_no_plan_is_written(
    problem: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(*args: Any, **options: Any) -> None:
        raise SolverFault("road: r\x1b[2J needs 20 minutes.")

    monkeypatch.setattr(command, "solve", faulty)
    error = refusal(problem, problem.with_name("plan.json"))
    assert error.returncode == 3
    assert str(error) == "A fault of this program, no plan is written: road: r\\x1b[2J needs 20 minutes."
    assert [path.name for path in problem.parent.iterdir()] == ["problem.json"]


def test_ids_of_a_file_send_the_terminal_nothing_but_letters(problem: Path) -> None:
    farm = small_farm()
    farm["tasks"][0].update(id="north\n\x1b[31mdisk", open=[])
    farm["tasks"][1]["after"] = []
    problem.write_text(json.dumps(farm), encoding="utf-8")
    with pytest.raises(CommandError) as refused:
        run(problem, problem.with_name("plan.json"))
    lines = str(refused.value).splitlines()
    assert len(lines) == 3
    assert all(line.isprintable() for line in lines)
    assert "north\\n\\x1b[31mdisk" in lines[1]


@contextmanager
def begun(folder: Path, seconds: str) -> Iterator[subprocess.Popen[str]]:
    """Give a run of the command in the midst of its work: it reads through a pipe, so that it is known to have begun."""
    pipe = folder / "pipe"
    os.mkfifo(pipe)
    # Opened for both, so that nobody waits for a reader that never comes.
    held = os.open(pipe, os.O_RDWR | os.O_NONBLOCK)
    words = ["solve", str(pipe), "--seconds", seconds, "--out", str(folder / "plan.json")]
    line = [sys.executable, str(Path(settings.BASE_DIR) / "manage.py"), *words]
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "farmops.settings.testing"}
    running = subprocess.Popen(
        line, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        os.write(held, json.dumps(many(12)).encode("utf-8"))
        _wait_until_read(held, running)
        os.close(held)
        sleep(1.5)
        assert running.poll() is None
        yield running
    finally:
        running.kill()
        running.communicate(timeout=30)


def _wait_until_read(pipe: int, running: subprocess.Popen[str]) -> None:
    for _ in range(600):
        waiting = array("i", [0])
        fcntl.ioctl(pipe, termios.FIONREAD, waiting)
        if not waiting[0]:
            return
        assert running.poll() is None, running.communicate()
        sleep(0.1)
    raise AssertionError("never read")


def test_a_run_that_is_ended_in_its_midst_leaves_nothing_behind(problem: Path) -> None:
    with begun(problem.parent, "50") as running:
        running.terminate()
        assert running.wait(timeout=30) == -signal.SIGTERM
    assert sorted(path.name for path in problem.parent.iterdir()) == ["pipe", "problem.json"]


def test_a_run_that_is_interrupted_writes_the_best_plan_so_far(problem: Path) -> None:
    with begun(problem.parent, "500") as running:
        running.send_signal(signal.SIGINT)
        _, told = running.communicate(timeout=60)
        assert (running.returncode, "Traceback" in told) == (0, False), told
    plan = read_plan(problem.with_name("plan.json"))
    assert plan.tasks
    assert check(parse_problem(many(12)), plan).violations == ()
    assert sorted(path.name for path in problem.parent.iterdir()) == ["pipe", "plan.json", "problem.json"]


def many(count: int) -> dict[str, Any]:
    """Return the small farm's two fields over and over: more than can be planned in half a second."""
    farm = small_farm()
    farm["tasks"] = [
        {**task, "id": f"{number}/{task['id']}", "leave_cents": 100_000 + number, "after": []}
        for number in range(count)
        for task in farm["tasks"][:2]
    ]
    return farm
