"""The Spanish catalogue of the hand's pages: what they say, gathered from code and templates, beside what stands in it.

`python -m tests.farmops.pages.catalogue` writes what is new into the catalogue, takes out what nobody says any more,
and compiles it. What is written there in Spanish stays.
"""

import io
import re
from collections.abc import Iterator, Sequence
from gettext import GNUTranslations
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.utils.translation.template import templatize

PAGES = Path(__file__).resolve().parents[3] / "farmops" / "pages"
TEMPLATES = PAGES / "templates"
FOLDER = PAGES / "locale" / "es" / "LC_MESSAGES"
PO, MO = FOLDER / "django.po", FOLDER / "django.mo"
KEYWORDS: dict[str, tuple[int | tuple[int, str], ...] | None] = {
    "_": None,
    "gettext": None,
    "gettext_lazy": None,
    "gettext_noop": None,
    "ngettext": (1, 2),
    "ngettext_lazy": (1, 2),
    "pgettext": ((1, "c"), 2),
    "pgettext_lazy": ((1, "c"), 2),
    "npgettext": ((1, "c"), 2, 3),
}
SPEAKS_BOTH = "{% block lang %}{{ language }}"
"""A template that says so is read by hands, and so is what it includes."""
OF_HANDS = (
    "day_forms.py",
    "day_page.py",
    "report_boxes.py",
    "report_forms.py",
    "shown_forms.py",
    "views/day.py",
    "views/entering.py",
)
"""Modules whose sentences hands read."""
FILLED = re.compile(r"%\(\w+\)[sd]|\{\w*\}")
TRANSLATED = re.compile(
    r"\{% blocktranslate.*?%\}.*?\{% endblocktranslate %\}|\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", re.DOTALL
)
READ_OUT = re.compile(r"""\s(?:alt|title|placeholder|aria-label)=("[^"]*"|'[^']*')""")
MARKUP = re.compile(r"<[^>]*>")


def templates_of_hands() -> list[Path]:
    """Return the templates that hands read: those that speak the hand's language, and all that they include."""
    found: list[Path] = []
    waiting = [path for path in sorted(TEMPLATES.rglob("*.html")) if SPEAKS_BOTH in path.read_text("utf-8")]
    while waiting:
        path = waiting.pop()
        if path not in found:
            found.append(path)
            waiting += [
                TEMPLATES / name for name in re.findall(r'{% include "([^"]+)"', path.read_text("utf-8"))
            ]
    return found


def loose_words(source: str) -> list[str]:
    """Return the words of a template that are not translated: between its elements, and in attributes read out."""
    plain = TRANSLATED.sub(" ", source)
    texts = [text[1:-1] for text in READ_OUT.findall(plain)] + MARKUP.split(plain)
    return [text.strip() for text in texts if re.search(r"[^\W\d_]", text)]


def files_of_hands() -> list[Path]:
    """Return every file whose sentences hands read."""
    return [*(PAGES / name for name in OF_HANDS), *templates_of_hands(), TEMPLATES / "pages" / "base.html"]


def said_in(path: Path) -> Iterator[tuple[int, str | tuple[str, ...], str | None]]:
    """Yield the line, the sentence (or one and many) and the context of everything that a file has translated."""
    source = path.read_text("utf-8")
    if path.suffix == ".html":
        lines = templatize(source, origin=str(path)).splitlines()
        source = "\n".join(
            line.strip() for line in lines
        )  # what is no sentence is blanked out, and no indent counts
    for line, sentence, _comments, context in extract(
        "python", io.BytesIO(source.encode()), keywords=KEYWORDS
    ):
        yield line, sentence, context


def said(paths: list[Path]) -> Catalog:
    """Return a catalogue of all that some files say."""
    catalogue = Catalog(locale="es", charset="utf-8")
    for path in paths:
        for _line, sentence, context in said_in(path):
            catalogue.add(sentence, locations=[(path.relative_to(PAGES).as_posix(), 0)], context=context)
    return catalogue


def kept() -> Catalog:
    """Return the catalogue as it stands."""
    with PO.open("rb") as file:
        return read_po(file, locale="es")


def compiled() -> GNUTranslations:
    """Return what the pages read at run time."""
    with MO.open("rb") as file:
        return GNUTranslations(file)


def gather() -> None:
    """Write the catalogue anew and compile it."""
    wanted = said(files_of_hands())
    if PO.exists():
        for message in kept():
            if message.id and (here := wanted.get(_key(message.id), message.context)) is not None:
                here.string = message.string
    FOLDER.mkdir(parents=True, exist_ok=True)
    with PO.open("wb") as file:
        write_po(file, wanted, sort_output=True, omit_header=False, include_lineno=False, width=100)
    text = PO.read_text("utf-8")
    PO.write_text(HEADER + text[text.index("\n\n") :], "utf-8")
    with MO.open("wb") as file:
        write_mo(file, kept())


def _key(sentence: str | Sequence[str]) -> str:
    return sentence if isinstance(sentence, str) else sentence[0]


HEADER = """# Spanish of the pages that hands read. A speaker of the crew has the last word and changes it here.
msgid ""
msgstr ""
"Language: es\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"
"MIME-Version: 1.0\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n\""""

if __name__ == "__main__":
    gather()
