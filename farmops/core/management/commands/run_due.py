"""Run the periodic jobs that are due, in this process: the clockwork of the embedded mode."""

from typing import Any

from django.core.management.base import BaseCommand

from farmops.core import clock, jobs, stopping


class Command(BaseCommand):
    help = "Run every periodic job that is due now. Safe to run twice, and from cron."

    def handle(self, *args: Any, **options: Any) -> None:
        with stopping.ends_softly():
            jobs.run_due(now=clock.now(), tell=lambda name, outcome: self.stdout.write(f"{name}: {outcome}"))
