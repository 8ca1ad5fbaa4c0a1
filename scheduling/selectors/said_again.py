"""What the planner says in English, said again in the reader's language: the forms of `said_forms`, filled in anew.

A text that is no row of known sentences stays as it is, whole.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache

from django.utils.translation import gettext, pgettext

from farmops.farms.operations import WORDS
from scheduling.models import WeekPlan
from scheduling.selectors import said_forms
from scheduling.selectors.plan_documents import made_once
from scheduling.selectors.speaking import ENGLISH, speaking
from scheduling.slips.words import MONTHS, WEEKDAYS
from scheduling.solver.explain import lasting

AT = r"[A-Z][a-z]{2} [A-Z][a-z]{2} \d{1,2} \d{1,2}:\d\d [ap]m"
OUTSIDE = "a time outside the days that are planned"
DATE = r"[A-Z][a-z]+day, [A-Z][a-z]+ \d{1,2}"
USD = r"\$[\d,]+\.\d\d"
LENGTH = r"\d+ minutes?|\d+ days?|\d+ h(?: \d+ min)?"
ENDS = re.compile(r"(?<=[.:])(?= )|$")
BETWEEN = re.compile(r"(?=, )|(?= and )|$")
JOINTS = (", ", " and ")
SMOOTHER = (
    (re.compile(r"\ba el pivote camina\b"), "a que el pivote camine"),
    (
        re.compile(r"\b([Aa]|[Dd]e) el\b"),
        lambda found: {"a": "al", "A": "Al", "de": "del", "De": "Del"}[found[1]],
    ),
    (re.compile(r"\by (?=h?[ií](?![aeo]))", re.IGNORECASE), "e "),
    (re.compile(r"(?<=[ap]\.m\.)\."), ""),
)
"""How Spanish draws words together; the hour's own point ends its sentence."""
SHORT_DAYS = {day.en[:3]: day.es[:3] for day in WEEKDAYS}
SHORT_MONTHS = {month.en[:3]: month.es[:3] for month in MONTHS}
Limits = Mapping[str, str]


def said_again(text: str, *, limits: Limits | None = None) -> str:
    """Return sentences of the planner in the language that is on; `limits` gives what shuts a field by its English."""
    if speaking() == ENGLISH or not text:
        return text
    return _sentences(text, limits or {}) or text


def supposed_again(text: str) -> str:
    """Return what is supposed in the language that is on."""
    if speaking() == ENGLISH:
        return text
    return _one(text, said_forms.SUPPOSED, {}) or text


def limits_of_windows(windows: Mapping[str, object]) -> dict[str, str]:
    """Return what shuts the fields of stored windows, whole and without when it ends, by its English."""
    found: dict[str, str] = {}
    rows = windows.get("passes", [])
    for row in rows if isinstance(rows, list) else []:
        for stretch in row["shut"]:
            english, spanish = stretch["says"], stretch.get("says_es", "")
            if spanish:
                found[english] = spanish
                found[english.partition(";")[0]] = spanish.partition(";")[0]
    return found


def limits_of_plan(*, plan: WeekPlan) -> Mapping[str, str]:
    """Return what shuts the fields of a plan's windows, as `limits_of_windows` does."""
    return made_once(plan, "limits", lambda: limits_of_windows(plan.windows))


def length_said(minutes: int) -> str:
    """Return minutes as people say them, in the language that is on."""
    said = lasting(minutes)
    return said if speaking() == ENGLISH else _long(said)


def _sentences(text: str, limits: Limits) -> str | None:
    """Return a row of sentences said again, or None where one of them is not known."""
    if not text:
        return ""
    for end in (found.start() for found in ENDS.finditer(text)):
        said = _one(text[:end], said_forms.SENTENCES, limits) or _limit_alone(text[:end], limits)
        rest = None if said is None else _sentences(text[end + 1 :], limits)
        if said is not None and rest is not None:
            return f"{said} {_going_on(said, rest)}".strip()
    return None


def _going_on(said: str, rest: str) -> str:
    """Return what follows a sentence: large behind a full stop, small behind a colon but for a name."""
    if not said.endswith(":"):
        return rest[:1].upper() + rest[1:]
    return rest[:1].lower() + rest[1:] if rest.partition(" ")[0] in _beginnings() else rest


def _beginnings() -> set[str]:
    """Return the words that a sentence begins with where it does not begin with a name."""
    said = (gettext(form) for form in said_forms.SENTENCES)
    return {one.partition(" ")[0] for one in said if not one.startswith("{")}


def _limit_alone(sentence: str, limits: Limits) -> str | None:
    limit = sentence.removesuffix(".")
    known = limits.get(limit) or limits.get(limit[:1].lower() + limit[1:])
    return f"{known[:1].upper()}{known[1:]}." if known else None


