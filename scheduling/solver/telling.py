"""The words in which reasons and changes are told: names in place of ids, dollars, minutes, lists."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from scheduling.solver import cost
from scheduling.solver.explain import moment
from scheduling.solver.problem import Problem

_PART_WORDS = {
    "direct": "for the work itself",
    "late": "for being late",
    "extra": "for extra hours",
    "road": "on the road and for changing setups",
    "change": "for changing what was sent",
    "left": "for work left",
    "weather": "for the risk of weather",
}


@dataclass(frozen=True)
class Teller:
    """Tells ids by the names that people read; an id without a name is told as it is."""

    problem: Problem
    names: Mapping[str, str] = field(default_factory=dict)

    def name(self, name: str) -> str:
        return self.names.get(name, name)

    def all(self, names: Iterable[str]) -> str:
        return listed([self.name(name) for name in names])

    def at(self, minute: int) -> str:
        return moment(self.problem, minute)


def listed(words: Iterable[str]) -> str:
    """Return "a", "a and b", "a, b and c"; each word once."""
    once = list(dict.fromkeys(words))
    return once[0] if len(once) == 1 else f"{', '.join(once[:-1])} and {once[-1]}" if once else ""


def money(units: int) -> str:
    """Return units as dollars and cents, half to even, without a sign."""
    cents = abs(cost.cents(units))
    return f"${cents // 100:,}.{cents % 100:02d}"


def dearer(units: int) -> str:
    """Return "cost $4.00 more", "save $4.00" or "cost the same"."""
    cents = cost.cents(units)
    if cents == 0:
        return "cost the same"
    return f"cost {money(units)} more" if cents > 0 else f"save {money(units)}"


def differing(units: int, parts: Mapping[str, int]) -> str:
    """Return what a difference is and where it comes from: "cost $4.00 more, all of it on the road", "cost $4.00 more:
    $5.00 more on the road and $1.00 less for being late".
    """
    told = [part for part, amount in parts.items() if cost.cents(amount)]
    if len(told) == 1 and cost.cents(parts[told[0]]) == cost.cents(units):
        return f"{dearer(units)}, all of it {_PART_WORDS[told[0]]}"
    words = parted(parts)
    return f"{dearer(units)}: {words}" if words else dearer(units)


def parted(parts: Mapping[str, int]) -> str:
    """Return the parts of a difference in words, the greatest first: "$9.00 more on the road"; "" for none."""
    told = [(part, units) for part, units in parts.items() if cost.cents(units)]
    told.sort(key=lambda item: -abs(item[1]))
    words = [f"{money(units)} {'more' if units > 0 else 'less'} {_PART_WORDS[part]}" for part, units in told]
    return listed(words)
