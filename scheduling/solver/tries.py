"""One variant of the fixed tasks on its way to a plan, and how warm a search may be that goes on from a plan."""

from dataclasses import dataclass

from scheduling.solver.board import Board
from scheduling.solver.search import GOING_ON_LEGS, LATER_LEGS, MENDING_LEGS, STILL_LEGS, Legs, Search


@dataclass
class Try:
    """One variant of the fixed tasks on its way to a plan."""

    board: Board
    search: Search
    bound_units: int
    is_proved: bool = False
    is_hopeless: bool = False
    goes_on: bool = False

    @property
    def is_settled(self) -> bool:
        return self.is_proved or self.is_hopeless

    @property
    def is_done(self) -> bool:
        """Whether no plan can be cheaper than the best."""
        return self.search.is_complete and self.search.best[2] <= self.bound_units


def cooler(legs: Legs) -> Legs:
    """Return legs for going on from a plan that is there, so that little of it moves without a gain."""
    return STILL_LEGS if legs in (LATER_LEGS, MENDING_LEGS) else GOING_ON_LEGS
