"""What is found in a file of outlines, and why a file or a part of it cannot be used."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

MOST_BYTES = 20 * 1024 * 1024
"""Farm judgement: the boundaries of a thousand fields, drawn finely, take less."""
MOST_OUTLINES = 2000
MOST_ATTRIBUTES = 60
LONGEST_TEXT = 120


@dataclass(frozen=True)
class Told:
    """A sentence with its facts apart, so that it can be said in another language."""

    form: str
    facts: Mapping[str, Any] = field(default_factory=dict)

    def __str__(self) -> str:
        return self.form.format(**self.facts)


class UnreadableOutlines(ValueError):
    """A file from which no outline can be read; `told` says why."""

    def __init__(self, form: str, **facts: Any) -> None:
        self.told = Told(form, facts)
        super().__init__(str(self.told))


@dataclass(frozen=True)
class Outline:
    """One shape of a file: its geometry as GeoJSON has it, or why it has none, and its attributes as texts."""

    geometry: dict[str, Any] | None
    attributes: dict[str, str]
    trouble: Told | None = None


@dataclass(frozen=True)
class OutlinesFile:
    """All that a file holds, in its order, and what its reader should know of how it was read."""

    outlines: tuple[Outline, ...]
    notes: tuple[Told, ...] = ()


def attributes_of(properties: Mapping[Any, Any]) -> dict[str, str]:
    """Return the attributes that are a text or a number, as short texts; what holds others is left out."""
    found: dict[str, str] = {}
    for key, value in properties.items():
        if len(found) == MOST_ATTRIBUTES:
            break
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            continue
        text = (
            value if isinstance(value, str) else f"{value:g}" if isinstance(value, float) else _digits(value)
        )
        text = "".join(sign if sign.isprintable() else " " for sign in text[: 4 * LONGEST_TEXT])
        text = " ".join(text.split())[:LONGEST_TEXT]
        name = "".join(sign for sign in str(key)[:40] if sign.isprintable()).strip()
        if text and name:
            found[name] = text
    return found


def refuse_many(outlines: Sequence[Any]) -> None:
    """Refuse a file with more outlines than a farm has fields, or with none."""
    if not outlines:
        raise UnreadableOutlines("The file holds no outlines.")
    if len(outlines) > MOST_OUTLINES:
        raise UnreadableOutlines(
            "The file holds {count} outlines; at most {most} are taken at once.",
            count=f"{len(outlines):,}",
            most=f"{MOST_OUTLINES:,}",
        )


def _digits(value: int) -> str:
    return str(value) if abs(value) < 10**18 else ""
