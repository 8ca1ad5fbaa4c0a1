"""A database without tables is told in a sentence, not in a trace."""

import os
import subprocess
import sys
from pathlib import Path

from django.conf import settings


def test_a_command_on_a_database_without_tables_says_what_to_run(tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "manage.py", "windows", "--farm", "nowhere", "--from", "2026-04-20"],
        cwd=settings.BASE_DIR,
        env={
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded",
            "FARMOPS_DATABASE": str(tmp_path / "new.sqlite3"),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 1
    assert "run python manage.py migrate first" in run.stderr
    assert "Traceback" not in run.stderr
