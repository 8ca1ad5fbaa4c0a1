"""What hands read is said in both languages: the catalogue holds all of it, nothing else, and is compiled."""

from typing import Any

import pytest
from django.utils import translation
from django.utils.translation import gettext

from tests.farmops.pages import catalogue


def sentences(of: Any) -> dict[tuple[Any, Any], Any]:
    return {(message.context, message.id): message.string for message in of if message.id}


def test_the_catalogue_holds_every_sentence_of_the_hands_pages_and_no_other() -> None:
    """Otherwise write it anew: python -m tests.farmops.pages.catalogue."""
    said = sentences(catalogue.said(catalogue.files_of_hands()))
    assert len(said) > 80
    assert set(sentences(catalogue.kept())) == set(said)


def test_every_sentence_is_translated_and_keeps_what_is_filled_in() -> None:
    for message in catalogue.kept():
        if not message.id:
            continue
        assert not message.fuzzy, message.id
        originals = [message.id] if isinstance(message.id, str) else list(message.id)
        spanish = [message.string] if isinstance(message.string, str) else list(message.string or ())
        assert len(spanish) == len(originals)
        for original, said in zip(originals, spanish, strict=True):
            assert said.strip(), f"“{original}” has no Spanish"
            assert sorted(catalogue.FILLED.findall(said)) == sorted(catalogue.FILLED.findall(original)), said
            assert said[-1:] == original[-1:] or original[-1:] not in ".?:", said


def test_what_runs_is_compiled_from_what_is_written() -> None:
    compiled, written = catalogue.compiled(), [message for message in catalogue.kept() if message.id]
    for message in written:
        if message.context:
            said = compiled.pgettext(message.context, str(message.id))
        else:
            said = compiled.gettext(str(message.id))
        assert said == message.string
    strings = int.from_bytes(catalogue.MO.read_bytes()[8:12], "little")  # as the format lays it down
    assert strings == len(written) + 1, "each sentence and the header"


def test_templates_of_hands_hold_no_sentence_outside_the_catalogue() -> None:
    """What stands between the tags is figures, signs and names; words come from the catalogue or from the page's data."""
    loose = {
        path.name: words
        for path in catalogue.templates_of_hands()
        if (words := catalogue.loose_words(path.read_text("utf-8")))
    }
    assert loose == {}


@pytest.mark.parametrize(
    ("source", "loose"),
    [
        ("<p>{% translate 'Sent' %}: {{ one }} ✓</p>", []),
        ("<p>Sent</p>", ["Sent"]),
        ('<img alt="Shape of it" src="/a.svg">', ["Shape of it"]),
        ('<input placeholder="31.1">', []),
        ("{% if a %}Boss {{ name }}{% endif %}", ["Boss"]),
    ],
)
def test_loose_words_are_found_between_tags_and_in_what_is_read_out(source: str, loose: list[str]) -> None:
    assert catalogue.loose_words(source) == loose


def test_the_pages_find_the_catalogue() -> None:
    with translation.override("es"):
        assert gettext("Your hours") == "Sus horas"
