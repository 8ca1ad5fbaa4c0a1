"""What an hour of each machine and hand costs, as the planner is told: the money floor fills it in."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class PlanPrices:
    """Prices of a plan in whole cents, by row id; a machine's or implement's hour holds all but the hand's wage.

    `custom_cents_per_ac` is what somebody hired asks, by the operation; work that is not among them counts as free.
    """

    machine_cents_per_h: Mapping[int, int]
    implement_cents_per_h: Mapping[int, int]
    hand_cents_per_h: Mapping[int, int]
    overtime_extra_cents_per_h: Mapping[int, int]
    custom_cents_per_ac: Mapping[str, int] = field(default_factory=dict)
