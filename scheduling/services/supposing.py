"""What something supposed of a week would be worth; stores nothing."""

from collections.abc import Mapping, Sequence

from farmops.core.problems import DomainError
from scheduling.solver import Problem
from scheduling.solver.supposing import Supposition, SuppositionError, parse_supposition, usual_suppositions

MOST_SUPPOSITIONS = 20


class SuppositionRefused(DomainError):
    """Something is supposed that is not understood, or of which the farm has nothing; `fields` says which."""

    code = "supposition_refused"


def understood(*, problem: Problem, texts: Sequence[str], names: Mapping[str, str]) -> list[Supposition]:
    """Return what texts suppose of a problem, each once; without a text, what is asked first of all.

    Raises SuppositionRefused with a sentence for each text that cannot be.
    """
    if len(texts) > MOST_SUPPOSITIONS:
        raise SuppositionRefused(
            f"At most {MOST_SUPPOSITIONS} things are supposed at once, not {len(texts)}."
        )
    wrong: dict[str, str] = {}
    found: list[Supposition] = []
    for number, text in enumerate(texts or usual_suppositions(problem)):
        try:
            found.append(parse_supposition(text, problem, names=names))
        except SuppositionError as error:
            wrong[f"suppose/{number}"] = str(error)
    if wrong:
        raise SuppositionRefused(" ".join(wrong.values()), fields=wrong)
    return list({one.text: one for one in found}.values())
