"""The database server crashes and comes back in the midst of sending: each mail once."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from pathlib import Path

import psycopg
import pytest
from django.conf import settings

from farmops.bench import postgres_server
from tests.faults.counting import counting
from tests.faults.processes import run
from tests.faults.sizes import SIZES
from tests.faults.stage import stage
from tests.services.postgres import FAST

pytestmark = pytest.mark.faults
HANDS = 50


def crash(env: dict[str, str]) -> None:
    """Kill one of the server's own processes: it ends all others, goes through its log and begins anew."""
    while True:
        try:
            connection = psycopg.connect(
                host=env["FARMOPS_DB_HOST"],
                port=env["FARMOPS_DB_PORT"],
                user=env["FARMOPS_DB_USER"],
                dbname=env["FARMOPS_DB_NAME"],
                autocommit=True,
            )
        except psycopg.OperationalError:  # not back yet from the last time
            time.sleep(0.2)
            continue
        os.kill(connection.info.backend_pid, signal.SIGKILL)
        connection.close()
        return


def test_a_database_that_crashes_while_mail_goes_out_costs_nobody_a_mail_and_sends_none_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(
        "FARMOPS_TEST_POSTGRES_HOST", raising=False
    )  # one of its own: it is going to be killed
    rows = SIZES.restart_rows // HANDS * HANDS
    with counting() as server, postgres_server.running(options=FAST) as address:
        database = address.env("FARMOPS_DB", "postgres")
        with stage(
            database=database, redis_url="redis://127.0.0.1:1/0", server=server, folder=tmp_path
        ) as one:
            run("manage.py", "migrate", "-v0", env=one.env)
            addresses = one.lay_crowd(farms=rows // HANDS, hands=HANDS)
            server.waits_s = 0.01
            ends = time.monotonic() + 240 + rows / 10
            crashes = 0
            while len(set(server.times())) < rows or crashes < 3:
                assert time.monotonic() < ends, f"{len(server.times())} of {rows} were sent"
                before = len(server.heads)
                person = threading.Thread(target=send_whatever_happens, args=[one.env])
                person.start()
                while person.is_alive():
                    if crashes < 3 and len(server.heads) > before + rows // 6:
                        crash(one.env)
                        crashes += 1
                        before = len(server.heads)
                    time.sleep(0.02)
                person.join()
            assert crashes == 3
    times = Counter(to for to, _identity in server.heads)
    assert set(times) == set(addresses)
    assert max(times.values()) == 1
    print(f"{rows} mails, the database crashed {crashes} times: missing 0, twice 0")


def send_whatever_happens(env: dict[str, str]) -> None:
    """Run the command as cron would: one that fails is run again."""
    command = [sys.executable, "manage.py", "send_sheets"]
    subprocess.run(command, env=env, cwd=settings.BASE_DIR, capture_output=True, check=False, timeout=600)
