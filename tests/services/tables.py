"""All tables in one SQLite file, laid once and copied: to lay them takes more time than hundreds of tests.

Beside them stand those of a farm that has been there from the first release on: tests look at what became of it.

The file is kept between runs under the name of the migrations' own text, so that another text makes another file.
Whoever takes a copy still runs `migrate` over it, which puts in the guards and all else that goes by the models.
"""

import fcntl
import hashlib
import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Mapping
from contextlib import closing
from pathlib import Path

import django

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / "build" / "tables"
SOURCES = (
    "farmops/*/migrations/*.py",
    "scheduling/migrations/*.py",
    "ledger/migrations/*.py",
    "farmops/*/operations.py",
    "farmops/core/*.py",
    "farmops/settings/*.py",
    "tests/services/step_by_step.py",
    "tests/services/tables.py",
)
STEPS = ("-m", "tests.services.step_by_step")
FIRST_RELEASE = ("scheduling", "0001")  # and the farms that it stands on
FIRST_FARM = (
    "INSERT INTO farms_farm (code, name, zone, latitude_deg, longitude_deg, elevation_ft, road_address, boss_name, "
    "boss_phone, emergency_number, sheet_at) "
    "VALUES ('low-bend', 'Low Bend', 'America/New_York', 33, -83, 300, '', '', '', '911', '05:00:00')"
)
MOST_KEPT = 3
LAYING_S = 400


def migrate(environment: Mapping[str, str]) -> None:
    """Bring the database that the variables name up to date, in a process of its own."""
    _run(environment, "manage.py", "migrate", "-v0")


def _run(environment: Mapping[str, str], *words: str) -> None:
    subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env={**os.environ, **environment},
        check=True,
        timeout=LAYING_S,
    )


def on_file(file: Path) -> dict[str, str]:
    """Return the variables that name a SQLite file as the database."""
    return {"DJANGO_SETTINGS_MODULE": "farmops.settings.embedded", "FARMOPS_DATABASE": str(file)}


def laid() -> Path:
    """Return a file with all tables; the first to ask lays them, who asks meanwhile waits."""
    return _made_once(".sqlite3", _lay)


def of_the_first_farm() -> tuple[Path, Path]:
    """Return the tables of the first release with a farm in them, and what they and it became, laid as those of above."""
    upgraded = _made_once(".upgraded", _upgrade)
    return upgraded.with_suffix(".first"), upgraded


def _made_once(suffix: str, make: Callable[[Path], None]) -> Path:
    KEPT.mkdir(parents=True, exist_ok=True)
    file = (KEPT / _text_of_migrations()).with_suffix(suffix)
    with (KEPT / f"lock{suffix}").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)  # given back by the kernel, whatever becomes of this process
        if file.exists():
            file.touch()
            return file
        for old in sorted(KEPT.glob(f"*{suffix}"), key=lambda one: one.stat().st_mtime)[: -MOST_KEPT + 1]:
            old.unlink(missing_ok=True)
            old.with_suffix(".first").unlink(missing_ok=True)
        begun = KEPT / f"begun{suffix}"
        for left in KEPT.glob(f"{begun.name}*"):
            left.unlink()
        make(begun)
        begun.rename(file)
    return file


def _lay(begun: Path) -> None:
    migrate(on_file(begun))
    with closing(sqlite3.connect(begun)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")  # all of it in the one file


def _upgrade(begun: Path) -> None:
    _run(on_file(begun), *STEPS, *FIRST_RELEASE)
    with closing(sqlite3.connect(begun)) as connection, connection:
        connection.execute(FIRST_FARM)
    _copy(begun, (KEPT / _text_of_migrations()).with_suffix(".first"))
    _run(on_file(begun), *STEPS)
    with closing(sqlite3.connect(begun)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")


def _copy(file: Path, to: Path) -> None:
    with closing(sqlite3.connect(file)) as one, closing(sqlite3.connect(to)) as other:
        one.backup(other)


def _text_of_migrations() -> str:
    """Return a short name of all that says what the tables are: who wrote them, and with what."""
    digest = hashlib.sha256(f"{django.__version__} {sqlite3.sqlite_version}".encode())
    for source in sorted(path for pattern in SOURCES for path in ROOT.glob(pattern)):
        digest.update(f"{source.relative_to(ROOT)}\n".encode() + source.read_bytes())
    return digest.hexdigest()[:16]


if __name__ == "__main__":
    laid()
