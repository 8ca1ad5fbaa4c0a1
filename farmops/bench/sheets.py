"""The bench of the mail: sheets made, composed and sent to a mail server on loopback, beside bare smtplib.

On PostgreSQL as it comes, so what is committed is on the disk, with the journal on. The farms have a plan of one job for
each hand and day, and no weather.

Beside N workers stand N bare loops at once, each over one connection, so that both share the cores and the one server among
as many; a worker's rate is held against that of one of these loops, and told beside that of a loop that has the machine alone.
The server offers pipelining, as mail servers do, which smtplib does not know and the workers use. There are enough mails that
each worker takes several batches: with few, what is measured is how the last ones happen to be shared out.

The pace of a machine moves by a quarter from one minute to the next, so each number of workers has its turn some times, its
bare loops right after it, and the round in the middle is judged.
"""

import platform
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from farmops.bench import postgres_server
from farmops.bench.children import MeasurementFailed, measured
from farmops.bench.rows import BenchReport, BenchRow, Choices
from farmops.bench.service_database import service_database
from farmops.bench.sheets_sink import sink

WHOLE_MINUTES = 14
"""About what all of it takes."""
CORES = 2
WORKERS = (1, 2, 4)
ROUNDS = 3
LEAST_OF_BARE = 0.5
MOST_COMPOSE_MS = 20
MOST_SECONDS = 300
MOST_GROWTH = 1.1


@dataclass(frozen=True)
class Sizes:
    """How many farms and hands there are, and how many of the farms the measured rates are taken on."""

    farms: int
    hands: int
    farms_for_rates: int


FULL = Sizes(farms=500, hands=20, farms_for_rates=150)
SMALL = Sizes(farms=6, hands=4, farms_for_rates=3)


def run(choices: Choices) -> BenchReport:
    """Measure all of it; small sizes show the table only."""
    sizes = SMALL if choices.is_small else FULL
    try:
        with service_database(address="https://farm.example.org") as environ, sink() as port:
            rows = _Mail(environ, port, sizes, choices).rows()
    except postgres_server.NoServer as error:
        raise MeasurementFailed(f"the mail is measured on PostgreSQL, and there is {error}") from error
    return BenchReport(
        name="sheets",
        conditions=(
            f"Python {platform.python_version()}, {platform.machine()}, {CORES} cores for workers, database and mail "
            f"server together; bare smtplib in the same run, same bytes, the same server, as many loops at once as workers, each over "
            f"one connection.",
            f"{sizes.farms} farms of {sizes.hands} hands; rates on {sizes.farms_for_rates} of them.",
            *(("Small sizes: no limit is judged.",) if choices.is_small else ()),
        ),
        rows=tuple(rows),
    )


@dataclass(frozen=True)
class _Turn:
    """What some workers sent, and the same mails by one bare loop alone and by as many loops as workers."""

    sent: Mapping[str, Any]
    alone: Mapping[str, Any]
    beside: Mapping[str, Any]

    @property
    def ratio(self) -> float:
        return _rate(self.sent) / _rate(self.beside)


def _rate(got: Mapping[str, Any]) -> float:
    rate: float = got["rows"] / got["seconds"]
    return rate


