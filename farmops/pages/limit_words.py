"""What shuts the ground, in a word or two of the reader's language: the beginning of each limit's own sentence."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from farmops.pages import words as said
from scheduling.windows import Limit

SAY_SO = "say_so"
LEFT_HANGING = {
    "en": {"with", "until", "at", "stands"},
    "es": {"con", "hasta", "en", "está", "para", "a"},
}


def limit_words(limits: Sequence[Limit]) -> dict[str, str]:
    """Return a few words by each limit's key: its sentence up to the first number or name in it."""
    language = said.speaking()
    return {SAY_SO: _("your word")} | {
        limit.key: _beginning(limit.says_es if language == "es" else limit.says_en, LEFT_HANGING[language])
        for limit in limits
    }


def _beginning(sentence: str, left_hanging: set[str]) -> str:
    words = sentence.partition(":")[0].partition("{")[0].strip(" ,;").split()
    while len(words) > 1 and words[-1] in left_hanging:
        words.pop()
    return " ".join(words)
