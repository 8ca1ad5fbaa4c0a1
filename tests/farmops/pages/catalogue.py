"""The Spanish catalogue of the pages: what they say, gathered from code, templates and labels, beside what stands in it.

`python -m tests.farmops.pages.catalogue` writes what is new into the catalogue, takes out what nobody says any more,
and compiles it. What is written there in Spanish stays.
"""

import ast
import csv
import io
import json
import os
import re
from collections.abc import Iterator, Sequence
from gettext import GNUTranslations
from pathlib import Path

import django
from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.db.models import TextChoices
from django.utils.translation.template import templatize

ROOT = Path(__file__).resolve().parents[3]
PAGES = ROOT / "farmops" / "pages"
OURS = ("farmops", "scheduling", "ledger")
TEMPLATES = PAGES / "templates"
FOLDER = PAGES / "locale" / "es" / "LC_MESSAGES"
PO, MO = FOLDER / "django.po", FOLDER / "django.mo"
SHIPPED_WORDS = {
    "categories.csv": "label",
    "lateness.csv": "source",
    "limits.csv": "source",
    "maps/schedule_f.csv": "label",
    "thresholds_1099.csv": "source",
}
"""Files that ship with words that pages show, and the column in which they stand."""
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
FILLED = re.compile(r"%\(\w+\)[sd]|\{\w*\}")
TRANSLATED = re.compile(
    r"\{% blocktranslate.*?%\}.*?\{% endblocktranslate %\}|\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", re.DOTALL
)
READ_OUT = re.compile(r"""\s(?:alt|title|placeholder|aria-label)=("[^"]*"|'[^']*')""")
SEVERAL_WORDS = re.compile(r"[A-Za-z]{2,}[,:;.]? +[A-Za-z]|[A-Za-z]{3,} $|^ [A-Za-z]{3,}")
MARKUP = re.compile(r"<[^>]*>")


def templates() -> list[Path]:
    """Return the templates of all pages."""
    return sorted(TEMPLATES.rglob("*.html"))


def loose_words(source: str) -> list[str]:
    """Return the words of a template that are not translated: between its elements, and in attributes read out."""
    plain = TRANSLATED.sub(" ", source)
    texts = [text[1:-1] for text in READ_OUT.findall(plain)] + MARKUP.split(plain)
    return [text.strip() for text in texts if re.search(r"[^\W\d_]", text)]


def loose_sentences(source: str) -> list[str]:
    """Return the sentences of a module that nobody translates: strings of several words outside of gettext's calls.

    Left out are descriptions of code, what an assertion says, styles of numbers, and what is marked by `# not said`
    on its line: names of classes, addresses, and the like.
    """
    lines, tree = source.splitlines(), ast.parse(source)
    passed: set[int] = set()
    for node in ast.walk(tree):
        is_said = isinstance(node, ast.Call) and _name(node.func) in KEYWORDS
        if is_said or isinstance(node, ast.Assert):
            passed |= {id(inner) for inner in ast.walk(node)}
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            passed.add(id(node.value))
        elif isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            passed |= {id(inner) for inner in ast.walk(node.format_spec)}
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and id(node) not in passed
        and SEVERAL_WORDS.search(node.value)
        and "# not said" not in lines[node.lineno - 1]
    ]


def _name(called: ast.expr) -> str:
    return called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")


def files() -> list[Path]:
    """Return every file whose sentences are read on pages: those of the pages, and below them what uses gettext."""
    below = [
        path
        for app in OURS
        for path in sorted((ROOT / app).rglob("*.py"))
        if PAGES not in path.parents and "django.utils.translation" in path.read_text("utf-8")
    ]
    return [*modules(), *templates(), *below]


def modules() -> list[Path]:
    """Return the modules of the pages."""
    return sorted(PAGES.rglob("*.py"))


def labels() -> set[str]:
    """Return the words that come as data and that pages show by `words.named`.

    The choices of models and services, and what ships: categories, lines of the tax form, sources of its thresholds, of
    limits, of curves of late planting and of orders of work.
    """
    found = set()
    for name, column in SHIPPED_WORDS.items():
        with (ROOT / "fixtures" / name).open(encoding="utf-8", newline="") as file:
            found |= {row[column] for row in csv.DictReader(file)}
    for path in (ROOT / "fixtures" / "orders_of_work").glob("*.json"):
        order = json.loads(path.read_text("utf-8"))
        found |= {one["source"] for one in (order, *order["steps"]) if one.get("source")}
    waiting = [TextChoices]
    while waiting:
        for one in waiting.pop().__subclasses__():
            waiting.append(one)
            if one.__module__.split(".")[0] in OURS:
                found |= {str(label) for label in one.labels if label}
    return found


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
            catalogue.add(sentence, locations=[(path.relative_to(ROOT).as_posix(), 0)], context=context)
    return catalogue


def kept() -> Catalog:
    """Return the catalogue as it stands."""
    with PO.open("rb") as file:
        return read_po(file, locale="es")


def compiled() -> GNUTranslations:
    """Return what the pages read at run time."""
    with MO.open("rb") as file:
        return GNUTranslations(file)


def wanted() -> Catalog:
    """Return a catalogue of all that must stand in it, without its Spanish."""
    catalogue = said(files())
    for label in sorted(labels()):
        catalogue.add(label, locations=[("labels", 0)])
    return catalogue


def gather() -> None:
    """Write the catalogue anew and compile it."""
    wanted_now = wanted()
    if PO.exists():
        for message in kept():
            if message.id and (here := wanted_now.get(_key(message.id), message.context)) is not None:
                here.string = message.string
    FOLDER.mkdir(parents=True, exist_ok=True)
    with PO.open("wb") as file:
        write_po(file, wanted_now, sort_output=True, omit_header=False, include_lineno=False, width=100)
    text = PO.read_text("utf-8")
    PO.write_text(HEADER + text[text.index("\n\n") :], "utf-8")
    with MO.open("wb") as file:
        write_mo(file, kept())


def _key(sentence: str | Sequence[str]) -> str:
    return sentence if isinstance(sentence, str) else sentence[0]


HEADER = """# Spanish of the pages. A speaker of the crew has the last word and changes it here.
msgid ""
msgstr ""
"Language: es\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"
"MIME-Version: 1.0\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n\""""

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farmops.settings.testing")
    django.setup()
    gather()
