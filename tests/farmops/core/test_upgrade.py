"""Tables that exist already are changed by later migrations with the guards' triggers in their way."""

import sqlite3
import subprocess
import sys
from pathlib import Path

from django.conf import settings


def migrate(database: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "manage.py", "migrate", *words],
        cwd=settings.BASE_DIR,
        env={
            "PATH": "",
            "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded",
            "FARMOPS_DATABASE": str(database),
        },
        capture_output=True,
        text=True,
        check=False,
    )


def triggers(database: Path) -> set[str]:
    with sqlite3.connect(database) as books:
        return {row[0] for row in books.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}


def test_a_database_of_the_first_release_is_brought_up_to_date_and_guarded(tmp_path: Path) -> None:
    database = tmp_path / "farm.sqlite3"
    done = migrate(database, "scheduling", "0001", "-v0")  # and the farms that it stands on
    assert done.returncode == 0, done.stderr
    guarded = triggers(database)
    assert "scheduling_workrecord_keeps_update" in guarded
    with sqlite3.connect(database) as books:
        books.execute(
            "INSERT INTO farms_farm (code, name, zone, latitude_deg, longitude_deg, elevation_ft, road_address, "
            "boss_name, boss_phone, emergency_number, sheet_at) "
            "VALUES ('low-bend', 'Low Bend', 'America/New_York', 33, -83, 300, '', '', '', '911', '05:00:00')"
        )
    done = migrate(database, "-v0")
    assert done.returncode == 0, done.stderr
    assert guarded < triggers(database)
    with sqlite3.connect(database) as books:
        assert books.execute("SELECT code, region FROM farms_farm").fetchall() == [("low-bend", "southeast")]
