"""The same report comes five times at once, and two settle what waits at once, on both engines."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

pytestmark = pytest.mark.long


def race(folder: Path, env: dict[str, str]) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "tests.scheduling.reporting_race", str(folder / "photos")],
        cwd=settings.BASE_DIR,
        env={**os.environ, "PYTHONWARNINGS": "error", **env},
        capture_output=True,
        text=True,
        timeout=180,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    report = json.loads(ran.stdout)
    told, kept = report["told"], report["kept"]
    assert told["same"] == ["again"] * 4 + ["kept"]
    assert told["own"] == ["kept"] + ["refused"] * 4
    assert told["day"] == ["kept"] + ["parked"] * 4, "hours over hours wait, and one of five comes first"
    assert told["photo"] == ["kept"] * 4 + ["refused"]
    assert told["settled"].count("parked_settled") == 4
    (settled,) = {"taken", "set_aside"} & set(told["settled"])
    assert kept["reports"] == 2 + 5
    assert kept["hand_min"][0] in range(60, 301, 60)
    assert len(kept["hand_min"]) == 2
    assert kept["days"] == ([60, 600] if settled == "taken" else [600])
    assert kept["photos"] == 4 == len(list((folder / "photos").rglob("*.jpg")))
    assert kept["settled"] == sorted([settled, *["waiting"] * 3])


def test_on_one_sqlite_file_a_report_is_kept_once_and_settled_once(sqlite_file: Path, tmp_path: Path) -> None:
    race(
        tmp_path,
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded",
            "FARMOPS_DATABASE": str(sqlite_file),
        },
    )


def test_on_one_postgresql_a_report_is_kept_once_and_settled_once(
    postgres_database: dict[str, str], tmp_path: Path
) -> None:
    race(
        tmp_path,
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.service",
            "FARMOPS_SECRET_KEY": "only-this-race-uses-it-0123456789-0123456789-0123456789",
            **postgres_database,
        },
    )
