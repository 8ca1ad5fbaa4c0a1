"""The hash chain: each entry's digest covers the entry, its lines and the digest before it.

It is evidence, not prevention: whoever can rewrite the whole chain can rewrite its head, so heads stand in exports.
"""

import hashlib
import json
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

FORM_NO = 2
"""Version of the canonical form that new entries are hashed in; it is part of what is hashed.

Form 1 knew no booking day, no outfit and operation of a cost, no item and lot.
"""


@dataclass(frozen=True)
class ChainLine:
    """A line as it is hashed: whole numbers and words, no row id. From `outfit` on only in form 2."""

    line_no: int
    account: str
    subject: str
    category: str
    cents: int
    quantity_e4: int | None
    unit: str
    price_e4: int | None
    says: str
    outfit: str = ""
    operation: str = ""
    item: str = ""
    lot: str = ""


@dataclass(frozen=True)
class ChainEntry:
    """An entry as it is hashed; `posted_at` is an instant in UTC with microseconds, the days are ISO dates."""

    number: int
    source_kind: str
    source_key: str
    purpose: str
    happened_on: str
    posted_at: str
    why: str
    lines: tuple[ChainLine, ...]
    booked_on: str = ""
    form_no: int = FORM_NO


def entry_digest(*, before: str, entry: ChainEntry) -> str:
    """Return the SHA-256 of the digest before and the entry's canonical form, as 64 hex digits.

    Canonical form: JSON with an order of members fixed here, UTF-8 in Normalization Form C, no spaces, whole numbers
    only. Source: SHA-256 by FIPS 180-4; the form is our own.
    """
    canonical = [
        entry.form_no,
        before,
        entry.number,
        entry.source_kind,
        entry.source_key,
        entry.purpose,
        entry.happened_on,
        *([] if entry.form_no == 1 else [entry.booked_on]),
        entry.posted_at,
        _word(entry.why),
        [_line(line, entry.form_no) for line in _in_order(entry.lines)],
    ]
    text = json.dumps(canonical, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def _in_order(lines: Sequence[ChainLine]) -> list[ChainLine]:
    return sorted(lines, key=lambda line: line.line_no)


def _line(line: ChainLine, form_no: int) -> list[int | str | None]:
    said: list[int | str | None] = [
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
    if form_no > 1:
        said += map(_word, (line.outfit, line.operation, line.item, line.lot))
    return said


def _word(text: str) -> str:
    return unicodedata.normalize("NFC", text)
