"""Times in the reasons are those of the farm's clock."""

import pytest

from scheduling.solver import parse_problem
from scheduling.solver.explain import moment
from tests.scheduling.solver import example


@pytest.mark.parametrize(
    ("start", "minute", "says"),
    [
        ("2027-04-05T00:00:00-04:00", 450, "Mon Apr 5 7:30 am"),
        ("2027-04-05T04:00:00+00:00", 450, "Mon Apr 5 7:30 am"),
        ("2027-03-14T00:00:00-05:00", 135, "Sun Mar 14 3:15 am"),
        ("2027-11-07T00:00:00-04:00", 135, "Sun Nov 7 1:15 am"),
    ],
)
def test_a_minute_is_told_by_the_clock_of_the_zone(start: str, minute: int, says: str) -> None:
    assert moment(parse_problem({**example.problem(), "start": start}), minute) == says
