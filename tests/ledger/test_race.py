"""Several processes post the same work at the same second, on both engines: once each, numbered without gaps."""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from django.conf import settings

RECORDS = 40
AT_ONCE = 3


def run(env: dict[str, str], *words: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-m", "tests.ledger.racing", *words],
        cwd=settings.BASE_DIR,
        env={**os.environ, "PYTHONWARNINGS": "error", **env},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def answer(process: "subprocess.Popen[str]") -> dict[str, object]:
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    result = json.loads(out)
    assert isinstance(result, dict)
    return result


def race(env: dict[str, str]) -> None:
    assert answer(run(env, "seed", str(RECORDS))) == {"records": RECORDS}
    start = str(time.time() + 3)
    reports = [answer(process) for process in [run(env, "post", start) for _ in range(AT_ONCE)]]
    corrected = RECORDS // 4
    fresh = RECORDS - 2 * corrected
    assert sum(int(str(report["posted"])) for report in reports) == corrected + fresh
    assert sum(int(str(report["reversed"])) for report in reports) == corrected
    books = answer(run(env, "count"))
    # one entry of each first record, its reversal, its correction; one of each fresh record
    assert books["entries"] == 3 * corrected + fresh
    assert books["numbers"] == list(range(1, 3 * corrected + fresh + 1))
    assert books["labor_cents"] == corrected * 4 * 1_800 + fresh * 5 * 1_800
    assert books["faults"] == []


def test_processes_on_one_sqlite_file_post_each_record_once(tmp_path: Path) -> None:
    race(
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded",
            "FARMOPS_DATABASE": str(tmp_path / "race.sqlite3"),
        }
    )


@pytest.mark.postgres
def test_processes_on_one_postgresql_post_each_record_once(postgres_database: dict[str, str]) -> None:
    race(
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.service",
            "FARMOPS_SECRET_KEY": "only-this-race-uses-it-0123456789-0123456789-0123456789",
            **postgres_database,
        }
    )