def _one(sentence: str, forms: Sequence[str], limits: Limits) -> str | None:
    """Return one sentence said again; one that begins small, since it stands behind a colon, stays so."""
    if forms is said_forms.SENTENCES and sentence[:1].islower():
        said = _one(sentence[:1].upper() + sentence[1:], forms, limits)
        return said and said[:1].lower() + said[1:]
    for form in forms:
        found = _pattern(form).fullmatch(sentence)
        if found is not None:
            parts = {name: _part(name, part, limits) for name, part in found.groupdict().items()}
            told = {name: part for name, part in parts.items() if part is not None}
            if len(told) == len(parts):
                return _smooth(gettext(form).format(**told))
    return None


def _smooth(text: str) -> str:
    """Return a Spanish sentence with what names and hours put beside each other drawn together, as it is said."""
    for rough, smooth in SMOOTHER:
        text = rough.sub(smooth, text)
    return text


def _part(name: str, part: str, limits: Limits) -> str | None:
    kind = name.partition("_")[0]
    say = SAY.get(kind)
    if say is not None:
        return say(part)
    if kind == "limit":
        return limits.get(part) or limits.get(part[:1].lower() + part[1:]) or part
    return part if kind in ("number", "usd", "change") else _names(part)


def _names(text: str) -> str:
    """Return names that are listed with the word between the last two said again; "It" is the pass that is spoken of."""
    if text == "It":
        return pgettext("the pass", "It")
    return text.replace(" and ", f" {_and()} ")


def _and() -> str:
    return pgettext("between the last two", "and")


def _at(text: str) -> str:
    if text == OUTSIDE:
        return gettext("a time outside the days that are planned")
    day, month, number, clock, half = text.split(" ")
    return f"{SHORT_DAYS[day]} {number} {SHORT_MONTHS[month]} {clock} {half[0]}.m."


def _date(text: str) -> str | None:
    weekday, _, rest = text.partition(", ")
    month, _, number = rest.partition(" ")
    days, months = {one.en: one.es for one in WEEKDAYS}, {one.en: one.es for one in MONTHS}
    if weekday not in days or month not in months:
        return None
    return f"{days[weekday]} {number} de {months[month]}"


def _long(text: str) -> str:
    number, _, unit = text.partition(" ")
    if unit.startswith("minute"):
        return f"{number} {'minuto' if number == '1' else 'minutos'}"
    if unit.startswith("day"):
        return f"{number} {'día' if number == '1' else 'días'}"
    return text


def _work(text: str) -> str:
    """Return a kind of work, which may be said in the reader's language already."""
    return next((words.spanish for words in WORDS.values() if words.english == text), text)


def _more(text: str) -> str | None:
    return _one(text, said_forms.MORE, {})


def _kinds(text: str) -> str | None:
    return _listed(text, said_forms.KINDS)


def _listed(text: str, forms: Sequence[str]) -> str | None:
    """Return a list said again, each thing of it by its own form; None where one has none."""
    things = _things(text, forms)
    if things is None:
        return None
    *first, last = things
    return f"{', '.join(first)} {_and()} {last}" if first else last


def _things(text: str, forms: Sequence[str]) -> list[str] | None:
    for end in (found.start() for found in BETWEEN.finditer(text)):
        said = _one(text[:end], forms, {})
        if said is None:
            continue
        if end == len(text):
            return [said]
        joint = next(one for one in JOINTS if text.startswith(one, end))
        rest = _things(text[end + len(joint) :], forms)
        if rest is not None:
            return [said, *rest]
    return None


SAY: dict[str, Callable[[str], str | None]] = {
    "at": _at,
    "date": _date,
    "long": _long,
    "more": _more,
    "work": _work,
    "kinds": _kinds,
    "part": lambda text: _one(text, said_forms.PART, {}),
    "parts": lambda text: _listed(text, said_forms.PARTS),
    "hindering": lambda text: _listed(text, said_forms.HINDERING),
    "missing": lambda text: _listed(text, said_forms.MISSING),
    "hours": lambda text: _listed(text, said_forms.HOURS),
    "when": lambda text: _one(text, said_forms.WHEN, {}),
}


@cache
def _pattern(form: str) -> re.Pattern[str]:
    """Return a pattern that knows a form again, with a group for each brace."""
    pieces = re.split(r"\{(\w+)\}", form)
    return re.compile("".join(_group(one) if at % 2 else re.escape(one) for at, one in enumerate(pieces)))


def _group(name: str) -> str:
    kind = name.partition("_")[0]
    what = {
        "at": f"{AT}|{OUTSIDE}",
        "date": DATE,
        "long": LENGTH,
        "usd": USD,
        "change": USD,
        "number": r"\d[\d.,]*",
        "more": r"(?:cost|save) .+?",
        "when": r"on .+?",
    }.get(kind, r".+?")
    return f"(?P<{name}>{what})"
