"""The hash chain: each entry's digest covers the entry, its lines and the digest before it.

It is evidence, not prevention: whoever can rewrite the whole chain can rewrite its head, so heads stand in exports.
"""

import hashlib
import json
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

FORM = 1
"""Version of the canonical form; it is part of what is hashed."""


@dataclass(frozen=True)
class ChainLine:
    """A line as it is hashed: whole numbers and words, no row id."""

    line_no: int
    account: str
    subject: str
    category: str
    cents: int
    quantity_e4: int | None
    unit: str
    price_e4: int | None
    says: str


@dataclass(frozen=True)
class ChainEntry:
    """An entry as it is hashed; `posted_at` is an instant in UTC with microseconds, `happened_on` an ISO date."""

    number: int
    source_kind: str
    source_key: str
    purpose: str
    happened_on: str
    posted_at: str
    why: str
    lines: tuple[ChainLine, ...]


def entry_digest(*, before: str, entry: ChainEntry) -> str:
    """Return the SHA-256 of the digest before and the entry's canonical form, as 64 hex digits.

    Canonical form: JSON with an order of members fixed here, UTF-8 in Normalization Form C, no spaces, whole numbers
    only. Source: SHA-256 by FIPS 180-4; the form is our own.
    """
    canonical = [
        FORM,
        before,
        entry.number,
        entry.source_kind,
        entry.source_key,
        entry.purpose,
        entry.happened_on,
        entry.posted_at,
        _word(entry.why),
        [_line(line) for line in _in_order(entry.lines)],
    ]
    text = json.dumps(canonical, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def _in_order(lines: Sequence[ChainLine]) -> list[ChainLine]:
    return sorted(lines, key=lambda line: line.line_no)


def _line(line: ChainLine) -> list[int | str | None]:
    return [
        line.line_no,
        line.account,
        _word(line.subject),
        line.category,
        line.cents,
        line.quantity_e4,
        _word(line.unit),
        line.price_e4,
        _word(line.says),
    ]


def _word(text: str) -> str:
    return unicodedata.normalize("NFC", text)
