"""Codes made of names, so that nobody has to think of one."""

import re
import unicodedata
from collections.abc import Collection

LONGEST = 36


def code_of(name: str, *, taken: Collection[str] = (), otherwise: str) -> str:
    """Return a code of lower-case letters, digits and hyphens that is not taken; `otherwise` where a name holds none."""
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", name) if not unicodedata.combining(sign))
    code = re.sub(r"[^a-z0-9]+", "-", bare.lower()).strip("-")[:LONGEST].strip("-") or otherwise
    if code not in taken:
        return code
    return next(f"{code}-{number}" for number in range(2, len(taken) + 3) if f"{code}-{number}" not in taken)
