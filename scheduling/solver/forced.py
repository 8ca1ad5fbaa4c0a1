"""Whether a task could stay where an older plan had it: by itself, and beside what is fixed or under way."""

from bisect import bisect_left
from dataclasses import dataclass

from scheduling.solver.board import Job
from scheduling.solver.choices import place_of
from scheduling.solver.explain import lasting
from scheduling.solver.line import Stop
from scheduling.solver.problem import Mode, Stretch
from scheduling.solver.schedule import Place, Schedule
from scheduling.solver.telling import Teller

NEVER = 10**9


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule of the problem that the old place breaks, in words, and the id of what is in the way."""

    rule: str
    says: str
    blocker: str | None = None


class Staying:
    """What hinders old places in a problem, given where the fixed and under-way tasks of its plan stand."""

    def __init__(self, schedule: Schedule, teller: Teller) -> None:
        self.schedule, self.board, self.teller = schedule, schedule.board, teller
        self.pins = Schedule(self.board, 0)
        for job, place in zip(self.board.jobs, schedule.places):
            if job.pinned and place is not None:
                self.pins.put(job.number, place)
        self.soonest = self._soonest_ends()

    def _soonest_ends(self) -> list[tuple[int, int]]:
        """Return the soonest (start, end) that each job could have, its outfits being free; NEVER for none."""
        found = [(NEVER, NEVER)] * len(self.board.jobs)
        for number in self.board.order:
            job, pin = self.board.jobs[number], self.pins.places[number]
            if pin is not None:
                found[number] = (pin.start, pin.end)
                continue
            low = max((found[ahead][1] + least for ahead, least, _ in job.before), default=0)
            starts, ends = [NEVER], [NEVER]
            for way in job.ways:
                at = bisect_left(way.options.starts, low)
                if at < len(way.options.starts):
                    starts.append(way.options.starts[at])
                    ends.append(way.options.ends[at])
            found[number] = (min(starts), min(ends))
        return found

    def broken(self, number: int, mode_id: str, start: int) -> Broken | None:
        """Return why the job cannot stand in this mode from this minute, or None when nothing pinned hinders it."""
        job = self.board.jobs[number]
        task, name, at = job.task, self.teller.name, self.teller.at
        if task.under_way is not None:
            return Broken("under_way", f"It is under way in {name(task.under_way.mode)}.")
        if task.fixed is not None and (task.fixed.mode, task.fixed.start) != (mode_id, start):
            return Broken("fixed", f"It is now fixed to {name(task.fixed.mode)}.")
        mode = task.mode(mode_id)
        if mode is None:
            return Broken("modes", f"{name(mode_id)} is no longer among its outfits.")
        if start < 0:
            return Broken("horizon", f"Its hour, {at(start)}, has passed, and it is not done.")
        place = place_of(job, mode_id, start)
        if place is None:
            return self._alone(job, mode, start)
        return self._beside_pins(job, place) or self._in_turn(job, place)

    def _alone(self, job: Job, mode: Mode, start: int) -> Broken:
        task, board, teller = job.task, self.board, self.teller
        when = teller.at(start)
        if start >= board.horizon:
            return Broken("horizon", f"{when} is past the days that are planned now.")
        if not _holds(task.open, start):
            return Broken("open", f"It is shut {when}.")
        for resource in mode.resources:
            if not _holds(board.problem.resource_of[resource].calendar, start):
                return Broken("calendar", f"{teller.name(resource)} is not at work {when}.", resource)
        if start < task.earliest:
            return Broken("earliest", f"It may not start before {teller.at(task.earliest)}.")
        if task.latest is not None and start > task.latest:
            return Broken("latest", f"It may start no later than {teller.at(task.latest)}.")
        if start % board.problem.step and task.fixed is None:
            return Broken("step", f"{when} is between the steps of the new plan.")
        if task.hold_limit is not None:
            says = f"Started {when}, it would not be over within its {lasting(task.hold_limit)}, or in time."
            return Broken("hold_limit", says)
        return Broken("horizon", f"Started {when}, it would not be over in the days that are planned.")

    def _beside_pins(self, job: Job, place: Place) -> Broken | None:
        for resource in place.way.resources:
            line = self.pins.lines[resource].without(job.number)
            stop = Stop(job.number, place.start, place.end, place.way.place, place.way.setup)
            tried = line.with_stop(stop)
            at = tried.broken_at()
            if at is None:
                continue
            name = self.board.problem.resources[resource].id
            other = (
                tried.stops[at] if tried.stops[at].job != job.number else tried.stops[at - 1] if at else None
            )
            if other is None:
                says = f"{self.teller.name(name)} cannot be there by {self.teller.at(place.start)}."
                return Broken("road_minutes", says, name)
            blocker = self.board.jobs[other.job].task.id
            says = f"{self.teller.name(name)} is held by {self.teller.name(blocker)}, which is fixed or under way."
            return Broken("resources", says, blocker)
        return None

    def _in_turn(self, job: Job, place: Place) -> Broken | None:
        name, at, jobs = self.teller.name, self.teller.at, self.board.jobs
        for ahead, least, most in job.before:
            end, other = self.soonest[ahead][1], jobs[ahead].task.id
            if end >= NEVER:
                return Broken("after", f"It waits for {name(other)}, which can no longer be done.", other)
            if end + least > place.start:
                wait = f", and {lasting(least)} must pass" if least else ""
                return Broken(
                    "after", f"It waits for {name(other)}, which cannot end before {at(end)}{wait}.", other
                )
            pin = self.pins.places[ahead]
            if pin is not None and most is not None and place.start > pin.end + most:
                says = f"It must start within {lasting(most)} of the end of {name(other)}, {at(pin.end)}."
                return Broken("after", says, other)
        for behind, least, most in job.behind:
            pin, other = self.pins.places[behind], jobs[behind].task.id
            if pin is not None and place.end + least > pin.start:
                return Broken("after", f"{name(other)} waits for it, and is fixed to {at(pin.start)}.", other)
            start = self.soonest[behind][0]
            if most is not None and start > place.end + most and self.schedule.places[behind] is not None:
                says = f"{name(other)} must start within {lasting(most)} of its end, and cannot before {at(start)}."
                return Broken("after", says, other)
        return None


def _holds(stretches: tuple[Stretch, ...], minute: int) -> bool:
    return any(stretch.start <= minute < stretch.end for stretch in stretches)


def clashing(schedule: Schedule, members: set[int]) -> set[int]:
    """Return the jobs on both sides of each trip or wait of these jobs that does not hold; empty when all hold.

    A job that one of them waits for and that is left is in the way as well.
    """
    found = set[int]()
    resources = {r for m in members if (place := schedule.places[m]) is not None for r in place.way.resources}
    for resource in resources:
        line = schedule.lines[resource]
        at = line.broken_at()
        if at is not None:
            found |= {line.stops[i].job for i in (at - 1, at) if i >= 0}
    for member in members:
        place, job = schedule.places[member], schedule.board.jobs[member]
        if place is not None:
            found |= {ahead for ahead, *gap in job.before if not _keeps(schedule.places[ahead], place, *gap)}
        found |= {
            behind
            for behind, *gap in job.behind
            if (other := schedule.places[behind]) is not None and not _keeps(place, other, *gap)
        }
    return found


def _keeps(first: Place | None, then: Place, least: int | None, most: int | None) -> bool:
    if first is None or least is None:
        return False
    gap = then.start - first.end
    return gap >= least and (most is None or gap <= most)
