"""The gaps of a row against putting the task in and walking the row."""

from random import Random

from scheduling.solver.board import Road
from scheduling.solver.line import Line, Stop
from scheduling.solver.problem import Stretch
from scheduling.solver.timeline import Clock

HORIZON = 40


def _road(rng: Random) -> Road:
    edges = sorted(rng.sample(range(HORIZON + 1), 4))
    stretches = [Stretch(*edges[:2]), Stretch(*edges[2:])] if rng.random() < 0.6 else [Stretch(0, HORIZON)]
    table = [[0 if a == b else rng.randint(0, 5) for b in range(3)] for a in range(3)]
    return Road(
        clock=Clock(stretches, HORIZON),
        minutes=table if rng.random() < 0.7 else None,
        units_per_minute=rng.choice([0, 7]),
        change_minutes=rng.choice([0, 2, 4]),
        change_units=rng.choice([0, 100]),
        home=0,
        setup_now=rng.choice([-1, 0, 1]),
        metric=False,
    )


def _stop(rng: Random, job: int) -> Stop:
    start = rng.randrange(HORIZON - 1)
    end = rng.randint(start + 1, min(HORIZON, start + 8))
    return Stop(job, start, end, rng.randrange(3), rng.choice([-1, -1, 0, 1]))


def _row(rng: Random) -> Line:
    line = Line(_road(rng), HORIZON)
    for job in range(rng.randint(0, 7)):
        longer = line.with_stop(_stop(rng, job))
        if longer.broken_at() is None:
            line = longer
    return line


def test_a_gap_is_where_putting_in_breaks_nothing_and_says_what_it_costs() -> None:
    inside = outside = carried = 0
    for seed in range(400):
        rng = Random(seed)
        line = _row(rng)
        for _ in range(60):
            stop = _stop(rng, 99)
            fitting = [
                gap
                for gap in line.gaps(stop.place, stop.setup)
                if gap[0] <= stop.start and stop.end <= gap[1]
            ]
            longer = line.with_stop(stop)
            assert len(fitting) <= 1
            assert bool(fitting) == (longer.broken_at() is None), (seed, stop)
            if fitting:
                assert fitting[0][2] == longer.units - line.units, (seed, stop)
                inside += 1
                ahead = next((other for other in line.stops if other.start >= stop.end), None)
                carried += stop.setup >= 0 and ahead is not None and ahead.setup < 0
            else:
                outside += 1
    assert inside > 2000
    assert outside > 2000
    assert carried > 100


def test_taking_out_undoes_putting_in() -> None:
    for seed in range(50):
        rng = Random(seed)
        line = _row(rng)
        again = line.with_stop(_stop(rng, 99)).without(99)
        assert (again.stops, again.units) == (line.stops, line.units)
