"""A board seen by classes of alike resources: what the exact model and the networks of routes have in common."""

from dataclasses import dataclass, field

from scheduling.solver.board import Board, Job, Way
from scheduling.solver.symmetry import classes_of


@dataclass(slots=True)
class Layout:
    """The classes of alike resources of a board, and the choices and runs of each job by them."""

    board: Board
    classes: list[list[int]] = field(default_factory=list)
    class_no: list[int] = field(default_factory=list)
    clocks: list[list[int]] = field(default_factory=list)  # by job: a resource for each road clock it meets

    def __post_init__(self) -> None:
        self.classes = classes_of(self.board)
        self.class_no = [0] * len(self.board.roads)
        for number, members in enumerate(self.classes):
            for member in members:
                self.class_no[member] = number
        for job in self.board.jobs:
            self.clocks.append(self._clocks_of(job))

    def _clocks_of(self, job: Job) -> list[int]:
        found: dict[int, int] = {}
        for number in sorted({number for way in job.ways for number in way.resources}):
            if not self.board.always_on_road[number] and has_row(self.board, number):
                found.setdefault(id(self.board.roads[number].clock), number)
        return list(found.values())

    def key(self, way: Way) -> tuple[tuple[int, ...], int, int, int]:
        """Return what ways that differ only by alike resources have in common."""
        members = tuple(sorted(self.class_no[number] for number in way.resources))
        return members, way.setup, way.base_units, id(way.options)


def has_row(board: Board, number: int) -> bool:
    """Whether a resource has ways or changes to make between its tasks."""
    road = board.roads[number]
    if road.changes:
        return True
    if road.minutes is None:
        return False
    stops = {road.home} | {job.place for job in board.jobs for way in job.ways if number in way.resources}
    return any(road.minutes[a][b] for a in stops for b in stops)


def all_ahead(board: Board) -> list[set[int]]:
    """Return for each job all jobs that must have ended before it starts."""
    found: list[set[int]] = [set() for _ in board.jobs]
    for number in board.order:
        for ahead, _, _ in board.jobs[number].before:
            found[number] |= {ahead} | found[ahead]
    return found
