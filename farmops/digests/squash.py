"""Make text that somebody typed safe for one line of a sheet or a header."""

import unicodedata
from functools import lru_cache

LONGEST = 200


def one_line(text: str, *, longest: int = LONGEST) -> str:
    """Return text on one line: control, format, line and paragraph separator characters become spaces.

    A carriage return or line feed would start a new header (RFC 5322 section 2.2), U+2028 and U+2029 break lines in
    readers, and the direction overrides of the class Cf turn a line around. Runs of spaces become one; a text longer
    than `longest` characters ends in an ellipsis. Most text is one line as it is.
    """
    if len(text) <= longest and text.isprintable() and "  " not in text and text == text.strip():
        return text
    return _made_one(text, longest)


@lru_cache(maxsize=4096)
def _made_one(text: str, longest: int) -> str:
    kept = text if text.isprintable() else "".join(" " if _breaks(sign) else sign for sign in text)
    line = " ".join(kept.split())
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


def _breaks(sign: str) -> bool:
    return unicodedata.category(sign) in {"Cc", "Cf", "Cs", "Zl", "Zp"}
