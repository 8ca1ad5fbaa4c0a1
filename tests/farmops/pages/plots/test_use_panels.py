"""Hours by day and the time line of services, drawn: places worked by hand."""

import datetime as dt

from farmops.pages.plots.day_panels import bars_panel
from farmops.pages.plots.use_panels import DayHours, Service, hours_panel, time_line

TODAY = dt.date(2026, 4, 20)


def days_on(*hours: float, planned_from: int = 99) -> list[DayHours]:
    return [
        DayHours(TODAY + dt.timedelta(days=number), one, is_planned=number >= planned_from)
        for number, one in enumerate(hours)
    ]


def test_a_bar_is_as_high_as_its_hours_and_planned_ones_are_outlined() -> None:
    """Four days, 25 % each; 8 h fill the 94 pixels under the numbers, 4 h half of them: 47 from the foot at 110."""
    panel = hours_panel(days_on(8, 0, 4, 0.2, planned_from=2), key="k", name="Tractor 1", today=TODAY)
    full, half, little = panel.bars
    assert (full.y, full.height, full.kind, full.says) == ("16.0", "94.0", "read", "8")
    assert (half.y, half.height, half.kind) == ("63.0", "47.0", "told")
    assert (half.x, half.width, half.middle) == ("53.75%", "17.50%", "62.50%")
    assert little.says == "<1"
    assert panel.ahead_x == "50.00%"
    assert panel.desc == "Apr 20 8.0 h; Apr 22 4.0 h planned; Apr 23 0.2 h planned"
    assert [tick.is_strong for tick in panel.days] == [True, False, False, False]


def test_days_without_hours_say_so() -> None:
    panel = hours_panel(days_on(0, 0), key="k", name="Tractor 1", today=TODAY)
    assert (panel.bars, panel.desc) == ((), "It did not run in these days, and nothing is planned.")
    assert panel.values[-1].says == "2"


def test_numbers_beside_large_hours_and_values_have_all_their_digits() -> None:
    days = [one.day for one in days_on(0, 0)]
    large = [0.0, 2e6]
    values = bars_panel(days, large, key="k", title="t", desc="d", step=1, told=[False, False]).values
    hours = hours_panel(days_on(*large), key="k", name="Tractor 1", today=TODAY).values
    assert {tick.says for tick in values} == {tick.says for tick in hours} == {"0", "1,000,000", "2,000,000"}


def service(what: str, days: int, *, is_over: bool = False) -> Service:
    return Service(what, TODAY + dt.timedelta(days=days), f"due in {days}", is_over)


def test_services_stand_by_their_days_the_soonest_on_top() -> None:
    """The last is 100 days away, and the axis 102 long: 51 days are in its middle; May 1 is at 11 / 102."""
    line = time_line(
        [service("oil", 100), service("grease", 51), service("bolts", -4, is_over=True)],
        key="k",
        name="tractor 1",
        today=TODAY,
    )
    assert line is not None
    assert [(row.says, row.x, row.is_over) for row in line.rows] == [
        ("bolts: due in -4", "0.40%", True),
        ("grease: due in 51", "50.00%", False),
        ("oil: due in 100", "98.04%", False),
    ]
    assert [(tick.at, tick.says) for tick in line.ticks] == [
        ("0.00%", "today"),
        ("41.18%", "Jun 1"),
        ("70.59%", "Jul 1"),
    ]
    assert line.desc.startswith("oil: due in 100")


def test_a_short_axis_is_four_weeks_and_no_service_is_no_drawing() -> None:
    line = time_line([service("x" * 60, 14)], key="k", name="tractor 1", today=TODAY)
    assert line is not None
    assert line.rows[0].x == "49.02%"
    assert line.rows[0].says == f"{'x' * 33}…: due in 14"
    assert time_line([], key="k", name="tractor 1", today=TODAY) is None
