"""Say whether the clockwork of the mail runs; for health checks and for people."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from farmops.core import clock
from farmops.digests.selectors.outbox import health
from farmops.digests.services.heartbeat import SHEETS, WORTH_A_WORD_S


class Command(BaseCommand):
    requires_system_checks: list[
        str
    ] = []  # runs often, and needs none of the pages that the checks would load
    help = "Show when the sheets were last looked at and what waits; exit 1 when the clockwork is silent."

    def handle(self, *args: Any, **options: Any) -> None:
        found = health(job=SHEETS, now=clock.now())
        last = "never" if found.since_last_run_s is None else f"{found.since_last_run_s} s ago"
        self.stdout.write(
            f"last run {last}, oldest due {found.oldest_due_s} s, unknown {found.unknown}, dead {found.dead}, "
            f"made {found.made} of {found.expected} owed today"
        )
        if found.clock_apart_s is not None and abs(found.clock_apart_s) > WORTH_A_WORD_S:
            self.stdout.write(f"the clock is {found.clock_apart_s:+.0f} s from that of the database")
        if not found.is_ready:
            raise CommandError(" ".join(found.why_not()))
