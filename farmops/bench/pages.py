"""The bench of the pages: a farm of five seasons on PostgreSQL, the server of the service, and eight users at once.

They ask in two ways: all of them for the same page without a pause, one page after another, and each in an order of
its own with time to read between two pages. Server, database and users share two cores. Beside the pages a bare view of
the same server in the same run.
"""

import os
import platform
import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from farmops.bench import postgres_server, redis_server
from farmops.bench.children import ONE_THREAD, ROOT, MeasurementFailed, measured
from farmops.bench.rows import BenchReport, BenchRow, Choices
from farmops.bench.service_database import service_database

WHOLE_MINUTES = 10
"""About what all of it takes."""
CORES = 2
USERS = 8
MOST_P95_MS = 300
MOST_KB = 150
PATIENCE_S = 60.0
PEAK = "peak_mb"
BARE = "live"
"""The bare view of the run: it asks nothing and says a word."""
COMPOSE = "docker-compose.yml"
READ_S = 1.0
"""How long a user who reads looks at each page."""


@dataclass(frozen=True)
class Sizes:
    """How large the farm is, and how often each user asks for each page: without a pause, and reading."""

    fields: int
    hands: int
    outfits: int
    times: int
    rounds: int


FULL = Sizes(fields=1_000, hands=100, outfits=40, times=12, rounds=3)
SMALL = Sizes(fields=12, hands=12, outfits=9, times=1, rounds=1)


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
            f"together; the web server of {COMPOSE}: {' '.join(web_command())}.",
            f"{sizes.fields:,} fields, {sizes.hands} hands, {sizes.outfits} outfits, 5 seasons.",
            f"Without a pause: {USERS} users ask at once for the same page, each {sizes.times} times, the next time as "
            "soon as the answer is there.",
            f"Reading: {USERS} users go through all pages {sizes.rounds} times, each in an order of its own, and read "
            f"each for {READ_S:g} s before the next.",
            "Seconds are those within which 95 of 100 answers came; weight is the page with style sheets and scripts, "
            "by gzip; first is a first look, with nobody else there; CPU is what the web server computes for an answer.",
            f"Load of the machine before the run, that is what else runs there: {os.getloadavg()[0]:.1f}.",
            *(("Small sizes: no limit is judged.",) if choices.is_small else ()),
        ),
        rows=tuple(rows),
    )


def web_command() -> list[str]:
    """Return the words by which compose starts the web server, each variable as it is by itself."""
    services = yaml.safe_load((ROOT / COMPOSE).read_text(encoding="utf-8"))["services"]
    return [re.sub(r"\$\{\w+:-([^}]*)\}", r"\1", word) for word in services["web"]["command"]]


@contextmanager
def _server(environ: Mapping[str, str]) -> Iterator[tuple[int, int]]:
    """Give the port of the service's web server, which this machine alone reaches, and its process, for a block."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    program, *words = web_command()
    beside = shutil.which(program, path=str(Path(sys.executable).parent)) or shutil.which(program)
    if beside is None:
        raise MeasurementFailed(f"{program} is not installed")
    bind = [f"--bind=127.0.0.1:{port}" if word.startswith("--bind=") else word for word in words]
    cores = set(sorted(os.sched_getaffinity(0))[:CORES]) if hasattr(os, "sched_getaffinity") else None
    server = subprocess.Popen(
        [beside, *bind],
        cwd=ROOT,
        env={**os.environ, **ONE_THREAD, **environ},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    if cores is not None:
        os.sched_setaffinity(server.pid, cores)
    try:
        _wait_for(port, server)
        yield port, server.pid
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
        with _server(self.environ) as (port, process):
            asking = {"port": port, "cookie": asked["cookie"], "users": USERS}
            got = self._got(
                "every page, without a pause",
                "pages_measures.looked",
                cores=CORES,
                pages=asked["pages"],
                times=sizes.times,
                process=process,
                **asking,
            )
            del got[PEAK]
            broken = [name for name, one in got.items() if one["status"] >= 500]
            if broken:
                raise MeasurementFailed(f"pages that broke: {', '.join(broken)}")
            pages = {name: asked["pages"][name] for name, one in got.items() if one["status"] == 200}
            read = self._got(
                "all pages, reading",
                "pages_measures.read",
                cores=CORES,
                pages=pages,
                rounds=sizes.rounds,
                read_s=READ_S,
                **asking,
            )
        rows = [self._all(read["every page"])]
        for name in pages:
            rows += self._rows(name, got[name], read[name])
        return rows

    def _all(self, read: Mapping[str, Any]) -> BenchRow:
        return self._row(f"every page, reading: median {read['median_ms']:.0f} ms", read, is_judged=True)

    def _rows(self, name: str, strict: Mapping[str, Any], read: Mapping[str, Any]) -> list[BenchRow]:
        says = "a bare view" if name == BARE else name
        first = f"first {1000 * strict['first_s']:.0f} ms, {strict['kb']:.0f} kB"
        if strict["cpu_ms"] is not None:
            first += f", {strict['cpu_ms']:.0f} ms of CPU"
        is_judged = name != BARE
        return [
            self._row(
                f"{says}, without a pause: median {strict['median_ms']:.0f}, {first}",
                strict,
                is_judged=is_judged,
                kb=strict["kb"],
            ),
            self._row(f"{says}, reading: median {read['median_ms']:.0f} ms", read, is_judged=is_judged),
        ]

    def _row(
        self, what: str, one: Mapping[str, Any], *, is_judged: bool, kb: float | None = None
    ) -> BenchRow:
        is_met = one["p95_ms"] <= MOST_P95_MS and (kb is None or kb <= MOST_KB)
        return BenchRow(
            what=what,
            size=f"{one['count']} answers",
            seconds=one["p95_ms"] / 1000,
            ratio=one["p95_ms"] / MOST_P95_MS,
            limit=f"within {MOST_P95_MS} ms{'' if kb is None else f', {MOST_KB} kB'}" if is_judged else "",
            is_met=is_met if is_judged and not self.choices.is_small else None,
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
