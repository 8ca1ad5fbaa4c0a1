"""How much of a new hand's first days may be spent in heat. Pure.

OSHA, Protecting new workers: no more than a fifth of the usual time in heat on the first day, and no more than another
fifth of it on each day after. Most heat deaths at work fall in the first days. The farm's own plan and local law go first.
"""

from scheduling.slips.facts import NewHand

STEP_PCT = 20
FIRST_DAYS = 14
"""So many days of the calendar after the start nobody counts as used to heat who worked only few of them."""


def new_hand(*, days_worked: int) -> NewHand | None:
    """Return what holds for a hand who has worked so many days (0 or more) before today; None once all of it is allowed."""
    if days_worked < 0:
        raise ValueError(f"days worked are {days_worked}; they are 0 or more")
    most_pct = STEP_PCT * (days_worked + 1)
    return NewHand(day_no=days_worked + 1, most_share_pct=most_pct) if most_pct < 100 else None
