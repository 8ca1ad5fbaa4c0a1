"""The service as it runs: real PostgreSQL, real Redis, and the compose file's own command lines as processes."""

import http.client
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import psycopg
import pytest
from django.conf import settings as django_settings

from tests.farmops.digests import mail_server
from tests.farmops.digests.mail_server import MailServer
from tests.flows.compose_file import command_of, environment_of, health_check_of

pytestmark = pytest.mark.long

PATIENCE_S = 60
LONG_WORK_ENDED = "SELECT count(*) FROM core_longwork WHERE state = 'finished'"


@contextmanager
def running(command: list[str], env: dict[str, str], log: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Run a service for as long as the block lasts, and end it as the engine would."""
    with log.open("wb") as out:
        process = subprocess.Popen(
            command, env=env, cwd=django_settings.BASE_DIR, stdout=out, stderr=subprocess.STDOUT
        )
        try:
            yield process
        finally:
            process.send_signal(signal.SIGTERM)
            try:
                process.wait(timeout=15)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def run(command: list[str], env: dict[str, str]) -> str:
    done = subprocess.run(
        command, env=env, cwd=django_settings.BASE_DIR, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


def wait_until(is_so: Callable[[], bool], logs: list[Path]) -> None:
    ends = time.monotonic() + PATIENCE_S
    while not is_so():
        said = "\n".join(f"== {log.name}\n{log.read_text(encoding='utf-8')[-3000:]}" for log in logs)
        assert time.monotonic() < ends, f"It did not happen within {PATIENCE_S} s.\n{said}"
        time.sleep(0.2)


def one_value(env: dict[str, str], sql: str) -> int:
    with psycopg.connect(
        host=env["FARMOPS_DB_HOST"],
        port=env["FARMOPS_DB_PORT"],
        user=env["FARMOPS_DB_USER"],
        password=env["FARMOPS_DB_PASSWORD"] or None,
        dbname=env["FARMOPS_DB_NAME"],
    ) as connection:
        row = connection.execute(sql).fetchone()  # type: ignore[call-overload]
    assert row is not None
    return int(row[0])


def answers(port: int, path: str = "/api/", status: int | None = None) -> bool:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        connection.request("GET", path, headers={"Host": "localhost"})
        got = connection.getresponse().status
        return got == status if status else got < 500
    except (ConnectionRefusedError, TimeoutError):
        return False
    finally:
        connection.close()


@pytest.fixture
def service_env(postgres_database: dict[str, str], redis_url: str, tmp_path: Path) -> dict[str, str]:
    return {
        **os.environ,
        **environment_of("worker", {"FARMOPS_HTTPS": "no"}),
        **postgres_database,
        "DJANGO_SETTINGS_MODULE": "tests.flows.quick_service",
        "FARMOPS_SECRET_KEY": "only-for-this-flow-0123456789-0123456789-0123456789",
        "FARMOPS_BROKER_URL": redis_url,
        "FARMOPS_CACHE_URL": redis_url[:-1] + "1",
        "FARMOPS_WEB_PORT": str(mail_server.free_port()),
        "FARMOPS_BEAT_FILE": str(tmp_path / "beat"),
        "FARMOPS_MAIL_JOURNAL": str(tmp_path / "journal"),
    }


def test_sheets_go_out_once_and_costs_are_posted_whatever_is_started_twice(
    service_env: dict[str, str], tmp_path: Path
) -> None:
    with mail_server.running() as server, ExitStack() as stack:
        env = {**service_env, "FARMOPS_SMTP_HOST": server.host, "FARMOPS_SMTP_PORT": str(server.port)}
        run(command_of("migrate", env), env)
        logs = [
            tmp_path / f"{name}.log"
            for name in ("worker", "postman", "planner", "beat", "second-beat", "web")
        ]
        commands = [command_of(name, env) for name in ("worker", "postman", "planner", "beat")]
        second = {**env, "FARMOPS_BEAT_FILE": str(tmp_path / "second-beat-file")}
        commands += [command_of("beat", second), command_of("web", env)]
        processes = [
            stack.enter_context(running(command, env, log))
            for command, log in zip(commands, logs, strict=True)
        ]
        addresses = json.loads(run([sys.executable, "-m", "tests.flows.service_farm"], env))
        assert len(addresses) == 2

        wait_until(lambda: len(server.taken) >= 2, logs)
        wait_until(lambda: one_value(env, "SELECT count(*) FROM ledger_entry") >= 1, logs)
        wait_until(lambda: one_value(env, LONG_WORK_ENDED) == 1, logs)
        wait_until(lambda: answers(int(env["FARMOPS_WEB_PORT"])), logs)

        said = run([sys.executable, "manage.py", "send_sheets"], env)
        assert said.startswith("made 0, nothing due")
        for name in ("worker", "web"):
            run(health_check_of(name, env), env)
        assert answers(int(env["FARMOPS_WEB_PORT"]), "/health/ready", status=200)
        assert [process.poll() for process in processes] == [None] * 6

        assert server.receivers() == addresses
        holds_the_day(server)
        assert one_value(env, "SELECT count(*) FROM digests_outboxrow WHERE state = 'sent'") == 2
        assert one_value(env, "SELECT count(*) FROM ledger_entry") == 1
        # half an hour of wage, a third of an hour of tractor and of disk: 9.00 + 21.67 + 4.83 dollars
        assert one_value(env, "SELECT sum(cents) FROM ledger_line WHERE cents > 0") == 3550


def holds_the_day(server: MailServer) -> None:
    subjects = sorted(str(message["Subject"]).partition(" (")[0] for message in server.messages())
    assert subjects == ["First: Pond Imani: disk", "First: Pond Odell: disk"]
