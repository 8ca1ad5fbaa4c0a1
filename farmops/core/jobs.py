"""Periodic work, listed once in settings.JOBS: beat wakes it in service mode, `run_due` in embedded mode."""

import datetime as dt
from dataclasses import dataclass

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils.module_loading import import_string

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
        run.finished_at = dt.datetime.now(dt.UTC)
        run.save(update_fields=["outcome", "finished_at"])
        done.append((job.name, run.outcome))
    return done
