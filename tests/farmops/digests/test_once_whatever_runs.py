"""At most one sheet per hand and day, whatever is started at once: real databases, real mail, many workers."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings as django_settings

from tests.farmops.digests import mail_server
from tests.farmops.digests.mail_server import MailServer

pytestmark = pytest.mark.long

HANDS, WORKERS = 45, 6


def race(server: MailServer, **variables: str) -> dict[str, object]:
    env = {
        **os.environ,
        **variables,
        "FARMOPS_EMAIL_BACKEND": "farmops.digests.smtp.EmailBackend",
        "FARMOPS_SMTP_HOST": server.host,
        "FARMOPS_SMTP_PORT": str(server.port),
    }
    command = [sys.executable, "-m", "tests.farmops.digests.race", str(HANDS), str(WORKERS)]
    done = subprocess.run(
        command, env=env, cwd=django_settings.BASE_DIR, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    said: dict[str, object] = json.loads(done.stdout)
    return said


def holds_once(server: MailServer, said: dict[str, object]) -> None:
    assert said["states"] == {"sent": HANDS}
    assert sum(said["sent"]) == HANDS  # type: ignore[call-overload]
    assert server.receivers() == sorted(f"hand-{number}@farm.example" for number in range(HANDS))


def test_workers_side_by_side_on_one_file_send_each_sheet_once(sqlite_file: Path) -> None:
    with mail_server.running() as server:
        said = race(
            server,
            DJANGO_SETTINGS_MODULE="farmops.settings.embedded",
            FARMOPS_DATABASE=str(sqlite_file),
        )
        holds_once(server, said)


def test_workers_side_by_side_on_a_database_server_send_each_sheet_once(
    postgres_database: dict[str, str],
) -> None:
    with mail_server.running() as server:
        said = race(
            server,
            **postgres_database,
            DJANGO_SETTINGS_MODULE="farmops.settings.service",
            FARMOPS_SECRET_KEY="only-for-this-race-0123456789-0123456789-0123456789",
        )
        holds_once(server, said)
        assert sum(sent > 0 for sent in said["sent"]) > 1, "one worker did it all: nothing raced"  # type: ignore[attr-defined]
