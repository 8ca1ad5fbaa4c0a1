"""What shuts the ground, in a word or two: the beginning of each limit's own sentence."""

from collections.abc import Sequence

from scheduling.windows import Limit

SAY_SO = "say_so"
YOUR_WORD = "your word"
LEFT_HANGING = {"with", "until", "at", "stands"}


def limit_words(limits: Sequence[Limit]) -> dict[str, str]:
    """Return a few words by each limit's key: its English sentence up to the first number or name in it."""
    return {SAY_SO: YOUR_WORD} | {limit.key: _beginning(limit.says_en) for limit in limits}


def _beginning(sentence: str) -> str:
    words = sentence.partition(":")[0].partition("{")[0].strip(" ,;").split()
    while len(words) > 1 and words[-1] in LEFT_HANGING:
        words.pop()
    return " ".join(words)
