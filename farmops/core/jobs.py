"""Periodic work, listed once in settings.JOBS: beat wakes it in service mode, `run_due` in embedded mode."""

import datetime as dt
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils.module_loading import import_string

from farmops.core import clock
from farmops.core.models import JobRun


@dataclass(frozen=True)
class Job:
    """A name, a period and the dotted name of a Celery task that is safe to run twice."""

    name: str
    every_s: int
    task: str


def listed() -> list[Job]:
    """Return the jobs in the order of settings."""
    return [Job(**job) for job in settings.JOBS]


def run_due(*, now: dt.datetime, tell: Callable[[str, str], None] | None = None) -> list[tuple[str, str]]:
    """Run each job whose slot has not been run yet, in this process; return (name, outcome) of those that ran.

    `tell` hears of each as it ends. One that fails keeps none of the others from running: its error goes on when all
    have had their turn.
    """
    done: list[tuple[str, str]] = []

    def turn(job: Job) -> None:
        outcome = run_job(job=job, now=now)
        if outcome is not None:
            done.append((job.name, outcome))
            if tell is not None:
                tell(job.name, outcome)

    with ExitStack() as stack:  # it takes every turn, and tells of errors only then
        for job in reversed(listed()):
            stack.callback(turn, job)
    return done


def run_job(*, job: Job, now: dt.datetime) -> str | None:
    """Run a job unless its slot has been run; return its outcome, or None. One that fails is tried in its next slot."""
    try:
        with transaction.atomic():
            run = JobRun.objects.create(
                job=job.name, slot=int(now.timestamp()) // job.every_s, started_at=now
            )
    except IntegrityError:
        return None
    outcome = "failed"
    try:
        outcome = str(import_string(job.task).run())[:200]
    finally:
        run.outcome, run.finished_at = outcome, clock.now()
        run.save(update_fields=["outcome", "finished_at"])
    return outcome


def claim(*, job: str, slot: int, now: dt.datetime, stale_after: dt.timedelta) -> bool:
    """Take a piece of work that must not run twice at once; return False where somebody is at it.

    Whoever has it calls `give_back` in the end; a claim that was left lying is taken over after `stale_after`.
    """
    try:
        with transaction.atomic():
            JobRun.objects.create(job=job, slot=slot, started_at=now)
    except IntegrityError:
        stale = JobRun.objects.filter(job=job, slot=slot, finished_at=None, started_at__lte=now - stale_after)
        return bool(stale.update(started_at=now))
    return True


def give_back(*, job: str, slot: int) -> None:
    """Let go of a claimed piece of work."""
    JobRun.objects.filter(job=job, slot=slot, finished_at=None).delete()
