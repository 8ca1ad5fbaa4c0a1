"""The web server is told to stop while answers are under way: they are given whole, and it ends in its time.

Outside: gunicorn's documentation of signals (TERM: graceful shutdown, waits up to `graceful_timeout`), and the compose
file's `stop_grace_period`, after which the engine kills.
"""

import http.client
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from urllib.parse import urlencode

import psycopg
import pytest

from tests.flows.compose_file import command_of, services
from tests.flows.test_service_mode import answers, run, running, service_env, wait_until

__all__ = ["service_env"]
pytestmark = pytest.mark.faults
SLOW_S = 3.0
ENDS_S = 10.0
"""From the last answer on: a process that has nothing to do ends much sooner."""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "web.log"


@pytest.fixture
def web(service_env: dict[str, str], log: Path) -> Iterator[subprocess.Popen[bytes]]:
    """The web server as the compose file starts it, but that it listens on loopback itself."""
    run([sys.executable, "manage.py", "collectstatic", "--noinput"], service_env)  # as the image at its build
    command = [word.replace("0.0.0.0", "127.0.0.1") for word in command_of("web", service_env)]
    with running(command, service_env, log) as process:
        wait_until(lambda: answers(port_of(service_env), "/health/live", 200), [log])
        yield process


def port_of(env: dict[str, str]) -> int:
    return int(env["FARMOPS_WEB_PORT"])


def grace_s() -> float:
    return float(services()["web"]["stop_grace_period"].removesuffix("s"))


def tell_to_stop(web: subprocess.Popen[bytes], log: Path) -> None:
    """Tell the server to stop, as the engine does, and wait until it says that it was told."""
    web.send_signal(signal.SIGTERM)
    wait_until(lambda: "Handling signal: term" in log.read_text(encoding="utf-8"), [log])


def form_of_signing_in(port: int) -> tuple[dict[str, str], bytes]:
    """Ask for the form, and return the head and the body of one that is filled in wrong, with a long name."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    connection.request("GET", "/sign-in/", headers={"Host": "localhost"})
    answer = connection.getresponse()
    page, cookie = answer.read().decode(), answer.getheader("Set-Cookie", "")
    connection.close()
    assert answer.status == 200, (answer.status, dict(answer.headers), page[:2000])
    token = re.findall(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)[0]
    body = urlencode({"csrfmiddlewaretoken": token, "username": "x" * 100_000, "password": "x"}).encode()
    head = {
        "Host": "localhost",
        "Cookie": cookie.partition(";")[0],
        "Content-Type": "application/x-www-form-urlencoded",
        "Content-Length": str(len(body)),
    }
    return head, body


class Asked(threading.Thread):
    """Somebody who sends a form and waits for the answer; `send` writes what comes after the head."""

    def __init__(
        self, port: int, head: dict[str, str], send: Callable[[http.client.HTTPConnection], None]
    ) -> None:
        super().__init__(daemon=True)
        self._port, self._head, self._send = port, head, send
        self.status, self.page, self.lost = 0, "", ""
        self.start()

    def run(self) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=60)
        try:
            connection.putrequest("POST", "/sign-in/", skip_host=True)
            for name, value in self._head.items():
                connection.putheader(name, value)
            connection.endheaders()
            self._send(connection)
            answer = connection.getresponse()
            self.status, self.page = answer.status, answer.read().decode()
        except (OSError, http.client.HTTPException) as error:
            self.lost = repr(error)
        finally:
            connection.close()

    def is_whole(self) -> bool:
        """Say whether the page of a refused signing in has come to its end."""
        return (
            self.status == 200
            and "do not go together" in self.page
            and self.page.rstrip().endswith("</html>")
        )


@contextmanager
def users_locked(env: dict[str, str]) -> Iterator[Callable[[], bool]]:
    """Keep the table of users from every reader while the block lasts; what is given says whether one waits for it."""
    address = {
        "host": env["FARMOPS_DB_HOST"],
        "port": env["FARMOPS_DB_PORT"],
        "user": env["FARMOPS_DB_USER"],
        "password": env["FARMOPS_DB_PASSWORD"] or None,
        "dbname": env["FARMOPS_DB_NAME"],
    }
    with (
        psycopg.connect(**address) as holds,  # type: ignore[arg-type]
        psycopg.connect(**address, autocommit=True) as looks,  # type: ignore[arg-type]
    ):
        holds.execute("LOCK TABLE core_user IN ACCESS EXCLUSIVE MODE")

        def somebody_waits() -> bool:
            rows = looks.execute(
                "SELECT count(*) FROM pg_locks WHERE relation = 'core_user'::regclass AND NOT granted"
            ).fetchone()
            return bool(rows and rows[0])

        yield somebody_waits
        holds.rollback()


def test_a_page_that_is_being_made_is_given_whole_and_the_server_ends(
    web: subprocess.Popen[bytes], service_env: dict[str, str], log: Path
) -> None:
    port = port_of(service_env)
    head, body = form_of_signing_in(port)
    with users_locked(service_env) as somebody_waits:
        asked = Asked(port, head, lambda connection: connection.send(body))
        wait_until(somebody_waits, [])
        tell_to_stop(web, log)
        time.sleep(SLOW_S)
        assert web.poll() is None, "it waits for the answer"
        assert not asked.lost
    asked.join(timeout=ENDS_S)
    assert asked.is_whole(), (asked.status, asked.lost)
    assert web.wait(timeout=ENDS_S) == 0


def test_a_form_that_comes_in_slowly_is_read_to_its_end_and_answered(
    web: subprocess.Popen[bytes], service_env: dict[str, str], log: Path
) -> None:
    port = port_of(service_env)
    head, body = form_of_signing_in(port)
    is_half_there = threading.Event()

    def slowly(connection: http.client.HTTPConnection) -> None:
        connection.send(body[: len(body) // 2])
        time.sleep(0.5)  # a thread of the server has taken it up by then
        is_half_there.set()
        parts = 10
        rest = body[len(body) // 2 :]
        step = len(rest) // parts + 1
        for at in range(0, len(rest), step):
            time.sleep(SLOW_S / parts)
            connection.send(rest[at : at + step])

    asked = Asked(port, head, slowly)
    assert is_half_there.wait(ENDS_S)
    tell_to_stop(web, log)
    assert asked.is_alive()
    asked.join(timeout=SLOW_S + ENDS_S)
    assert asked.is_whole(), (asked.status, asked.lost)
    assert web.wait(timeout=ENDS_S) == 0


def test_an_answer_that_never_comes_does_not_keep_the_server_beyond_its_limit(
    web: subprocess.Popen[bytes], service_env: dict[str, str], log: Path
) -> None:
    """The engine kills after the grace period, and then nothing that was under way is given back."""
    port = port_of(service_env)
    head, body = form_of_signing_in(port)
    with users_locked(service_env) as somebody_waits:
        asked = Asked(port, head, lambda connection: connection.send(body))
        wait_until(somebody_waits, [])
        began = time.monotonic()
        tell_to_stop(web, log)
        with suppress(subprocess.TimeoutExpired):
            web.wait(timeout=grace_s())
        took_s = time.monotonic() - began
        assert web.poll() == 0, f"still there after {took_s:.0f} s"
        asked.join(timeout=ENDS_S)
        assert asked.lost, "it was waited for, and cut off in the end"
