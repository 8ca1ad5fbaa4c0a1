"""Orders of work as values: what is wrong and where, the days around planting, and the orders that ship."""

import datetime as dt
import itertools
from dataclasses import replace
from pathlib import Path

import pytest

from farmops.farms.models import Crop
from farmops.farms.operations import Operation
from farmops.farms.services.json_facts import BadFarmFile
from scheduling.orders import NoRoom, Order, OrderStep, dates_of, troubles_of
from scheduling.orders.dates import Dated
from scheduling.orders.steps import step_from, step_row
from scheduling.services.order_files import order_text, read_order, starting_orders

WINDOW = {"plant_from": dt.date(2027, 4, 20), "plant_to": dt.date(2027, 5, 20)}
ORDER = Order(
    "Cotton",
    "cotton",
    "strip_till",
    "04-20",
    "05-20",
    (
        OrderStep("kill", "burndown", plant_back_days=21),
        OrderStep("strip", "strip_till", least_days=7, most_days=30),
        OrderStep("plant", "plant", most_days=14),
        OrderStep("dress", "sidedress", least_days=35, most_days=50),
        OrderStep("spray", "spray", after="plant", least_days=40),
    ),
)


def changed(number: int, **values: object) -> Order:
    steps = list(ORDER.steps)
    steps[number - 1] = replace(steps[number - 1], **values)  # type: ignore[arg-type]
    return replace(ORDER, steps=tuple(steps))


def days(order: Order, **more: object) -> list[tuple[str, str]]:
    dated = dates_of(order, **{**WINDOW, **more})  # type: ignore[arg-type]
    return [(str(one.earliest_on or "now"), str(one.latest_on or "any")) for one in dated]


def test_days_are_worked_back_from_the_planting_window_and_forward_after_it() -> None:
    """By hand, as a forward and a backward pass of the critical path method (Kelley and Walker 1959) have it."""
    assert days(ORDER) == [
        ("2027-03-07", "2027-04-29"),  # 14 + 30 before the window's first day; 21 (the label) before its last
        ("2027-04-06", "2027-05-20"),
        ("2027-04-20", "2027-05-20"),
        ("2027-05-25", "2027-07-09"),  # 35 after the first day, 50 after the last
        ("2027-05-30", "any"),  # 40 after planting; what comes before it bounds it no further
    ]


def test_what_is_done_ties_the_rest_and_what_was_passed_over_is_left() -> None:
    done = dates_of(ORDER, **WINDOW, today=dt.date(2027, 5, 10), done_on={3: dt.date(2027, 5, 8)})
    assert [one.is_passed for one in done] == [True, True, False, False, False]
    assert done[3] == Dated(dt.date(2027, 6, 12), None), "the 50 days after finished work bind nothing"
    late = dates_of(ORDER, **WINDOW, today=dt.date(2027, 9, 1), done_on={3: dt.date(2027, 5, 8)})
    assert late[3] == Dated(None, None), "late is better than never"


def test_days_that_cannot_be_kept_name_a_loop_of_rules_that_adds_up_below_zero() -> None:
    with pytest.raises(NoRoom) as caught:
        days(ORDER, today=dt.date(2027, 5, 2))
    assert [(one.kind, one.at, one.before, one.days) for one in caught.value.bounds] == [
        ("today", 1, None, 0),
        ("plant_back", 3, 1, 21),
        ("window_to", 3, None, 0),
    ]


def test_days_agree_with_trying_every_day() -> None:
    """Against brute force over small orders: an oracle that knows nothing of graphs."""
    window = (dt.date(2027, 4, 10), dt.date(2027, 4, 12))
    span = range(-8, 9)
    for least1, most1, least2, most2, label in itertools.product((0, 2), (3, None), (0, 1), (2, 4), (0, 4)):
        order = replace(
            ORDER,
            steps=(
                OrderStep("a", "burndown", plant_back_days=label),
                OrderStep("b", "disk", least_days=least1, most_days=most1),
                OrderStep("c", "plant", least_days=least2, most_days=most2),
            ),
        )
        fits = [
            (a, b, c)
            for a, b, c in itertools.product(span, span, range(3))
            if a <= b <= c
            and least1 <= b - a <= (99 if most1 is None else most1)
            and least2 <= c - b <= most2
            and c - a >= label
            and a >= -7
        ]
        today = window[0] - dt.timedelta(days=7)
        if not fits:
            with pytest.raises(NoRoom):
                dates_of(order, plant_from=window[0], plant_to=window[1], today=today)
            continue
        dated = dates_of(order, plant_from=window[0], plant_to=window[1], today=today)
        for number, one in enumerate(dated):
            values = [fit[number] for fit in fits]
            first = window[0] + dt.timedelta(days=min(values))
            assert one.earliest_on == (None if first <= today else first)
            assert one.latest_on == window[0] + dt.timedelta(days=max(values))


