"""Two beats, many workers, tasks handed out again and again, workers killed, a person beside them: each mail once."""

import re
import signal
import threading
import time
from collections import Counter
from pathlib import Path

import pytest

from tests.faults.counting import counting
from tests.faults.sizes import SIZES
from tests.faults.stage import Stage, stage

pytestmark = pytest.mark.faults

RECEIVED = re.compile(r"Task \S+\[([0-9a-f-]{36})\] received")
HANDS = 50


def handed_out_again(one: Stage) -> int:
    """Return how many tasks came to a worker more than once."""
    ids = Counter(found for log in one.logs for found in RECEIVED.findall(log.read_text(encoding="utf-8")))
    return sum(count - 1 for count in ids.values())


def wait_for(one: Stage, rows: int, *, seconds: float) -> None:
    ends = time.monotonic() + seconds
    while one.count("state = 'sent'") < rows:
        said = "\n".join(log.read_text(encoding="utf-8")[-1500:] for log in one.logs)
        assert time.monotonic() < ends, f"not all were sent in {seconds} s\n{said}"
        time.sleep(0.5)


def test_two_beats_and_four_workers_with_every_task_handed_out_again_send_each_mail_once(
    postgres_database: dict[str, str], redis_url: str, tmp_path: Path
) -> None:
    """The broker takes back what a worker holds for a second (celery/celery issues 337 of kombu, 2599): it does so here."""
    rows = SIZES.rows_redelivered
    with (
        counting() as server,
        stage(
            database=postgres_database,
            redis_url=redis_url,
            server=server,
            folder=tmp_path,
            FARMOPS_TEST_VISIBLE_AFTER_S="1",
        ) as one,
    ):
        addresses = one.lay_crowd(farms=rows // HANDS, hands=HANDS)
        one.start("worker", "--concurrency=1", "--queues=celery,mail", times=4)
        one.start("beat", times=2)
        wait_for(one, rows, seconds=90 + rows / 10)
        time.sleep(5)
        again = handed_out_again(one)
    assert Counter(to for to, _identity in server.heads) == dict.fromkeys(addresses, 1)
    print(f"{rows} mails, tasks handed out again {again}, twice 0")
    assert again > 0, "nothing was handed out again: nothing was proven"


def test_ten_workers_and_a_person_change_nothing_and_killed_workers_lose_nothing(
    postgres_database: dict[str, str], redis_url: str, tmp_path: Path
) -> None:
    rows = max(300, SIZES.rows_redelivered // 5)
    with (
        counting() as server,
        stage(database=postgres_database, redis_url=redis_url, server=server, folder=tmp_path) as one,
    ):
        addresses = one.lay_crowd(farms=rows // HANDS, hands=HANDS)
        by_hand = [threading.Thread(target=one.manage, args=["send_sheets"]) for _person in range(2)]
        workers = one.start("worker", "--concurrency=5", "--queues=celery,mail", times=2)
        one.start("beat", times=2)
        for person in by_hand:
            person.start()
        while not server.heads:
            time.sleep(0.1)
        workers[0].send_signal(signal.SIGKILL)
        for person in by_hand:
            person.join()
        one.start("worker", "--concurrency=5", "--queues=celery,mail")
        wait_for(one, rows, seconds=240 + rows / 10)
    times = Counter(to for to, _identity in server.heads)
    assert set(times) == set(addresses)
    twice = sum(count - 1 for count in times.values())
    print(f"{rows} mails, one worker of five killed in the midst of it, twice {twice}")
    assert twice <= 5, "more than one mail a killed sender"
    assert len(server.times()) == rows, "a repeat with an identity of its own"
