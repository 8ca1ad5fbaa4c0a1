"""One resource's tasks in a row, and the gaps where another would fit.

A line never changes: putting in or taking out gives a new one, so the search keeps an old plan by keeping its lines.
"""

from dataclasses import dataclass

from scheduling.solver.board import Road

Gap = tuple[int, int, int]  # soonest start, latest end, units on top for trips and changes


@dataclass(slots=True)
class Stop:
    """A task in a row: its job, hold, place and the setup it brings (-1: it leaves the setup as it was)."""

    job: int
    start: int
    end: int
    place: int
    setup: int


class Line:
    """The row of one resource, sorted by time."""

    __slots__ = ("_gaps", "horizon", "legs", "road", "states", "stops", "units")

    def __init__(self, road: Road, horizon: int, stops: tuple[Stop, ...] = ()) -> None:
        self.road, self.horizon, self.stops = road, horizon, stops
        self._gaps: dict[tuple[int, int], list[Gap]] = {}
        self.states: list[int] = []  # the setup that stands before each stop
        self.legs: list[int] = []  # units of the way and change before each stop
        state, place = road.setup_now, road.home
        for stop in stops:
            self.states.append(state)
            minutes = road.minutes[place][stop.place] if road.minutes is not None else 0
            units = minutes * road.units_per_minute
            if stop.setup >= 0:
                if 0 <= state != stop.setup:
                    units += road.change_units
                state = stop.setup
            self.legs.append(units)
            place = stop.place
        self.states.append(state)
        self.units = sum(self.legs)

    def with_stop(self, stop: Stop) -> "Line":
        at = 0
        for at, other in enumerate(self.stops):  # noqa: B007
            if other.start >= stop.start:
                break
        else:
            at = len(self.stops)
        return Line(self.road, self.horizon, (*self.stops[:at], stop, *self.stops[at:]))

    def without(self, job: int) -> "Line":
        return Line(self.road, self.horizon, tuple(stop for stop in self.stops if stop.job != job))

    def needed(self, index: int) -> int:
        """Return the minutes that must fit before the stop of this index."""
        road, stop = self.road, self.stops[index]
        minutes = 0
        if road.minutes is not None:
            place = self.stops[index - 1].place if index else road.home
            minutes = road.minutes[place][stop.place]
        if stop.setup >= 0 and 0 <= self.states[index] != stop.setup:
            minutes += road.change_minutes
        return minutes

    def broken_at(self) -> int | None:
        """Return the first stop whose trip or change does not fit before it, or None."""
        free_at = 0
        for index, stop in enumerate(self.stops):
            if stop.start < free_at:
                return index
            needed = self.needed(index)
            if needed:
                clock = self.road.clock
                if clock.before(stop.start) - clock.before(free_at) < needed:
                    return index
            free_at = stop.end
        return None

    @property
    def can_break(self) -> bool:
        """Whether taking out a stop could break the row: roads with short cuts, or setups carried along."""
        road = self.road
        return not road.metric or (road.changes and any(stop.setup < 0 for stop in self.stops))

    def gaps(self, place: int, setup: int) -> list[Gap]:
        """Return the gaps in which a task at this place with this setup fits, in order of time."""
        road = self.road
        key = (place if road.minutes is not None else 0, setup if road.changes else -1)
        found = self._gaps.get(key)
        if found is None:
            found = self._gaps[key] = self._find_gaps(key[0], key[1])
        return found

    def _find_gaps(self, place: int, setup: int) -> list[Gap]:
        road, stops, horizon, states = self.road, self.stops, self.horizon, self.states
        table, per_minute, clock, legs = road.minutes, road.units_per_minute, road.clock, self.legs
        change_minutes, change_units = road.change_minutes, road.change_units
        from_here = table[place] if table is not None else None
        found: list[Gap] = []
        here, free_at = road.home, 0
        low: int | None
        high: int | None
        for index, stop in enumerate(stops):
            start = stop.start
            if free_at < start:
                state = states[index]
                need_in = table[here][place] if table is not None else 0
                units = need_in * per_minute
                if 0 <= setup != state >= 0:
                    need_in += change_minutes
                    units += change_units
                low = clock.reach(free_at, need_in) if need_in else free_at
                if low is not None and low < start:
                    after = setup if setup >= 0 else state
                    need_out = from_here[stop.place] if from_here is not None else 0
                    units += need_out * per_minute - legs[index]
                    fits = True
                    if stop.setup >= 0:
                        if 0 <= after != stop.setup:
                            need_out += change_minutes
                            units += change_units
                    elif 0 <= setup != state:
                        carried = self._carry(index, setup)
                        fits, units = carried is not None, units + (carried or 0)
                    high = clock.leave_by(start, need_out) if need_out else start
                    if fits and high is not None and low < high:
                        found.append((low, high, units))
            here, free_at = stop.place, stop.end
        if free_at < horizon:
            state = states[len(stops)]
            need_in = table[here][place] if table is not None else 0
            units = need_in * per_minute
            if 0 <= setup != state >= 0:
                need_in += change_minutes
                units += change_units
            low = clock.reach(free_at, need_in) if need_in else free_at
            if low is not None and low < horizon:
                found.append((low, horizon, units))
        return found

    def _carry(self, index: int, setup: int) -> int | None:
        """Return what a new setup before `index` adds at the next stop that brings its own; None: no room."""
        for later in range(index + 1, len(self.stops)):
            stop = self.stops[later]
            if stop.setup < 0:
                continue
            was, now = 0 <= self.states[later] != stop.setup, setup != stop.setup
            if was == now:
                return 0
            if was:
                return -self.road.change_units
            before, clock = self.stops[later - 1], self.road.clock
            room = clock.before(stop.start) - clock.before(before.end)
            return self.road.change_units if room >= self.needed(later) + self.road.change_minutes else None
        return 0
