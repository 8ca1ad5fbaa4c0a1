"""The bench of the pages: a farm of five seasons on PostgreSQL, the server of the service, and eight users at once.

The users ask without a pause, all for the same page, and for one page after another. Server, database and users share
two cores. Beside them a bare view of the same server in the same run.
"""

import os
import platform
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from farmops.bench import postgres_server, redis_server
from farmops.bench.children import ONE_THREAD, ROOT, MeasurementFailed, measured
from farmops.bench.rows import BenchReport, BenchRow, Choices
from farmops.bench.service_database import service_database

WHOLE_MINUTES = 12
"""About what all of it takes."""
CORES = 2
USERS = 8
MOST_P95_MS = 300
MOST_KB = 150
PATIENCE_S = 60.0
PEAK = "peak_mb"
BARE = "live"
"""The bare view of the run: it asks nothing and says a word."""
SERVER = ("--threads=8", "farmops.wsgi:application")
"""What the service's web server is started with."""


@dataclass(frozen=True)
class Sizes:
    """How large the farm is, and how often each user asks for each page."""

    fields: int
    hands: int
    outfits: int
    times: int


FULL = Sizes(fields=1_000, hands=100, outfits=40, times=12)
SMALL = Sizes(fields=12, hands=12, outfits=9, times=1)


def run(choices: Choices) -> BenchReport:
    """Measure all of it; small sizes show the table only."""
    sizes = SMALL if choices.is_small else FULL
    try:
        with (
            service_database(address="http://localhost", FARMOPS_HTTPS="no") as environ,
            redis_server.running() as cache,
        ):
            environ = {**environ, "FARMOPS_CACHE_URL": cache, "FARMOPS_BROKER_URL": cache}
            rows = _Pages(environ, sizes, choices).rows()
    except (postgres_server.NoServer, redis_server.NoRedis) as error:
        raise MeasurementFailed(
            f"the pages are measured on PostgreSQL and Redis, and there is {error}"
        ) from error
    return BenchReport(
        name="pages",
        conditions=(
            f"Python {platform.python_version()}, {platform.machine()}, {CORES} cores for server, database and users "
            f"together; waitress-serve {' '.join(SERVER)}.",
            f"{sizes.fields:,} fields, {sizes.hands} hands, {sizes.outfits} outfits, 5 seasons; {USERS} users ask at "
            f"once without a pause, each {sizes.times} times a page.",
            "Seconds are those within which 95 of 100 answers came; weight is the page with style sheets and scripts, "
            "by gzip.",
            *(("Small sizes: no limit is judged.",) if choices.is_small else ()),
        ),
        rows=tuple(rows),
    )


@contextmanager
def _server(environ: Mapping[str, str]) -> Iterator[int]:
    """Give the port of the service's web server for as long as the block lasts."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    command = [sys.executable, "-m", "waitress", "--host=127.0.0.1", f"--port={port}", *SERVER]
    server = subprocess.Popen(
        command,
        cwd=ROOT,
        env={**os.environ, **ONE_THREAD, **environ},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(server.pid, set(sorted(os.sched_getaffinity(0))[:CORES]))
    try:
        _wait_for(port, server)
        yield port
    finally:
        server.terminate()
        server.wait()


def _wait_for(port: int, server: subprocess.Popen[bytes]) -> None:
    ends = time.monotonic() + PATIENCE_S
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError as error:
            if time.monotonic() > ends or server.poll() is not None:
                raise MeasurementFailed(f"the web server does not answer: {error}") from error
            time.sleep(0.1)
        else:
            return


class _Pages:
    """The measurements: the farm laid out, then each page looked at."""

    def __init__(self, environ: Mapping[str, str], sizes: Sizes, choices: Choices) -> None:
        self.environ, self.sizes, self.choices = environ, sizes, choices

    def rows(self) -> list[BenchRow]:
        sizes = self.sizes
        self._got("tables", "ledger_child.tables_made")
        self._got("style sheets", "pages_measures.static_ready")
        self._got(
            "the farm", "pages_place.lay_pages", fields=sizes.fields, hands=sizes.hands, outfits=sizes.outfits
        )
        asked = self._got("addresses", "pages_measures.asked")
        with _server(self.environ) as port:
            got = self._got(
                "every page",
                "pages_measures.looked",
                cores=CORES,
                port=port,
                cookie=asked["cookie"],
                pages=asked["pages"],
                users=USERS,
                times=sizes.times,
            )
        broken = [name for name, one in got.items() if name != PEAK and one["status"] >= 500]
        if broken:
            raise MeasurementFailed(f"pages that broke: {', '.join(broken)}")
        return [self._row(name, one) for name, one in got.items() if name != PEAK and one["status"] == 200]

    def _row(self, name: str, one: Mapping[str, Any]) -> BenchRow:
        is_met = one["p95_ms"] <= MOST_P95_MS and one["kb"] <= MOST_KB
        return BenchRow(
            what=("a bare view" if name == BARE else name)
            + f": median {one['median_ms']:.0f}, first {1000 * one['first_s']:.0f} ms, {one['kb']:.0f} kB",
            size=f"{one['count']} answers",
            seconds=one["p95_ms"] / 1000,
            ratio=one["p95_ms"] / MOST_P95_MS,
            limit="" if name == BARE else f"within {MOST_P95_MS} ms, {MOST_KB} kB",
            is_met=None if self.choices.is_small or name == BARE else is_met,
        )

    def _got(self, says: str, function: str, *, cores: int = 1, **arguments: Any) -> dict[str, Any]:
        self.choices.told(says)
        return measured(
            "farmops.bench.ledger_child.run",
            cores=cores,
            environ=self.environ,
            function=function,
            **arguments,
        )
