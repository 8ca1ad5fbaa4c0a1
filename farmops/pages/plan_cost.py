"""What a plan costs, by its parts, and how far below it any plan could be, in words."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from farmops.desk.week_table import PARTS
from farmops.pages import words
from scheduling.models import WeekPlan
from scheduling.selectors.plans import uncounted_in_words

PART_WORDS = dict(PARTS)

FAR = 100
"""Farm judgement: a plan that may cost twice the least is told so in a word, not in hundredths."""


@dataclass(frozen=True)
class Cost:
    """The parts of a plan's cost that are not 0, the whole, and the sentence on the least possible."""

    parts: list[tuple[str, str]]
    nothing_for: str
    whole: str
    bound: str
    uncounted: str


def cost_of(plan: WeekPlan) -> Cost:
    """Return a plan's cost for its page. Each part is rounded by itself, so that they can miss the whole by a cent or two."""
    parts = plan.plan.get("cost_parts") or {}
    return Cost(
        parts=[
            (words.named(PART_WORDS[name]), words.dollars(cents))
            for name, cents in parts.items()
            if cents or name == "direct"
        ],
        nothing_for=", ".join(
            words.named(PART_WORDS[name]) for name in PART_WORDS if parts.get(name) == 0 and name != "direct"
        ),
        whole=words.dollars(plan.cost_cents),
        bound=_bound(plan),
        uncounted=uncounted_in_words(plan=plan),
    )


def how_sure(plan: WeekPlan) -> str:
    """Return in a few words how far a plan can be from the cheapest."""
    if plan.status == "best":
        return _("proved the cheapest")
    if plan.cost_cents is None or plan.bound_cents is None or plan.bound_cents <= 0:
        return _("not known how far above the least possible")
    gap = -(-100 * (plan.cost_cents - plan.bound_cents) // plan.bound_cents)
    if gap > FAR:
        return _("perhaps far above the least possible")
    return _("at most {gap} in 100 above the least possible").format(gap=gap)


def _bound(plan: WeekPlan) -> str:
    if plan.cost_cents is None:
        return ""
    if plan.status == "best":
        return _("No plan for these days can cost less: that is proved.")
    if plan.bound_cents is None:
        return _("How much less a plan could cost is not known.")
    far = words.dollars(plan.cost_cents - plan.bound_cents)
    return _(
        "No plan for these days can cost less than {least}; this one is at most {far} above that."
    ).format(least=words.dollars(plan.bound_cents), far=far)
