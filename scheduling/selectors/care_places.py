"""Where a plan has the machine, implement or pivot of a service stop before it."""

from scheduling.models import PlannedCare
from scheduling.selectors.fleet import place_of
from scheduling.selectors.plans import field_of_stop


def is_brought(stop: PlannedCare) -> bool:
    """Say whether a plan has the thing of a stop, as `care_of_plan` gives it, on another field last: it is brought there.

    A plan has a stop where the thing stood when it was made, and counts the road back to it.
    """
    last: str | None = getattr(stop, "comes_from", None)
    return last is not None and bool(field_of_stop(stop)) and place_of(last) != stop.place
