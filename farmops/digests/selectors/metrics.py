"""The state of the mail as numbers for a monitor, read from the database when somebody asks: no process counts anything.

Text as in the exposition format of Prometheus, with the unit at the end of each name.
"""

import datetime as dt
from collections.abc import Iterable

from django.db.models import Count
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.metrics_core import Metric
from prometheus_client.registry import Collector

from farmops.digests.models import MailTrouble
from farmops.digests.selectors.outbox import health, rows_by_state


class MailNumbers(Collector):
    """Reads the numbers at one instant."""

    def __init__(self, *, job: str, now: dt.datetime) -> None:
        self.job, self.now = job, now

    def collect(self) -> Iterable[Metric]:
        found = health(job=self.job, now=self.now)
        yield _one(
            "ready", "1 while the clockwork of the mail runs and nothing stands in its way", found.is_ready
        )
        if found.since_last_run_s is not None:
            says = "time since the clocks of the farms were last looked at"
            yield _one("since_tick_seconds", says, found.since_last_run_s)
        yield _one("oldest_due_seconds", "how long the oldest mail has been ready", found.oldest_due_s)
        yield _one("owed_people", "people whose hour of today has come", found.expected)
        yield _one("made_people", "those of them for whom a mail was made", found.made)
        yield _one("halted", "1 while the mail server refuses this service", bool(found.halted))
        yield _one("clock_distrusted", "1 while no mail is made because of a clock", bool(found.distrusted))
        if found.clock_apart_s is not None:
            says = "this machine's clock less that of the database, at the last look"
            yield _one("clock_apart_seconds", says, found.clock_apart_s)
        rows = GaugeMetricFamily("farmops_mail_rows", "mails by kind and state", labels=["kind", "state"])
        for (kind, state), count in sorted(rows_by_state().items()):
            rows.add_metric([kind, state], count)
        yield rows
        troubles = GaugeMetricFamily(
            "farmops_mail_troubles", "troubles that nobody has ended", labels=["kind"]
        )
        standing = MailTrouble.objects.filter(ended_at=None).order_by()
        for kind, count in sorted(standing.values_list("kind").annotate(n=Count("id"))):
            troubles.add_metric([kind], count)
        yield troubles


def exposition(*, job: str, now: dt.datetime) -> bytes:
    """Return the numbers as a monitor reads them."""
    registry = CollectorRegistry(auto_describe=False)
    registry.register(MailNumbers(job=job, now=now))
    return generate_latest(registry)


def _one(name: str, says: str, value: float) -> Metric:
    return GaugeMetricFamily(f"farmops_mail_{name}", says, value=value)
