"""A beat that is silent and a worker that is deaf are seen by health within three minutes, by the outcome alone."""

import json
import os
import signal
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from tests.faults.counting import counting
from tests.faults.processes import run
from tests.faults.sizes import SIZES
from tests.faults.stage import Stage, stage
from tests.flows.test_service_mode import answers

pytestmark = pytest.mark.faults

NOTICED_WITHIN_S = 180
LATER = """
import django; django.setup()
import datetime as dt, sys
from farmops.core import clock
from farmops.digests.selectors.outbox import health
sys.stdout.write(str(health(job="send_sheets", now=clock.now() + dt.timedelta(seconds=float(sys.argv[1]))).is_ready))
"""


def asked(one: Stage) -> tuple[int, dict[str, object]]:
    address = urllib.request.Request(
        f"http://127.0.0.1:{one.env['FARMOPS_WEB_PORT']}/health/ready", headers={"Host": "localhost"}
    )
    try:
        with urllib.request.urlopen(address, timeout=20) as answer:
            return answer.status, json.load(answer)
    except urllib.error.HTTPError as refusal:
        return refusal.code, json.load(refusal)


def wait_until_ready(one: Stage) -> None:
    ends = time.monotonic() + 120
    while not answers(int(one.env["FARMOPS_WEB_PORT"]), "/health/ready", status=200):
        assert time.monotonic() < ends, "never ready"
        time.sleep(0.5)


@pytest.mark.parametrize("silent", ["beat", "worker", "postman"])
def test_who_is_frozen_is_noticed_within_three_minutes(
    silent: str, postgres_database: dict[str, str], redis_url: str, tmp_path: Path
) -> None:
    """In full the three minutes are waited for; else health is asked from the point of view of that hour."""
    with (
        counting() as server,
        stage(database=postgres_database, redis_url=redis_url, server=server, folder=tmp_path) as one,
    ):
        web = one.start("web")
        programs = {name: one.start(name) for name in ("worker", "postman", "beat")}
        wait_until_ready(one)
        # the parent is frozen and its children with it: alive for whoever counts processes, and deaf
        children = [int(pid) for pid in child_ids(programs[silent][0].pid)]
        for pid in (programs[silent][0].pid, *children):
            os.kill(pid, signal.SIGSTOP)
        frozen = time.monotonic()
        try:
            if silent == "postman":
                one.lay_crowd(farms=1, hands=3)
            if SIZES.silence_s:
                while asked(one)[0] == 200:
                    assert time.monotonic() - frozen < NOTICED_WITHIN_S + 5
                    time.sleep(1)
                print(f"{silent} frozen: not ready after {time.monotonic() - frozen:.0f} s")
            else:
                time.sleep(6)
                status, facts = asked(one)
                assert status == (
                    503 if silent == "postman" else 200
                )  # what is overdue already is seen at once
                ready = run("-c", LATER, str(NOTICED_WITHIN_S - 6), env=one.env)
                assert ready == "False", facts
            assert web[0].poll() is None
        finally:
            for pid in (programs[silent][0].pid, *children):
                os.kill(pid, signal.SIGCONT)


def child_ids(pid: int) -> list[str]:
    return Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii").split()
