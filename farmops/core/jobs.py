"""Periodic work, listed once in settings.JOBS: beat wakes it in service mode, `run_due` in embedded mode."""

import datetime as dt
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


def run_due(*, now: dt.datetime) -> list[tuple[str, str]]:
    """Run each job whose slot has not been run yet, in this process; return (name, outcome) of those that ran."""
    done = []
    for job in listed():
        slot = int(now.timestamp()) // job.every_s
        try:
            with transaction.atomic():
                run = JobRun.objects.create(job=job.name, slot=slot, started_at=now)
        except IntegrityError:
            continue
        outcome = import_string(job.task).run()
        run.outcome = str(outcome)[:200]
        run.finished_at = clock.now()
        run.save(update_fields=["outcome", "finished_at"])
        done.append((job.name, run.outcome))
    return done


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
