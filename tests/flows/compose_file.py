"""The compose file as the tests read it: parsed, with the variables filled in as the engine would."""

import os
import re
import shutil
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml
from django.conf import settings

PATH = Path(settings.BASE_DIR) / "docker-compose.yml"
OURS = ("migrate", "web", "worker", "postman", "planner", "beat")


def services() -> dict[str, Any]:
    """Return the services as they are written."""
    document: dict[str, Any] = yaml.safe_load(PATH.read_text(encoding="utf-8"))
    return document["services"]  # type: ignore[no-any-return]


def filled_in(text: str, variables: Mapping[str, str]) -> str:
    """Return text with `${NAME:-default}` replaced, an empty variable counting as unset."""
    return re.sub(r"\$\{(\w+):-([^}]*)\}", lambda found: variables.get(found[1]) or found[2], text)


def environment_of(name: str, variables: Mapping[str, str]) -> dict[str, str]:
    """Return the variables that a service is given, without those that point to the engine's secret files."""
    given = services()[name]["environment"].items()
    return {key: filled_in(str(value), variables) for key, value in given if not key.endswith("_FILE")}


def command_of(name: str, variables: Mapping[str, str]) -> list[str]:
    """Return the exact command line of one of our services, run by this environment's own programs."""
    return _local([filled_in(word, variables) for word in services()[name]["command"]])


def health_check_of(name: str, variables: Mapping[str, str]) -> list[str]:
    """Return the exact health check of one of our services."""
    return _local([filled_in(word, variables) for word in services()[name]["healthcheck"]["test"][1:]])


def _local(words: list[str]) -> list[str]:
    """Put this environment's own program in front: the image has the same ones on its path."""
    if words[0] == "python":
        return [sys.executable, *words[1:]]
    here = os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")])
    program = shutil.which(words[0], path=here)
    assert program is not None, f"{words[0]} is not installed with the service"
    return [program, *words[1:]]
