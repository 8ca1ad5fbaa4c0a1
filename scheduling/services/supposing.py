"""What something supposed of a week would be worth; stores nothing."""

from collections.abc import Mapping, Sequence

from django.utils.translation import gettext as _

from farmops.core.problems import DomainError, Kind
from scheduling.models import WeekPlan
from scheduling.solver import Plan, Problem, ProblemError, check, from_json, parse_problem
from scheduling.solver.supposing import Supposition, SuppositionError, parse_supposition, usual_suppositions

MOST_SUPPOSITIONS = 20


class SuppositionRefused(DomainError):
    """Something is supposed that is not understood, or of which the farm has nothing; `fields` says which."""

    code = "supposition_refused"


class PlanTooOld(DomainError):
    """A plan was stored in a form that cannot be planned again."""

    code = "plan_too_old"
    kind = Kind.CONFLICT


def read_back(*, plan: WeekPlan) -> tuple[Problem, Plan]:
    """Return the problem and the answer of a stored plan. Raises PlanTooOld where they do not go together as they did."""
    try:
        problem, answer = parse_problem(plan.problem), from_json(plan.plan)
    except ProblemError as error:
        raise PlanTooOld(
            _("Plan {number} was stored in an older form; make it anew.").format(number=plan.number)
        ) from error
    if answer.status == "none" or check(problem, answer).violations:
        raise PlanTooOld(_("Plan {number} was made by older rules; make it anew.").format(number=plan.number))
    return problem, answer


def understood(
    *, problem: Problem, texts: Sequence[str], names: Mapping[str, str], plan: Plan | None = None
) -> list[Supposition]:
    """Return what texts suppose of a problem, each once. No text, or an empty one, is what is asked first of all: of
    implements, where `plan` is told, only for the work that it leaves or does late.

    Raises SuppositionRefused with a sentence for each text that cannot be.
    """
    usual = usual_suppositions(problem, plan)
    asked = [
        (number, one) for number, text in enumerate(texts or [""]) for one in ([text] if text else usual)
    ]
    if len(texts) > MOST_SUPPOSITIONS:
        raise SuppositionRefused(
            _("At most {most} things are supposed at once, not {count}.").format(
                most=MOST_SUPPOSITIONS, count=len(texts)
            )
        )
    wrong: dict[str, str] = {}
    found: list[Supposition] = []
    for number, text in asked:
        try:
            found.append(parse_supposition(text, problem, names=names))
        except SuppositionError as error:
            wrong[f"suppose/{number}"] = str(error)
    if wrong:
        raise SuppositionRefused(" ".join(wrong.values()), fields=wrong)
    return list({one.text: one for one in found}.values())
