"""Resources that are alike in all things: which of two such hands goes is told apart only afterwards.

Two resources are alike when they get about alike and each way of a job with the one has a twin with the other. Plans
that differ only by a swap of them cost the same, so the exact model and the bounds look at the class as a whole.
"""

from collections import Counter

from scheduling.solver.board import Board, Job, Road, Way


def classes_of(board: Board) -> list[list[int]]:
    """Return the resources in classes of alike ones, each in ascending order; most classes have one member."""
    found: dict[tuple[object, ...], list[list[int]]] = {}
    ways_with = _ways_with(board)
    for number, road in enumerate(board.roads):
        # What alike resources must have in common whatever the twins: it keeps the pairs to compare few.
        key = (_way_about(road), tuple(sorted(ways_with[number].items())))
        groups = found.setdefault(key, [])
        mine = next((group for group in groups if _are_alike(board, group[0], number)), None)
        if mine is None:
            groups.append([number])
        else:
            mine.append(number)
    return sorted(group for groups in found.values() for group in groups)


def mirrored_pairs(board: Board) -> list[tuple[int, int]]:
    """Return pairs of resources that can change places when their setups do as well, as two machines with setups of
    their own; no resource is in two pairs. Every plan has a twin of the same cost with the two the other way round.
    """
    setups: list[set[int]] = [set() for _ in board.roads]
    for job in board.jobs:
        for way in job.ways:
            for number in way.resources:
                setups[number].add(way.setup)
    at_first = {road.setup_now for road in board.roads}
    found: list[tuple[int, int]] = []
    taken: set[int] = set()
    for one, road in enumerate(board.roads):
        for other in range(one + 1, len(board.roads)):
            if taken & {one, other} or _way_about(road) != _way_about(board.roads[other]):
                continue
            mine, its = setups[one] - setups[other], setups[other] - setups[one]
            if len(mine) != 1 or len(its) != 1 or (mine | its) & at_first or -1 in mine | its:
                continue
            turned = {one: other, other: one}
            setup_turned = dict(zip((*mine, *its), (*its, *mine)))
            if all(_is_mirrored(job, turned, setup_turned) for job in board.jobs):
                found.append((one, other))
                taken |= {one, other}
    return found


def _is_mirrored(job: Job, turned: dict[int, int], setup_turned: dict[int, int]) -> bool:
    def told(way: Way, *, is_turned: bool) -> tuple[object, ...]:
        names = (turned.get(number, number) if is_turned else number for number in way.resources)
        setup = setup_turned.get(way.setup, way.setup) if is_turned else way.setup
        return tuple(sorted(names)), setup, way.base_units, id(way.options)

    as_it_is = Counter(told(way, is_turned=False) for way in job.ways)
    return as_it_is == Counter(told(way, is_turned=True) for way in job.ways)


def _ways_with(board: Board) -> list[Counter[tuple[int, ...]]]:
    found: list[Counter[tuple[int, ...]]] = [Counter() for _ in board.roads]
    for job in board.jobs:
        for way in job.ways:
            for number in way.resources:
                found[number][(job.number, *_rest(way))] += 1
    return found


def _rest(way: Way) -> tuple[int, int, int]:
    return way.setup, way.base_units, id(way.options)


def _are_alike(board: Board, one: int, other: int) -> bool:
    return all(_has_twins(job, one, other) for job in board.jobs)


def _way_about(road: Road) -> tuple[object, ...]:
    return (
        id(road.clock), id(road.minutes), road.units_per_minute, road.change_minutes, road.change_units,
        road.home, road.setup_now,
    )  # fmt: skip


def _has_twins(job: Job, one: int, other: int) -> bool:
    with_one: Counter[tuple[object, ...]] = Counter()
    with_other: Counter[tuple[object, ...]] = Counter()
    for way in job.ways:
        has_one, has_other = one in way.resources, other in way.resources
        if has_one != has_other:
            rest = tuple(number for number in way.resources if number not in (one, other))
            (with_one if has_one else with_other)[(rest, *_rest(way))] += 1
    return with_one == with_other
