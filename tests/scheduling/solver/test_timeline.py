"""The fast timeline against counting minute by minute, and whole-number costs against fractions."""

from fractions import Fraction
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.solver.problem import OpenStretch, Stretch, WorkStretch
from scheduling.solver.timeline import UNITS_PER_CENT, Clock, Workable

HORIZON = 60


@st.composite
def cuts(draw: st.DrawFn) -> list[tuple[int, int]]:
    points = sorted(draw(st.sets(st.integers(0, HORIZON), max_size=8)))
    return list(zip(points[::2], points[1::2]))


@given(cuts(), st.integers(0, HORIZON), st.integers(0, 30))
@settings(max_examples=200, deadline=None)
def test_the_road_clock_counts_as_one_would_by_hand(
    pairs: list[tuple[int, int]], minute: int, needed: int
) -> None:
    clock = Clock([Stretch(a, b) for a, b in pairs], HORIZON)
    on = [any(a <= m < b for a, b in pairs) for m in range(HORIZON)]
    assert clock.before(minute) == sum(on[:minute])
    assert clock.always is all(on)
    soonest = next((m for m in range(minute, HORIZON + 1) if sum(on[minute:m]) >= needed), None)
    assert clock.reach(minute, needed) == soonest
    latest = next((m for m in range(minute, -1, -1) if sum(on[m:minute]) >= needed), None)
    assert clock.leave_by(minute, needed) == latest


@given(cuts(), cuts(), cuts(), st.integers(1, 25), st.integers(1, 7), st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_ends_and_costs_are_those_of_walking_minute_by_minute(
    opens: list[tuple[int, int]],
    one: list[tuple[int, int]],
    other: list[tuple[int, int]],
    minutes: int,
    step: int,
    rng: Random,
) -> None:
    open_stretches = [OpenStretch(a, b, rng.randrange(10_001)) for a, b in opens]
    calendars = [[WorkStretch(a, b, rng.randrange(2_000)) for a, b in pairs] for pairs in (one, other)]
    late = rng.randrange(5_000)
    workable = Workable(open_stretches, calendars, late)
    starts, ends, units = workable.run(workable.grid(step, 3, 50), minutes)
    found = {int(s): (int(e), Fraction(int(u), UNITS_PER_CENT)) for s, e, u in zip(starts, ends, units)}
    expected = {}
    lists: list[list[Stretch]] = [list(open_stretches), *(list[Stretch](calendar) for calendar in calendars)]

    def works(minute: int) -> bool:
        return all(any(s.start <= minute < s.end for s in stretches) for stretches in lists)

    for start in range(0, 51, step):
        if start < 3 or not works(start):
            continue
        worked = [minute for minute in range(start, HORIZON) if works(minute)][:minutes]
        if len(worked) < minutes:
            continue
        cents = Fraction(0)
        for minute in worked:
            chance = next(s.chance_e4 for s in open_stretches if s.start <= minute < s.end)
            cents += (1 - Fraction(chance, 10_000)) * late / 60
            for calendar in calendars:
                extra = next(s.extra_cents_per_hour for s in calendar if s.start <= minute < s.end)
                cents += Fraction(extra, 60)
        expected[start] = (worked[-1] + 1, cents)
    assert found == expected
    mask = workable.mask(HORIZON)
    assert [bool(on) for on in mask] == [works(minute) for minute in range(HORIZON)]


@pytest.mark.parametrize(("start", "end"), [(0, 7), (4, 9), (6, 13)])
def test_a_start_outside_the_workable_minutes_works_from_the_next_one(start: int, end: int) -> None:
    # Workable 2-4, 5-9 and 11-20; five minutes of work from 0 are 2, 3, 5, 6 and 7 ... told by hand.
    workable = Workable([OpenStretch(2, 4), OpenStretch(5, 9), OpenStretch(11, 20)], [], 0)
    minutes = {0: 4, 4: 4, 6: 5}[start]
    _, ends, _ = workable.run(np.array([start], dtype=np.int64), minutes)
    assert ends.tolist() == [end]
