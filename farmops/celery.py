"""The Celery application: it only wakes work up, the database decides what is due."""

import os

from celery import Celery
from celery.signals import worker_ready

from farmops.core.beside import run_beside

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farmops.settings.service")

app = Celery("farmops")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(related_name="background")


@app.on_after_finalize.connect
def schedule_jobs(sender: Celery, **kwargs: object) -> None:
    """Build beat's schedule from settings.JOBS; a tick that finds no worker evaporates before the next."""
    from django.conf import settings  # noqa: PLC0415  (settings are not ready when this module is first imported)

    sender.conf.beat_schedule = {
        job["name"]: {
            "task": job["task"],
            "schedule": job["every_s"],
            "options": {"expires": job["every_s"] * 0.9},
        }
        for job in settings.JOBS
    }


@worker_ready.connect
def compile_planner(**kwargs: object) -> None:
    """Have the planner's kernel compiled while nobody waits for a plan yet."""
    run_beside("scheduling.solver.warm")
