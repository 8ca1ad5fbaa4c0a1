"""How late a pass ends, as the week says it: from the end of the day on which it was due, before the plan too."""

import datetime as dt

import pytest

from farmops.pages.board_facts import late_of
from scheduling.models import FieldPass
from tests.farmops.pages.conftest import Yard, signed_in


@pytest.mark.parametrize(
    ("due_on", "says"),
    [
        (dt.date(2026, 4, 16), "4 days late"),
        (dt.date(2026, 4, 18), "37 hours late"),
        (dt.date(2026, 4, 19), "13 hours late"),
        (None, "13 hours late"),
    ],
)
def test_what_was_due_before_the_plan_is_late_since_then(
    yard: Yard, due_on: dt.date | None, says: str
) -> None:
    """The disking ends on Monday, April 20, at 1 pm; the plan's problem has it due at its first minute at the soonest."""
    FieldPass.objects.update(due_on=due_on)
    yard.plan.problem["tasks"][0]["due"] = 0
    yard.plan.save()
    assert late_of(yard.plan) == {"pond-40/disk": says}
    assert says in signed_in("mona").get("/farms/heron-slough/week/").content.decode()


def test_what_is_due_in_the_plan_is_late_as_the_plan_has_it(yard: Yard) -> None:
    FieldPass.objects.update(due_on=dt.date(2026, 4, 10))
    yard.plan.problem["tasks"][0]["due"] = 660
    assert late_of(yard.plan) == {"pond-40/disk": "2 hours late"}
