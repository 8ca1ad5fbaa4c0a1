"""The release that runs, as a mark: what was made by the code of another one is made anew."""

import hashlib
from functools import lru_cache
from pathlib import Path

import farmops

ROOT = Path(farmops.__path__[0]).parent
FOLDERS = ("farmops", "ledger", "scheduling", "fixtures")
KINDS = ("*.py", "*.html", "*.mo", "*.csv")
"""The files that say how something comes to be, and how it is said."""


@lru_cache(maxsize=1)
def release_mark() -> str:
    """Return the digest of all these files; they are read once in a process."""
    found = hashlib.sha256()
    for file in sorted(one for name in FOLDERS for kind in KINDS for one in (ROOT / name).rglob(kind)):
        found.update(file.read_bytes())
    return found.hexdigest()
