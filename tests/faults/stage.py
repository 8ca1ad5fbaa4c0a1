"""The service in service mode on one stage: database, broker, mail server, and programs by the compose file's own lines."""

import contextlib
import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

from tests.farmops.digests import mail_server
from tests.faults.counting import CountingServer
from tests.faults.processes import SECRET_KEY, run, run_json
from tests.flows.compose_file import command_of, environment_of
from tests.flows.test_service_mode import one_value, running


class Stage:
    """Where a proof is played."""

    def __init__(self, env: dict[str, str], folder: Path, stack: contextlib.ExitStack) -> None:
        self.env, self.folder, self._stack = env, folder, stack
        self.logs: list[Path] = []
        self.restarts: list[str] = []
        self._programs: list[tuple[str, tuple[str, ...], subprocess.Popen[bytes]]] = []
        self._farms = 0

    def start(self, name: str, *more: str, times: int = 1) -> list[subprocess.Popen[bytes]]:
        """Start a service of the compose file some times, each with a name and a memory of its own."""
        started = []
        for _time in range(times):
            number = len(self.logs)
            log = self.folder / f"{number}-{name}.log"
            self.logs.append(log)
            env = {**self.env, "FARMOPS_BEAT_FILE": str(self.folder / f"beat-{number}")}
            command = [
                f"--hostname={name}{number}@%h" if word.startswith("--hostname=") else word
                for word in command_of(name, env)
            ]
            started.append(self._stack.enter_context(running([*command, *more], env, log)))
            self._programs.append((name, more, started[-1]))
        return started

    def keep_up(self) -> None:
        """Start again what has ended, as the engine does (`restart: unless-stopped` in the compose file)."""
        ended = [one for one in self._programs if one[2].poll() is not None]
        self._programs = [one for one in self._programs if one not in ended]
        for name, more, _process in ended:
            self.restarts.append(name)
            self.start(name, *more)

    def lay_crowd(self, *, farms: int, hands: int) -> list[str]:
        """Lay more farms, whose sheets are due now, and return the hands' addresses."""
        words = [str(farms), str(hands), str(self._farms)]
        self._farms += farms
        addresses: list[str] = run_json("-m", "tests.faults.crowd", *words, env=self.env)
        return addresses

    def manage(self, *words: str) -> str:
        """Run a command of the service by hand."""
        return run("manage.py", *words, env=self.env)

    def count(self, where: str) -> int:
        """Return how many rows of the outbox are so."""
        return one_value(self.env, f"SELECT count(*) FROM digests_outboxrow WHERE {where}")


@contextlib.contextmanager
def stage(
    *, database: dict[str, str], redis_url: str, server: CountingServer, folder: Path, **variables: str
) -> Iterator[Stage]:
    """Give a stage; what was started on it ends with the block."""
    env = {
        **os.environ,
        **environment_of("worker", {"FARMOPS_HTTPS": "no"}),
        **database,
        **server.env(),
        "DJANGO_SETTINGS_MODULE": "tests.faults.busy_service",
        "FARMOPS_SECRET_KEY": SECRET_KEY,
        "FARMOPS_BROKER_URL": redis_url,
        "FARMOPS_CACHE_URL": redis_url.rpartition("/")[0] + "/1",
        "FARMOPS_WEB_PORT": str(mail_server.free_port()),
        "FARMOPS_MAIL_JOURNAL": str(folder / "journal"),
        **variables,
    }
    with contextlib.ExitStack() as stack:
        yield Stage(env, folder, stack)
