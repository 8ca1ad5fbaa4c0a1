"""What stands on the page that says that no plan keeps every rule."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import Farm
from farmops.pages import words
from scheduling.selectors.care import care_names
from scheduling.selectors.passes import KEY, field_names, open_passes, pass_key
from scheduling.selectors.said_again import said_again
from scheduling.selectors.spoken import ids_in_words, names_of, task_in_words
from scheduling.services.planning import NoPlan

WITHOUT = "Without it"  # not said
"""How the planner's sentence begins that says what giving a rule up would allow."""


@dataclass(frozen=True)
class Rule:
    """One rule of the clash: what it is of, in a sentence, and the pass it can be changed at."""

    about: str
    says: str
    pass_id: int | None


def no_plan_facts(*, farm: Farm, error: NoPlan) -> dict[str, Any]:
    """Return the headline of a week without a plan, and each rule that clashes on a line of its own."""
    fields = field_names(farm=farm)
    care = care_names(farm=farm, language=words.speaking())
    names = names_of(farm=farm, problem={}) | care
    ids = {pass_key(one): one.pk for one in open_passes(farm=farm)}
    rules = [
        Rule(
            about=words.capital(care.get(one.task) or task_in_words(one.task, fields))
            if one.task
            else _("The whole week"),
            says=_says(one.task, one.says, names, fields),
            pass_id=ids.get(one.task.partition("#")[0]) if one.task and KEY.fullmatch(one.task) else None,
        )
        for one in error.rules
    ]
    if not error.is_proved:
        headline = _("No plan was found in the time given, and no proof that there is none.")
    elif len(rules) > 1:
        headline = _("No plan keeps every rule: these {count} cannot all be kept.").format(
            count=words.count_word(len(rules))
        )
    else:
        headline = _("No plan keeps every rule.")
    told = "" if rules else words.dates_said(ids_in_words(error.says, names=names, fields=fields))
    return {
        "headline": headline,
        "rules": rules,
        "told": told,
        "is_proved": error.is_proved,
        "tells_more": any(WITHOUT in rule.says for rule in rules),
    }


def _says(task: str | None, says: str, names: dict[str, str], fields: dict[str, str]) -> str:
    """Return the sentence of a rule; of the pass that the row is about it says "it"."""
    if task is not None and says.startswith(f"{task} "):
        says = f"It{says.removeprefix(task)}"
    return words.capital(words.dates_said(said_again(ids_in_words(says, names=names, fields=fields))))
