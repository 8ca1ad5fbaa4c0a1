"""What an hour of each machine and hand costs, as the planner is told: the money floor fills it in."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class PlanPrices:
    """Prices of a plan in whole cents, by row id; a machine's or implement's hour holds all but the hand's wage."""

    machine_cents_per_h: Mapping[int, int]
    implement_cents_per_h: Mapping[int, int]
    hand_cents_per_h: Mapping[int, int]
    overtime_extra_cents_per_h: Mapping[int, int]
