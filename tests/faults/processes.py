"""Programs of the service as processes, on databases and brokers of their own."""

import json
import os
import subprocess
import sys
from typing import Any

from django.conf import settings

SECRET_KEY = "only-for-these-faults-0123456789-0123456789-0123456789"


def run(*command: str, env: dict[str, str], seconds: float = 3600) -> str:
    """Run a program of this environment's python to its end and return what it wrote; a failure shows all of it."""
    done = subprocess.run(
        [sys.executable, *command],
        env={**os.environ, **env},
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=False,
        timeout=seconds,
    )
    assert done.returncode == 0, f"{command}\n{done.stdout[-3000:]}\n{done.stderr[-6000:]}"
    return done.stdout


def run_json(*command: str, env: dict[str, str], seconds: float = 3600) -> Any:
    """Run a program that prints JSON."""
    return json.loads(run(*command, env=env, seconds=seconds))
