"""The benches by name."""

import importlib.util
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from farmops.bench import ground
from farmops.bench.rows import BenchReport


@dataclass(frozen=True)
class Bench:
    """One bench: what it measures, the packages beside which it does, and the function that runs it.

    The function takes whether small sizes will do, for a look at the table; limits are not judged on them.
    """

    name: str
    says: str
    packages: tuple[str, ...]
    run: Callable[[bool], BenchReport]

    def lacking(self) -> list[str]:
        """Return the packages that are not installed."""
        return [name for name in self.packages if importlib.util.find_spec(name) is None]


BENCHES: Mapping[str, Bench] = {
    bench.name: bench
    for bench in (
        Bench(
            name="ground",
            says="reference evapotranspiration, topsoil balance, and the hours of a farm judged",
            packages=("pyfao56", "pandas"),
            run=ground.run,
        ),
    )
}
