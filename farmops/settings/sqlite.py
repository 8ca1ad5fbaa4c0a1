"""The options that make SQLite safe for a small service: write-ahead log, immediate transactions, loud triggers."""

from pathlib import Path
from typing import Any


def database(path: Path | str) -> dict[str, Any]:
    """Return Django's settings for one SQLite file."""
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(path),
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            # recursive_triggers: REPLACE must fire the triggers that refuse a deletion
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA recursive_triggers=ON;",
        },
    }
