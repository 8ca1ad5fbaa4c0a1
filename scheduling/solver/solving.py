"""From a problem to a checked plan: construct, search, prove where that is in reach."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from random import Random
from threading import Event
from time import monotonic

from scheduling.solver import compiled, cost, explain, greedy
from scheduling.solver.board import Board
from scheduling.solver.bounds import lower_bound
from scheduling.solver.check import check
from scheduling.solver.clashes import clashing_rules
from scheduling.solver.cpsat import is_in_reach
from scheduling.solver.plan import Clash, LeftTask, PlacedTask, Plan
from scheduling.solver.problem import Problem
from scheduling.solver.proving import prove, sharper_prices
from scheduling.solver.schedule import Schedule
from scheduling.solver.search import (
    BEFORE_PROOF_LEGS,
    IN_PARTS_FROM_JOBS,
    LATER_LEGS,
    LEGS,
    MENDING_LEGS,
    WARM_LEGS,
    Legs,
    Search,
)
from scheduling.solver.standing import restrict, variants
from scheduling.solver.starting import schedule_from
from scheduling.solver.tries import Try, cooler

Progress = Callable[[int | None, int | None], None]
FIRST_SHARE, FIRST_SECONDS, SECONDS_A_TASK = 0.25, 1.0, 0.03
EXACT_SHARE = 0.93
UNSURE_SHARE = 0.3
MOST_SPARE_SHARE = 0.3
MOST_WAYS_TO_PROVE = 2_500
BOUND_S_A_TASK = 0.003
# Below so many tasks times seconds the compiled kernel is not worth loading.
FEW_TASK_SECONDS = 20
FEW_TASKS, PROOF_TASK_SECONDS = 25, 400
BOUND_SHARE, PRICES_SHARE, BEFORE_PRICES_SHARE = 0.12, 0.2, 0.02
FEWEST_ROUNDS_BY_PRICES = 20_000
BEFORE_BOUND_SHARE = 0.8
NOT_FOUND = Clash(
    None,
    "seconds",
    "No plan that keeps every rule was found in the time given; that there is none is not proved.",
)
# Deterministic work per second of the limit; one unit takes about a second, or a few on a slow core.
WORK_SHARE = 0.4


class SolverFault(RuntimeError):
    """The solver made a plan that its own independent check refuses: a fault of this program."""


def checked(problem: Problem, plan: Plan) -> Plan:
    """Return the plan if the independent check finds nothing, else raise SolverFault."""
    found = check(problem, plan).violations
    if found:
        raise SolverFault("; ".join(f"{v.rule}: {v.says}" for v in found[:5]))
    return plan


def as_plan(schedule: Schedule, *, is_proved: bool, bound_units: int, seconds: float) -> Plan:
    """Return a schedule that leaves nothing undone that must be done as a week plan."""
    total = cost.cents(schedule.units)
    pairs = list(zip(schedule.board.jobs, schedule.places))
    placed = [
        PlacedTask(job.task.id, place.way.mode.id, place.start, place.end)
        for job, place in pairs
        if place is not None
    ]
    left = [LeftTask(job.task.id, explain.why_left(schedule, job)) for job, place in pairs if place is None]
    return Plan(
        status="best" if is_proved else "good",
        cost=total,
        bound=total if is_proved else min(cost.cents_below(bound_units), total),
        seconds=seconds,
        cost_parts={key: cost.cents(units) for key, units in cost.parts(schedule).items()},
        tasks=tuple(sorted(placed, key=lambda p: (p.start, p.end, p.id))),
        left=tuple(left),
    )


def solve(
    problem: Problem,
    *,
    seconds: float,
    seed: int = 1,
    workers: int = 1,
    rounds: int | None = None,
    progress: Progress | None = None,
    start: Plan | None = None,
    stop: Callable[[], bool] | None = None,
) -> Plan:
    """Return the cheapest plan found, checked by code of its own; status none when no plan keeps every rule.

    `seconds` (above 0) limits the wall time. With `rounds` (1 or more) no clock decides anything: so many rounds of
    search are done, proofs are limited by deterministic work, and the same call gives the same plan. `workers` search and
    prove side by side. `progress` is told (incumbent cents or None, bound cents or None) now and then.
    `start` is a plan of this or a like problem to begin from: what of it no longer fits is dropped, and the outcome is
    never dearer than a start that is valid. `stop` is asked now and then; once it says yes, the best plan so far is it.
    ValueError for a limit that is not positive; SolverFault if the plan fails its check.
    """
    if not 0 < seconds < 10**7:
        raise ValueError(f"seconds must be above 0, not {seconds}")
    if workers < 1 or (rounds is not None and rounds < 1):
        raise ValueError("workers and rounds must be at least 1")
    return _Solving(problem, seconds, seed, workers, rounds, progress, start, stop).run()


def _is_complete(schedule: Schedule) -> bool:
    """Whether a schedule keeps every rule and does every job that must be done."""
    return schedule.is_sound() and schedule.units < greedy.MUST_UNITS


def _may_be_in_reach(board: Board) -> bool:
    """Whether the exact model may be small enough; to ask the model itself takes long for a large board."""
    return sum(len(job.ways) for job in board.jobs) <= MOST_WAYS_TO_PROVE and is_in_reach(board)


class _Solving:
    def __init__(
        self,
        problem: Problem,
        seconds: float,
        seed: int,
        workers: int,
        rounds: int | None,
        progress: Progress | None,
        start: Plan | None,
        stop: Callable[[], bool] | None,
    ) -> None:
        self.began = monotonic()
        self.problem, self.seconds, self.seed = problem, seconds, seed
        self.workers, self.rounds, self.progress = workers, rounds, progress
        self.start, self.stop = start, stop
        self.told_at = -1.0
        self.spare = 0.0
        self.by_prices = False
        self.why: list[Clash] | None = None

    def run(self) -> Plan:
        few = len(self.problem.tasks) <= FEW_TASKS
        if not few:
            self._load(FEW_TASK_SECONDS)
        base = Board(self.problem)
        self.tries = [self._try(restrict(base, variant)) for variant in variants(base)]
        if few:
            # Where the proof is in reach, loading the kernel would only take a core away from it.
            can_prove = all(_may_be_in_reach(one.board) for one in self.tries)
            self._load(PROOF_TASK_SECONDS if can_prove else FEW_TASK_SECONDS)
        self._measure()
        self._tell(now=True)
        try:
            self._improve()
        except KeyboardInterrupt:
            # Whoever interrupts gets the best plan so far, if there is one.
            if not any(one.search.is_complete for one in self.tries):
                raise
        return self._finish()

    def _load(self, most_task_seconds: int) -> None:
        """Have the compiled kernel loaded where tasks times seconds are more than so many."""
        if self.rounds is None and len(self.problem.tasks) * self.seconds > most_task_seconds:
            compiled.begin()

    def _improve(self) -> None:
        whole = self.seconds - self.spare
        can_prove = [one for one in self.tries if not one.is_settled and _may_be_in_reach(one.board)]
        if can_prove:
            first = min(whole * FIRST_SHARE, FIRST_SECONDS, SECONDS_A_TASK * len(self.problem.tasks))
            self._search(
                self.began + first, self.rounds, LEGS if self.rounds is not None else BEFORE_PROOF_LEGS
            )
            self._prove(can_prove, self.began + whole * EXACT_SHARE)
            if not all(one.is_settled for one in self.tries) and self.rounds is None:
                self._search(self.began + whole, None, LATER_LEGS)
            return
        if not any(one.is_settled or one.search.is_complete for one in self.tries):
            # Not even a plan that does what must be done: after a while, ask whether there can be one.
            some = None if self.rounds is None else -(-self.rounds * 3 // 10)
            self._search(self.began + whole * UNSURE_SHARE, some, LATER_LEGS)
            if not any(one.search.is_complete for one in self.tries):
                seconds = None if self.rounds is not None else whole * UNSURE_SHARE
                if self._stopped():
                    return
                self.why = clashing_rules(self.problem, is_sure=False, seconds=seconds, seed=self.seed)
                if self.why is not None:
                    return
        self.by_prices = self._may_go_by_prices()
        if self.by_prices:
            if self.rounds is not None or self.workers == 1:
                few = None if self.rounds is None else round(self.rounds * BEFORE_PRICES_SHARE)
                self._search(self.began + whole * BEFORE_PRICES_SHARE, few, LATER_LEGS)
                self._tighten()
                self._search(self.began + whole, self.rounds, LEGS)
            else:
                self._search_and_tighten(self.began + whole, LEGS)
            return
        if self.rounds is not None:
            self._search(self.began + whole, self.rounds, LEGS)
            self._tighten()
            return
        self._search(self.began + whole * BEFORE_BOUND_SHARE, None, WARM_LEGS)
        if self.workers > 1:
            self._search_and_tighten(self.began + whole, MENDING_LEGS)
        else:
            self._tighten()
            self._search(self.began + whole, None, MENDING_LEGS)

    def _may_go_by_prices(self) -> bool:
        """Whether bounds are worked out first, for the search to go by their prices: where each worker has a new plan.

        They want one that does what must be done, and as much search after them as makes up for their time.
        """
        few = self.rounds is not None and self.rounds < FEWEST_ROUNDS_BY_PRICES
        return not few and all(
            one.is_settled
            or (one.search.is_complete and not one.goes_on and len(one.board.jobs) < IN_PARTS_FROM_JOBS)
            for one in self.tries
        )

    def _try(self, board: Board) -> Try:
        bound = lower_bound(board)
        schedule = greedy.construct(board)
        begun, goes_on = schedule, False
        if self.start is not None:
            begun = schedule_from(board, self.start)
            # What no longer fits is put in where it fits now: what stands is worth little beside a whole plan else.
            greedy.fill(begun, [number for number in board.order if begun.places[number] is None])
            # From a sent plan the search goes on even where one from nothing is cheaper at first: it would move nearly all.
            was_sent = any(task.was is not None for task in self.problem.tasks)
            goes_on = _is_complete(begun) and (was_sent or begun.units < schedule.units)
        search = Search(begun if goes_on else schedule, Random(self.seed), self.workers)
        if not goes_on:
            search.adopt(begun.places)
        return Try(board, search, bound, is_hopeless=bound >= greedy.MUST_UNITS, goes_on=goes_on)

    def _search_and_tighten(self, until: float, legs: Legs) -> None:
        """Search on while sharper bounds are worked out beside it: by themselves they would keep one core busy."""
        is_over = Event()

        def work_out() -> None:
            # How far the known plan lies above the bound sets the size of the steps: the very first one lies too far.
            is_over.wait(self.seconds * BEFORE_PRICES_SHARE)
            self._work_out_bounds(is_over.is_set)

        with ThreadPoolExecutor(1) as pool:
            bounds = pool.submit(work_out)
            try:
                self._search(until, None, legs, apart=True)
            finally:
                is_over.set()
        bounds.result()
        self._take_bounds()

    def _tighten(self) -> None:
        """Work out sharper bounds, in a share of the time."""
        self._work_out_bounds(self._stopped)
        self._take_bounds()

    def _work_out_bounds(self, stop: Callable[[], bool]) -> None:
        if self.rounds is None and self.seconds * BOUND_SHARE < BOUND_S_A_TASK * len(self.problem.tasks):
            return
        share = PRICES_SHARE if self.by_prices else BOUND_SHARE
        until = None if self.rounds is not None else monotonic() + self.seconds * share
        for one in self.tries:
            if one.search.is_complete and not one.is_settled and not stop():
                upper = one.search.best[2]
                for found in sharper_prices(one.board, upper, until=until, stop=stop, rounds=self.rounds):
                    one.bound_units = max(one.bound_units, min(found.units, upper))
                    if self.by_prices:
                        one.search.go_by(found)

    def _take_bounds(self) -> None:
        for one in self.tries:
            if one.is_done and not one.is_settled:
                one.is_proved = True
        self._tell(now=True)

    def _measure(self) -> None:
        """Keep back about the time that the check and the plan's words will take at the end, as long as all so far."""
        if self.rounds is None:
            self.spare = min(self.seconds * MOST_SPARE_SHARE, monotonic() - self.began)

    def _search(self, until: float, rounds: int | None, legs: Legs, *, apart: bool = False) -> None:
        open_tries = sorted(
            (one for one in self.tries if not one.is_settled), key=lambda one: one.search.best[2]
        )
        for i, one in enumerate(open_tries):
            share = None if rounds is None else rounds // len(open_tries)
            now = monotonic()
            # A count of rounds is the only limit where there is one: the clock must not decide anything then.
            end = None if rounds is not None else now + (until - now) / (len(open_tries) - i)
            one.search.run(
                until=end,
                rounds=share,
                told=self._tell,
                stop=partial(self._may_stop, one),
                legs=cooler(legs) if one.goes_on else legs,
                apart=apart,
            )
            one.is_proved = one.is_done

    def _prove(self, tries: list[Try], until: float) -> None:
        work = None if self.rounds is None else self.seconds * WORK_SHARE / len(tries)
        for i, one in enumerate(tries):
            if one.is_settled or self._stopped():
                continue
            now = monotonic()
            limit = None if self.rounds is not None else (until - now) / (len(tries) - i)
            if limit is not None and limit <= 0:
                break
            hint = one.search.schedule if one.search.is_complete else None
            outcome = prove(
                one.board,
                hint,
                seconds=limit,
                work=work,
                seed=self.seed,
                workers=self.workers,
                stop=self.stop,
            )
            if outcome is None:
                continue
            if outcome.places is None and outcome.proved:
                one.is_hopeless = True
            if outcome.bound_units is not None:
                one.bound_units = max(one.bound_units, outcome.bound_units)
            if outcome.places is not None:
                one.search.adopt(outcome.places)
                one.is_proved = outcome.proved or one.search.best[2] <= one.bound_units
            self._tell(now=True)

    def _bound(self) -> int:
        """Return what no plan can go below, over all variants."""
        return min(
            (one.search.best[2] if one.is_proved else one.bound_units)
            for one in self.tries
            if not one.is_hopeless
        )

    def _tell(self, now: bool = False) -> None:
        at = monotonic()
        if self.progress is None or (not now and at - self.told_at < 0.2):
            return
        self.told_at = at
        complete = [one.search.best[2] for one in self.tries if one.search.is_complete]
        hopeful = not all(one.is_hopeless for one in self.tries)
        self.progress(
            cost.cents(min(complete)) if complete else None,
            cost.cents_below(self._bound()) if hopeful else None,
        )

    def _finish(self) -> Plan:
        complete = [one for one in self.tries if one.search.is_complete]
        if not complete:
            return self._none()
        one = min(complete, key=lambda one: one.search.best[2])
        one.search.schedule.restore(one.search.best)
        return self._checked(one, one.search.best[2] <= self._bound())

    def _may_stop(self, one: Try) -> bool:
        # The bound may have risen meanwhile.
        return one.is_done or self._stopped()

    def _stopped(self) -> bool:
        return self.stop is not None and self.stop()

    def _took(self) -> float:
        return self.seconds if self.rounds is not None else round(monotonic() - self.began, 2)

    def _checked(self, one: Try, is_proved: bool) -> Plan:
        plan = as_plan(
            one.search.schedule, is_proved=is_proved, bound_units=self._bound(), seconds=self._took()
        )
        return checked(self.problem, plan)

    def _none(self) -> Plan:
        if self.why is None and all(one.is_hopeless for one in self.tries):
            left = None if self.rounds is not None else self.began + self.seconds - monotonic()
            seconds = None if left is None else max(1.0, left)
            self.why = clashing_rules(self.problem, is_sure=True, seconds=seconds, seed=self.seed)
        why = [NOT_FOUND] if self.why is None else self.why
        return checked(self.problem, Plan("none", None, None, self._took(), None, why=tuple(why)))
