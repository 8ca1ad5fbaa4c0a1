"""Whether a debris walk pays: sums done by hand."""

from decimal import Decimal
from typing import Any

import pytest

from scheduling.debris.worth import Answer, Walk, WorthError, worth_of


def make_walk(**facts: Any) -> Walk:
    plain: dict[str, Any] = {
        "found_share": Decimal("0.6"),
        "swath_ft": Decimal(30),
        "walk_mph": Decimal("2.5"),
        "wage_cents_per_h": 1800,
        "puncture_cents": 40_000,
        "lost_h": Decimal(3),
        "lost_cents_per_h": 10_000,
    }
    return Walk(**{**plain, **facts})


def test_thirty_feet_at_two_and_a_half_miles_an_hour_is_about_nine_acres() -> None:
    """By hand: 30 × 2.5 / 8.25 = 9.0909; the farm's planner and common practice say about 9."""
    assert make_walk().ac_per_h == pytest.approx(Decimal("9.0909"), abs=Decimal("0.0001"))


def test_a_walk_worked_by_hand() -> None:
    """By hand: 100 acres at 3.0 per 1,000 are 0.3 punctures of $400 + 3 h × $100 = $700: $210 a pass, of which 0.6 is
    $126. The walk takes 100 / 9.0909 = 11 h at $18: $198. One pass saves less, two save $252. It pays from
    198 / (0.1 × 700 × 0.6) = 4.714 per 1,000 acres.
    """
    found = worth_of(walk=make_walk(), rate_per_1000_ac=Decimal(3), area_ac=Decimal(100), passes=2)
    assert (found.pass_cents, found.saved_next_cents, found.saved_all_cents) == (21_000, 12_600, 25_200)
    assert (found.walk_h, found.walk_cents) == (Decimal(11), 19_800)
    assert found.answer == Answer.LATER
    assert found.gain_cents == 5_400
    assert found.break_even_per_1000_ac == pytest.approx(Decimal("4.7143"), abs=Decimal("0.0001"))


def test_a_walk_that_the_next_pass_pays_gains_by_that_pass_alone() -> None:
    """By hand, as above at twice the rate: the next pass saves $252, the walk costs $198; that two save $504 is beside it."""
    found = worth_of(walk=make_walk(), rate_per_1000_ac=Decimal(6), area_ac=Decimal(100), passes=2)
    assert (found.answer, found.saved_all_cents, found.gain_cents) == (Answer.YES, 50_400, 5_400)


@pytest.mark.parametrize(
    ("rate", "passes", "answer"),
    [("4.7", 1, Answer.NO), ("4.72", 1, Answer.YES), ("2.3", 2, Answer.NO), ("2.4", 2, Answer.LATER)],
)
def test_the_answer_turns_at_the_break_even_rate(rate: str, passes: int, answer: Answer) -> None:
    found = worth_of(walk=make_walk(), rate_per_1000_ac=Decimal(rate), area_ac=Decimal(100), passes=passes)
    assert found.answer == answer
    assert (found.gain_cents > 0) == (answer != Answer.NO)


def test_acres_do_not_change_the_answer_since_both_sides_grow_with_them() -> None:
    for area in ("1", "40", "640"):
        assert (
            worth_of(walk=make_walk(), rate_per_1000_ac=Decimal(5), area_ac=Decimal(area)).answer
            == Answer.YES
        )


def test_a_walk_that_finds_nothing_never_pays() -> None:
    found = worth_of(
        walk=make_walk(found_share=Decimal(0)), rate_per_1000_ac=Decimal(900), area_ac=Decimal(40), passes=50
    )
    assert (found.answer, found.saved_all_cents, found.break_even_per_1000_ac) == (Answer.NO, 0, None)


def test_a_walk_that_costs_nothing_pays_only_where_there_is_something_to_save() -> None:
    free = make_walk(wage_cents_per_h=0)
    assert worth_of(walk=free, rate_per_1000_ac=Decimal(1), area_ac=Decimal(40)).answer == Answer.YES
    assert worth_of(walk=free, rate_per_1000_ac=Decimal(0), area_ac=Decimal(40)).answer == Answer.NO


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("found_share", Decimal("1.01")),
        ("found_share", Decimal("-0.1")),
        ("swath_ft", Decimal(0)),
        ("walk_mph", Decimal(0)),
        ("walk_mph", Decimal(11)),
        ("wage_cents_per_h", -1),
        ("puncture_cents", -1),
        ("lost_h", Decimal("NaN")),
        ("lost_cents_per_h", -1),
    ],
)
def test_numbers_that_make_no_sense_are_refused_by_name(name: str, value: Any) -> None:
    with pytest.raises(WorthError) as refused:
        make_walk(**{name: value})
    assert refused.value.name == name


@pytest.mark.parametrize(
    ("name", "value"),
    [("rate_per_1000_ac", Decimal(-1)), ("area_ac", Decimal(0)), ("passes", 0), ("passes", 51)],
)
def test_a_ground_that_makes_no_sense_is_refused_by_name(name: str, value: Any) -> None:
    facts: dict[str, Any] = {"rate_per_1000_ac": Decimal(1), "area_ac": Decimal(40), "passes": 1}
    with pytest.raises(WorthError) as refused:
        worth_of(walk=make_walk(), **{**facts, name: value})
    assert refused.value.name == name
