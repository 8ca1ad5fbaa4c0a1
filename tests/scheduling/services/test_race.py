"""Several threads record, plan and send at once, on both engines."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

pytestmark = pytest.mark.long


def race(env: dict[str, str]) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "tests.scheduling.racing"],
        cwd=settings.BASE_DIR,
        env={**os.environ, "PYTHONWARNINGS": "error", **env},
        capture_output=True,
        text=True,
        timeout=180,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    report = json.loads(ran.stdout)
    assert sorted(one["is_new"] for one in report["told"]) == [False, False, True]
    assert sorted(one["is_kept"] for one in report["told"]) == [False, True, True], "a day has 24 hours"
    was_sent = {one["number"]: one["is_sent"] for one in report["told"]}
    assert was_sent[3], "the newest plan is sent whoever comes first"
    assert report["kept"] == {
        "hand_min": [60, 600, 600],
        "done_ac": ["0.00", "5.00", "5.00", "5.00"],
        "plans": [1, 2, 3],
        "states": [*("replaced" if was_sent[number] else "made" for number in (1, 2)), "sent"],
    }


def test_on_one_sqlite_file_each_record_is_kept_once_and_one_plan_is_sent(sqlite_file: Path) -> None:
    race(
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded",
            "FARMOPS_DATABASE": str(sqlite_file),
        }
    )


def test_on_one_postgresql_each_record_is_kept_once_and_one_plan_is_sent(
    postgres_database: dict[str, str],
) -> None:
    race(
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.service",
            "FARMOPS_SECRET_KEY": "only-this-race-uses-it-0123456789-0123456789-0123456789",
            **postgres_database,
        }
    )