class _Mail:
    """The measurements, in the order they are made: each day of the plan is used once."""

    def __init__(self, environ: Mapping[str, str], port: int, sizes: Sizes, choices: Choices) -> None:
        self.environ, self.port, self.sizes, self.choices = environ, port, sizes, choices

    def rows(self) -> list[BenchRow]:
        sizes = self.sizes
        self._got("tables", "ledger_child.tables_made")
        self._got("farms", "sheets_place.laid_out", farms=sizes.farms, hands=sizes.hands)
        rows = []
        turns: dict[int, list[_Turn]] = {workers: [] for workers in WORKERS}
        for day, workers in enumerate(WORKERS * ROUNDS):
            self._got("rows", "sheets_measures.made", day=day, farms=sizes.farms_for_rates)
            if day == 0:
                rows.append(self._composed())
            turns[workers].append(self._turn(day, workers))
        for workers, found in turns.items():
            rows += self._rates(workers, sorted(found, key=lambda one: one.ratio))
        return [*rows, *self._everybody(len(WORKERS) * ROUNDS)]

    def _composed(self) -> BenchRow:
        got = self._got("composing", "sheets_measures.composed", day=0)
        return self._row(
            f"a sheet composed: mean {got['mean_ms']:.1f}, 95 of 100 within {got['p95_ms']:.1f}, the first of some farms, "
            f"which reads their day, {got['first_ms']:.0f}, longest {got['most_ms']:.0f} ms",
            got,
            ratio=got["p95_ms"] / MOST_COMPOSE_MS,
            limit=f"95 of 100 within {MOST_COMPOSE_MS} ms",
            is_met=got["p95_ms"] <= MOST_COMPOSE_MS,
        )

    def _turn(self, day: int, workers: int) -> _Turn:
        sent = self._got(
            f"sending with {workers}",
            "sheets_measures.sent",
            cores=CORES,
            day=day,
            port=self.port,
            workers=workers,
        )
        loops = [
            self._got(
                f"bare smtplib, {count} at once",
                "sheets_measures.bare",
                cores=CORES,
                day=day,
                port=self.port,
                count=int(sent["rows"]),
                loops=count,
            )
            for count in sorted({1, workers})
        ]
        return _Turn(sent, alone=loops[0], beside=loops[-1])

    def _rates(self, workers: int, turns: Sequence[_Turn]) -> list[BenchRow]:
        """Return the rows of the turn in the middle; `turns` are from the least ratio to the most."""
        one = turns[len(turns) // 2]
        alike = f"{one.beside['mean_kb']:.1f} kB and {one.beside['cpu_ms']:.2f} ms CPU each"
        rounds = ", ".join(f"{turn.ratio:.2f}" for turn in turns)
        return [
            self._row(
                f"bare smtplib, {workers} loops at once, each over one connection, {alike}", one.beside
            ),
            self._row(
                f"sent by {workers} workers, composing included, {one.sent['cpu_ms']:.1f} ms CPU each; a worker beside one "
                f"loop that has the machine alone: {_rate(one.sent) / workers / _rate(one.alone):.2f}; the rounds: {rounds}",
                one.sent,
                ratio=one.ratio,
                limit=f"each at least {LEAST_OF_BARE:g} of one of as many bare loops, in the middle of {len(turns)} rounds",
                is_met=one.ratio >= LEAST_OF_BARE,
            ),
        ]

    def _everybody(self, day: int) -> list[BenchRow]:
        made = self._got("everybody's rows", "sheets_measures.made", day=day, farms=self.sizes.farms)
        sent = self._got(
            "everybody's mail", "sheets_measures.sent", cores=CORES, day=day, port=self.port, workers=2
        )
        both = {"seconds": made["with_calendars_s"] + sent["seconds"], "rows": sent["rows"]}
        growth = sent["ends_mb"] / sent["begins_mb"]
        return [
            self._row("rows made by one look at the clocks", made),
            self._row(
                "made, held against the calendars and sent by 2 workers",
                both,
                ratio=both["seconds"] / MOST_SECONDS,
                limit=f"within {MOST_SECONDS} s",
                is_met=both["seconds"] <= MOST_SECONDS,
            ),
            self._row(
                f"  its memory: {sent['begins_mb']:.0f} MB after the first run, {sent['ends_mb']:.0f} MB at the end",
                sent,
                ratio=growth,
                limit=f"at most {MOST_GROWTH:g} times the first",
                is_met=growth <= MOST_GROWTH,
            ),
        ]

    def _got(self, says: str, function: str, *, cores: int = 1, **arguments: Any) -> dict[str, Any]:
        self.choices.told(says)
        return measured(
            "farmops.bench.ledger_child.run",
            cores=cores,
            environ=self.environ,
            function=function,
            **arguments,
        )

    def _row(
        self,
        what: str,
        got: Mapping[str, Any],
        *,
        ratio: float | None = None,
        limit: str = "",
        is_met: bool | None = None,
    ) -> BenchRow:
        return BenchRow(
            what=what,
            size=f"{got['rows']:,} mails",
            seconds=got["seconds"],
            rate=_rate(got),
            unit="mails",
            ratio=ratio,
            limit=limit,
            is_met=None if self.choices.is_small else is_met,
        )
