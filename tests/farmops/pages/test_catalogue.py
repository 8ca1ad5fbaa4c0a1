"""What pages say is said in both languages: the catalogue holds all of it, nothing else, and is compiled."""

from gettext import GNUTranslations
from pathlib import Path
from typing import Any

import pytest
from django.utils import translation
from django.utils.translation import gettext

from tests.farmops.pages import catalogue


def sentences(of: Any) -> dict[tuple[Any, Any], Any]:
    return {(message.context, message.id): message.string for message in of if message.id}


def test_the_catalogue_holds_every_sentence_of_the_pages_and_no_other() -> None:
    """Otherwise write it anew: python -m tests.farmops.pages.catalogue."""
    said = sentences(catalogue.wanted())
    assert len(said) > 1000
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
        one, *several = [message.id] if isinstance(message.id, str) else message.id
        said: Any
        if several:
            said = tuple(_counted(compiled, message.context, one, several[0], count) for count in (1, 2))
        elif message.context:
            said = compiled.pgettext(message.context, one)
        else:
            said = compiled.gettext(one)
        assert said == message.string
    strings = int.from_bytes(catalogue.MO.read_bytes()[8:12], "little")  # as the format lays it down
    assert strings == len(written) + 1, "each sentence and the header"


SAYS_BOTH = {"500.html"}
"""Shown as it stands when nothing runs any more, not even the catalogue: it says all of it in both languages."""


def _counted(compiled: GNUTranslations, context: str | None, one: str, many: str, count: int) -> str:
    if context:
        return compiled.npgettext(context, one, many, count)
    return compiled.ngettext(one, many, count)


@pytest.mark.parametrize(
    "path",
    [path for path in catalogue.templates() if path.name not in SAYS_BOTH],
    ids=lambda path: path.name,
)
def test_no_template_holds_a_sentence_outside_the_catalogue(path: Path) -> None:
    """What stands between the tags is figures, signs and names; words come from the catalogue or from the page's data."""
    assert catalogue.loose_words(path.read_text("utf-8")) == []


def test_the_page_of_last_resort_says_as_much_in_each_language() -> None:
    source = (catalogue.TEMPLATES / "500.html").read_text("utf-8")
    english, spanish = source.split('<div lang="es">')
    assert '<html lang="en">' in english
    assert [english.count(tag) for tag in ("<h1>", "<p>", "<a ")] == [
        spanish.count(tag) for tag in ("<h2>", "<p>", "<a ")
    ]


@pytest.mark.parametrize("path", catalogue.modules(), ids=lambda path: path.name)
def test_no_module_of_the_pages_holds_a_sentence_outside_the_catalogue(path: Path) -> None:
    assert catalogue.loose_sentences(path.read_text("utf-8")) == []


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


@pytest.mark.parametrize(
    ("source", "loose"),
    [
        ('"""What it does."""\nx = _("Two words")', []),
        ('x = "Two words"', ["Two words"]),
        ('x = f"{count} fields wait"', [" fields wait"]),
        ('x = _("{count} fields wait").format(count=3)', []),
        ('x = f"{usd:,.2f} " + ngettext("one line", "{n} lines", n)', []),
        ('x = "fig loss"  # not said', []),
        ('assert x, "two words"', []),
    ],
)
def test_loose_sentences_of_a_module_are_found_but_for_what_nobody_reads(
    source: str, loose: list[str]
) -> None:
    assert catalogue.loose_sentences(source) == loose


def test_the_pages_find_the_catalogue() -> None:
    with translation.override("es"):
        assert gettext("Your hours") == "Sus horas"
