"""What is not due yet is known by the reasons that a plan keeps."""

import datetime as dt

from scheduling.selectors.not_due import not_yet_due

FIRST = dt.date(2026, 11, 30)


def test_what_waits_for_something_that_is_not_due_is_not_due_and_what_nobody_can_do_is_left() -> None:
    # The calendar: February 28 and March 15 of 2027 are a Sunday and a Monday, December 1, 2026, is a Tuesday.
    assert not_yet_due(
        not_offered=[
            ["a/plant", "It may not start before Monday, March 15."],
            ["a/harvest", "It waits for a/plant, which is not in this plan."],
            ["b/disk", "It is fixed to start on Sunday, February 28, after this plan."],
            ["c/plant", "It waits for c/spray and at least 21 days after it, which is not within this plan."],
            ["d/plant", "No tractor, implement and hand here can plant in these days."],
            ["d/harvest", "It waits for d/plant, which is not in this plan."],
            ["e/disk", "All 40.00 acres are reported: say that it is finished, or correct a record."],
            ["f/disk", "It may not start before Tuesday, December 1, after what it waits for."],
        ],
        first_on=FIRST,
    ) == {
        "a/plant": dt.date(2027, 3, 15),
        "a/harvest": None,
        "b/disk": dt.date(2027, 2, 28),
        "c/plant": None,
        "f/disk": dt.date(2026, 12, 1),
    }


def test_a_day_is_that_of_the_year_in_which_it_has_its_weekday() -> None:
    # The calendar: of the February 29s only that of 2028 is a Tuesday before 2056; no March 15 until 2032 is a Sunday.
    told = [
        ["a/disk", "It may not start before Tuesday, February 29."],
        ["b/disk", "It may not start before Sunday, March 15."],
    ]
    assert not_yet_due(not_offered=told, first_on=FIRST) == {"a/disk": dt.date(2028, 2, 29), "b/disk": None}
