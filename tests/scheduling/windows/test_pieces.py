"""Open hours in few pieces: nothing that can be expected is lost, no shut minute is bridged."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.windows.pieces import MOST_APART, in_pieces
from scheduling.windows.report import OpenStretch


def expected_min(stretches: list[OpenStretch]) -> float:
    return sum((one.to_min - one.from_min) * one.chance for one in stretches)


def minutes(stretches: list[OpenStretch]) -> set[int]:
    return {minute for one in stretches for minute in range(one.from_min, one.to_min)}


def test_neighbors_that_differ_little_become_one_with_the_mean_chance_of_their_minutes() -> None:
    """Worked by hand: (60 x .90 + 120 x .96) / 180 = .94; .80 lies more than .08 below .90 and stays apart."""
    hours = [OpenStretch(420, 480, 0.90), OpenStretch(480, 600, 0.96), OpenStretch(600, 660, 0.80)]
    assert in_pieces(hours) == [OpenStretch(420, 600, 0.94), OpenStretch(600, 660, 0.80)]


def test_a_slow_slide_is_cut_where_its_ends_lie_too_far_apart() -> None:
    slide = [OpenStretch(60 * n, 60 * n + 60, 1 - n / 20) for n in range(8)]
    assert [(one.from_min, one.to_min) for one in in_pieces(slide)] == [
        (0, 120),
        (120, 240),
        (240, 360),
        (360, 480),
    ]


def test_a_shut_minute_is_never_bridged() -> None:
    apart = [OpenStretch(0, 59, 0.9), OpenStretch(60, 120, 0.9)]
    assert in_pieces(apart) == apart


def test_pieces_meet_on_whole_hours_however_the_chance_was_cut() -> None:
    """A chance that changes at 7:20 holds its mean until 8: (20 x .5 + 40 x 1) / 60 = .8333."""
    cut = [OpenStretch(360, 440, 0.5), OpenStretch(440, 600, 1.0)]
    assert in_pieces(cut) == [
        OpenStretch(360, 420, 0.5),
        OpenStretch(420, 480, 0.8333),
        OpenStretch(480, 600, 1.0),
    ]


def test_stretches_that_overlap_or_a_negative_distance_are_refused() -> None:
    with pytest.raises(ValueError, match="begins at 50, before 60"):
        in_pieces([OpenStretch(0, 60, 0.9), OpenStretch(50, 90, 0.9)])
    with pytest.raises(ValueError, match="must be 0 or more"):
        in_pieces([], most_apart=-0.1)


@st.composite
def open_hours(draw: st.DrawFn) -> list[OpenStretch]:
    at, found = draw(st.integers(0, 200)), []
    for _ in range(draw(st.integers(0, 14))):
        at += draw(st.sampled_from((0, 0, 0, 1, 37, 60)))
        length = draw(st.sampled_from((1, 20, 60, 60, 60, 95, 240)))
        found.append(OpenStretch(at, at + length, draw(st.integers(0, 10_000)) / 10_000))
        at += length
    return found


@given(open_hours(), st.sampled_from((0.0, MOST_APART, 0.3, 1.0)))
def test_the_same_minutes_are_open_and_as_many_of_them_are_expected(
    hours: list[OpenStretch], most_apart: float
) -> None:
    pieces = in_pieces(hours, most_apart=most_apart)
    assert minutes(pieces) == minutes(hours)
    assert all(before.to_min <= after.from_min for before, after in pairwise(pieces))
    assert abs(expected_min(pieces) - expected_min(hours)) <= 0.00005 * len(minutes(hours)) + 1e-6
    edges = {one.from_min for one in hours} | {one.to_min for one in hours}
    run_edges = {minute for minute in edges if (minute in minutes(hours)) != (minute - 1 in minutes(hours))}
    assert all(one.from_min % 60 == 0 or one.from_min in run_edges for one in pieces)


@given(open_hours())
def test_the_more_chances_may_lie_apart_the_fewer_pieces_there_are(
    hours: list[OpenStretch],
) -> None:
    counts = [len(in_pieces(hours, most_apart=apart)) for apart in (0.0, MOST_APART, 0.3, 1.0)]
    assert counts == sorted(counts, reverse=True)
