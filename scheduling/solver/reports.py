"""Reasons and changes as plain text for a terminal: days, then each task with its reason and its next best choice."""

from collections.abc import Iterator

from scheduling.solver.compare import CHANGED, Comparison
from scheduling.solver.explain import clock, day
from scheduling.solver.plan import Plan
from scheduling.solver.problem import Problem
from scheduling.solver.reasons import Reasons
from scheduling.solver.telling import Teller


def reasons_text(problem: Problem, plan: Plan, reasons: Reasons, teller: Teller) -> str:
    """Return the plan day by day, with why each task starts then, its next best choices, and why others are left."""
    return "\n".join(_reasons(problem, plan, reasons, teller))


def _reasons(problem: Problem, plan: Plan, reasons: Reasons, teller: Teller) -> Iterator[str]:
    of = {reason.task: reason for reason in reasons.placed}
    today = ""
    for placed in sorted(plan.tasks, key=lambda placed: (placed.start, placed.end, placed.id)):
        reason, on, until = of[placed.id], day(problem, placed.start), day(problem, placed.end)
        if on != today:
            today = on
            yield f"\n{on}" if reason is not reasons.placed[0] else on
        end = clock(problem, placed.end) if until == on else teller.at(placed.end)
        yield f"  {clock(problem, placed.start)} to {end}: {teller.name(placed.id)}, {teller.name(placed.mode)}"
        yield f"      Why then: {reason.says}"
        for label, choice in (
            ("Next best", reason.next_best),
            ("Another outfit", reason.other_outfit),
            ("Another day", reason.other_day),
        ):
            if choice is not None:
                yield f"      {label}: {choice.says}"
    if reasons.left:
        yield "\nLeft" if reasons.placed else "Left"
    for left in reasons.left:
        yield f"  {teller.name(left.task)}: {left.says}"


def changes_text(comparison: Comparison, teller: Teller) -> str:
    """Return what changes and why, what had to first."""
    changes = [change for change in comparison.changes if change.kind in CHANGED]
    lines = [comparison.says]
    for heading, had_to in (("Had to change", True), ("Changed by choice", False)):
        told = [change for change in changes if change.had_to == had_to]
        if told:
            lines += [heading, *(f"  {teller.name(change.task)}: {change.says}" for change in told)]
    for heading, kind in (("New", "new"), ("No longer to be planned", "gone")):
        names = [teller.name(change.task) for change in comparison.changes if change.kind == kind]
        if names:
            lines += [heading, *(f"  {name}" for name in names)]
    return "\n".join(lines)
