"""Several processes post the same work at the same moment, on both engines: once each, numbered without gaps."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

pytestmark = pytest.mark.long

RECORDS = 24
AT_ONCE = 3
BILLS_EACH = 4


def told(env: dict[str, str]) -> Any:
    done = subprocess.run(
        [sys.executable, "-m", "tests.ledger.racing", str(RECORDS), str(AT_ONCE)],
        cwd=settings.BASE_DIR,
        env={**os.environ, **env},
        capture_output=True,
        text=True,
        check=False,
        timeout=400,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def race(env: dict[str, str]) -> None:
    """Each record is posted once; of two who say at once what only one of them may, the second is told so. Nothing that is written after a close lands in its month, nothing is lost, and nobody
    is shown a collision; who goes past everything by SQL is stopped by the database alone, and by nothing without it."""
    corrected = RECORDS // 4
    fresh = RECORDS - 2 * corrected
    bills = AT_ONCE * BILLS_EACH
    found = told(env)
    assert found["post"] == {
        "exit_codes": [0] * (2 + AT_ONCE),
        "in_turn": True,
        "posted": corrected + fresh + bills,
        "reversed": corrected,
        # two bills before; one entry of each first record, its reversal, its correction; one of each of the rest
        "numbers": list(range(1, 2 + 3 * corrected + fresh + bills + 1)),
        "payees": 1,
        "labor_cents": (corrected * 4 + fresh * 5) * 1_800,
        "faults": [],
    }
    assert found["say"] == {
        "invoice": "bill_differs",
        "price": "rate_differs",
        "payment": "bill_differs",
        "bills": ["", "A-7", "B-1", "B-1"],
        "prices": 1,
        "paid": 0,
    }
    assert found["close"] == {
        "exit_codes": [0] * (AT_ONCE + 1),
        "posted": AT_ONCE * (RECORDS // 3),
        "some_before": True,
        "late": 0,
        "true_days": True,
        "faults": [],
        "past_everything": True,
        "exit_codes_of_two": [0, 0],
        "in_turn": ["cost", "slow", "close"],
        "refused_without_the_rule": False,
    }


def test_processes_on_one_sqlite_file_post_each_record_once_and_none_into_a_closed_month(
    sqlite_file: Path,
) -> None:
    race(
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded",
            "FARMOPS_DATABASE": str(sqlite_file),
        }
    )


def test_processes_on_one_postgresql_post_each_record_once_and_none_into_a_closed_month(
    postgres_database: dict[str, str],
) -> None:
    race(
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.service",
            "FARMOPS_SECRET_KEY": "only-this-race-uses-it-0123456789-0123456789-0123456789",
            **postgres_database,
        }
    )
