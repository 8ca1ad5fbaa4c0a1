"""Periodic jobs in one process: each once a slot, and none kept from running by another."""

import datetime as dt
import logging
import threading
from collections.abc import Iterator
from types import SimpleNamespace

import pytest
from pytest_django.fixtures import Settings

from farmops.core import jobs
from farmops.core.models import JobRun
from farmops.tryout import serving

NOON = dt.datetime(2026, 4, 20, 12, tzinfo=dt.UTC)
ran: list[str] = []


def _breaks() -> str:
    raise KeyError("an error of the program")


broken = SimpleNamespace(run=_breaks)
whole = SimpleNamespace(run=lambda: ran.append("whole") or "done")
_may_go_on = threading.Event()
slow = SimpleNamespace(run=lambda: _may_go_on.wait(20))


@pytest.fixture(autouse=True)
def _listed(settings: Settings) -> Iterator[None]:
    ran.clear()
    _may_go_on.clear()
    here = "tests.farmops.core.test_jobs"
    settings.JOBS = [
        {"name": "broken", "every_s": 60, "task": f"{here}.broken"},
        {"name": "whole", "every_s": 60, "task": f"{here}.whole"},
    ]
    yield
    _may_go_on.set()


@pytest.mark.django_db
def test_a_job_that_fails_keeps_no_other_from_running_and_its_error_is_told() -> None:
    said: list[tuple[str, str]] = []
    with pytest.raises(KeyError, match="an error of the program"):
        jobs.run_due(now=NOON, tell=lambda name, outcome: said.append((name, outcome)))
    assert (ran, said) == (["whole"], [("whole", "done")])
    assert dict(JobRun.objects.values_list("job", "outcome")) == {"broken": "failed", "whole": "done"}
    assert not JobRun.objects.filter(finished_at=None).exists()


@pytest.mark.django_db
def test_a_job_that_failed_is_tried_in_its_next_slot_and_not_in_this() -> None:
    job = jobs.listed()[0]
    with pytest.raises(KeyError):
        jobs.run_job(job=job, now=NOON)
    assert jobs.run_job(job=job, now=NOON + dt.timedelta(seconds=59)) is None
    with pytest.raises(KeyError):
        jobs.run_job(job=job, now=NOON + dt.timedelta(seconds=60))


def test_the_clockwork_survives_any_error_and_waits_for_no_slow_job(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    here = "tests.farmops.core.test_jobs"
    settings.JOBS = [*settings.JOBS, {"name": "slow", "every_s": 60, "task": f"{here}.slow"}]
    began: list[str] = []
    ended = threading.Semaphore(0)

    def run_job(*, job: jobs.Job, now: dt.datetime) -> None:
        began.append(job.name)
        try:
            {"broken": broken, "whole": whole, "slow": slow}[job.name].run()
        finally:
            ended.release()

    monkeypatch.setattr(jobs, "run_job", run_job)
    monkeypatch.setattr(threading, "excepthook", serving._log_what_ended)
    clockwork = serving.Clockwork(every_s=0.02)
    with caplog.at_level(logging.ERROR, logger=serving.__name__):
        clockwork.start()
        for _end in range(8):
            assert ended.acquire(timeout=20)
        clockwork.stop()
        begun_while_slow = began.count("slow")  # once it may end, a look that is under way may begin it again
        _may_go_on.set()
        clockwork.wait(most_s=20)
    assert not [one for one in threading.enumerate() if one.name.startswith(("clockwork", "job "))]
    assert begun_while_slow == 1
    assert min(began.count("broken"), began.count("whole")) >= 2
    assert "The job broken ended by an error of the program." in caplog.text
