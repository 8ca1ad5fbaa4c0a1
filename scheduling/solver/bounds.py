"""A lower bound of the cost by parts: what each task costs at the least, alone or left, and each place's first trip.

Every relaxation here only drops rules: resources may be shared, other tasks stand wherever they like.
"""

from bisect import bisect_left, bisect_right

from scheduling.solver.board import Board, Way
from scheduling.solver.greedy import MUST_UNITS


def lower_bound(board: Board) -> int:
    """Return units that no plan can go below; at least MUST_UNITS when a task that must be done cannot be."""
    soonest = heads(board)
    trips = trips_of(board)
    total = 0
    shared: dict[int, int] = {}
    for job in board.jobs:
        left = MUST_UNITS if job.left_units is None else job.left_units
        done, arrival = MUST_UNITS, MUST_UNITS
        for way in job.ways:
            least = _least(way, soonest[job.number])
            if least is not None:
                own, together = trips[job.number][id(way)]
                done = min(done, least + own)
                arrival = min(arrival, together)
        least_cost = min(left, done)
        total += least_cost
        spare = left - least_cost
        way_in = 0 if arrival == MUST_UNITS else arrival
        # Somebody comes here for the first of the shared trips, unless all work at the place is left.
        shared[job.place] = max(shared.get(job.place, 0), min(way_in, spare))
    return total + sum(shared.values())


def trips_of(board: Board) -> list[dict[int, tuple[int, int]]]:
    """Return for each job, by the id of its way, the units of trips made for it alone and of those it may share.

    A resource that no other job at the place can use makes its cheapest trip there for this job; others may be there.
    """
    arrivals = _arrivals(board)
    users: dict[tuple[int, int], set[int]] = {}
    for job in board.jobs:
        for way in job.ways:
            for number in way.resources:
                users.setdefault((job.place, number), set()).add(job.number)
    found: list[dict[int, tuple[int, int]]] = []
    for job in board.jobs:
        pairs = {}
        for way in job.ways:
            own = together = 0
            for number in way.resources:
                if len(users[job.place, number]) == 1:
                    own += arrivals[number][job.place]
                else:
                    together += arrivals[number][job.place]
            pairs[id(way)] = (own, together)
        found.append(pairs)
    return found


def heads(board: Board) -> list[int]:
    """Return for each job the soonest start that the jobs it waits for allow, each at its own soonest end."""
    soonest = [0] * len(board.jobs)
    soonest_end = [board.horizon + 1] * len(board.jobs)
    for number in board.order:
        job = board.jobs[number]
        for ahead, least, _ in job.before:
            soonest[number] = max(soonest[number], soonest_end[ahead] + least)
        for way in job.ways:
            i = bisect_left(way.options.starts, soonest[number])
            if i < len(way.options.starts):
                soonest_end[number] = min(soonest_end[number], way.options.ends[i])
    return soonest


def tails(board: Board) -> list[int]:
    """Return for each job the latest start that it may have, by the gaps before it and the jobs that must follow."""
    latest = [0] * len(board.jobs)
    for number in board.order:
        job = board.jobs[number]
        latest[number] = max((way.options.starts[-1] for way in job.ways), default=-1)
        for ahead, _, most in job.before:
            if most is not None:
                last_end = max((_end_by(way, latest[ahead]) for way in board.jobs[ahead].ways), default=-1)
                latest[number] = min(latest[number], last_end + most)
    for number in reversed(board.order):
        job = board.jobs[number]
        for behind, least, _ in job.behind:
            if board.jobs[behind].left_units is None:
                by = latest[behind] - least
                last = max((_start_for(way, by) for way in job.ways), default=-1)
                latest[number] = min(latest[number], last)
    return latest


def _end_by(way: Way, latest: int) -> int:
    """Return the last end of a start up to `latest`, -1 when there is none."""
    i = bisect_right(way.options.starts, latest)
    return way.options.ends[i - 1] if i else -1


def _start_for(way: Way, by: int) -> int:
    """Return the last start that has its end by a minute, -1 when there is none."""
    i = bisect_right(way.options.ends, by)
    return way.options.starts[i - 1] if i else -1


def _least(way: Way, soonest: int) -> int | None:
    i = bisect_left(way.options.starts, soonest)
    if i == len(way.options.starts):
        return None
    return way.base_units + way.options.units[way.options.cheapest_from[i]]


def _arrivals(board: Board) -> list[list[int]]:
    """Return for each resource and place the units of its cheapest arrival there from anywhere it may be."""
    places = len(board.problem.places)
    found = []
    for number, road in enumerate(board.roads):
        row = [0] * places
        if road.minutes is not None and road.units_per_minute:
            stops = {road.home} | {
                job.place for job in board.jobs for way in job.ways if number in way.resources
            }
            for place in range(places):
                if place != road.home:
                    ways = [road.minutes[other][place] for other in stops if other != place]
                    row[place] = min(ways, default=0) * road.units_per_minute
        found.append(row)
    return found
