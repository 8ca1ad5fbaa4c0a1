"""What shuts the ground, in a word or two."""

from farmops.pages.limit_words import limit_words
from scheduling.windows import load_limits


def test_every_limit_has_a_few_words_without_braces_or_numbers() -> None:
    short = limit_words(load_limits())
    assert short["sticks"] == "sticks to the boot"
    assert short["say_so"] == "your word"
    assert short["re_entry"] == "sprayed"
    for key, word in short.items():
        assert 3 <= len(word) <= 60, key
        assert "{" not in word
        assert ":" not in word