@pytest.mark.parametrize(
    ("order", "code", "at", "name"),
    [
        (replace(ORDER, steps=()), "no_steps", None, "steps"),
        (replace(ORDER, steps=ORDER.steps[:2]), "no_planting", None, "steps"),
        (replace(ORDER, plant_to="04-31"), "no_day", None, "plant_to"),
        (replace(ORDER, plant_to="04-01"), "window_backwards", None, "plant_to"),
        (replace(ORDER, crop="mustard"), "unknown_crop", None, "crop"),
        (changed(2, operation="mow"), "unknown_operation", 2, "operation"),
        (changed(2, operation="pivot_walk"), "pivot_move", 2, "operation"),
        (changed(2, key="kill"), "key_twice", 2, "key"),
        (changed(2, after="gone"), "unknown_after", 2, "after"),
        (changed(2, after="strip"), "after_itself", 2, "after"),
        (changed(2, after="dress"), "loop", 2, "after"),
        (changed(1, least_days=2), "first_has_gap", 1, "least_days"),
        (changed(4, least_days=51), "least_over_most", 4, "most_days"),
        (changed(4, least_days=401, most_days=None), "out_of_range", 4, "least_days"),
        (changed(1, plant_back_days=45), "plant_back_no_room", 1, "plant_back_days"),
        (changed(2, plant_back_days=3), "label_of_no_spraying", 2, "plant_back_days"),
        (changed(4, operation="irrigate"), "no_depth", 4, "depth_in"),
        (changed(3, not_after="04-10"), "no_room", 3, "least_days"),
    ],
)
def test_each_thing_wrong_is_found_at_its_place(order: Order, code: str, at: int | None, name: str) -> None:
    assert (code, at, name) in [(one.code, one.at, one.name) for one in troubles_of(order)]


def test_a_label_of_just_the_room_that_there_is_fits() -> None:
    assert troubles_of(ORDER) == []
    assert troubles_of(changed(1, plant_back_days=44)) == [], "30 and 14 days"


def test_a_step_comes_back_from_its_row_as_it_was() -> None:
    for order in (ORDER, *starting_orders().values()):
        assert tuple(step_from(step_row(one)) for one in order.steps) == order.steps


def test_the_orders_that_ship_hold_and_each_step_says_whose_number_it_is() -> None:
    shipped = starting_orders()
    assert {one.crop for one in shipped.values()} == {"cotton", "peanuts", "corn", "soybeans"}
    assert {one.crop for one in shipped.values()} <= set(Crop.values), "an order whose crop no field can have"
    assert {one.tillage for one in shipped.values() if one.crop == "cotton"} == {"strip_till", "disk_bed"}
    for key, order in shipped.items():
        assert troubles_of(order) == [], key
        assert order.source, key
        assert all(one.source for one in order.steps), key
    cotton = shipped["cotton-strip-till"]
    assert cotton.steps[0].plant_back_days == 30, "county notes, Georgia: 30 days of 2,4-D before cotton"
    picks = [one for one in cotton.steps if one.operation == Operation.PICK]
    assert picks[0].least_days <= 14 <= (picks[0].most_days or 0), "about 14 days after defoliating"


def test_an_order_goes_to_a_file_and_back_and_a_bad_file_names_its_place(tmp_path: Path) -> None:
    path = tmp_path / "order.json"
    for order in starting_orders().values():
        path.write_text(order_text(order), encoding="utf-8")
        assert read_order(path) == order
    for wrong, says in (
        ('"operation": "mow"', r"steps\[0\]\.operation: 'mow' is not one of"),
        ('"operation": "disk", "least_dais": 3', r"steps\[0\]: .*least_dais|steps\[0\].least_dais"),
        ('"operation": "disk", "most_days": 4.5', r"steps\[0\]\.most_days: 4.5 has more than 0 decimals"),
    ):
        path.write_text(
            '{"format": "order-of-work/1", "name": "x", "crop": "corn", "tillage": "other", "plant_from": "03-01",'
            f'"plant_to": "04-01", "steps": [{{{wrong}}}]}}',
            encoding="utf-8",
        )
        with pytest.raises(BadFarmFile, match=says):
            read_order(path)
