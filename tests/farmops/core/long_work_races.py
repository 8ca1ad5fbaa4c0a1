"""Long work on the database that the environment names: asked for, claimed, called off and lost at the same moment.

`python -m tests.farmops.core.long_work_races`; what came of it is one line of JSON.
"""

import datetime as dt
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

import django

django.setup()

from django.conf import settings  # noqa: E402  (after the settings are read)
from django.db import connection, connections, transaction  # noqa: E402
from django.utils.module_loading import import_string  # noqa: E402

from farmops.core import clock, long_work, long_work_run  # noqa: E402
from farmops.core.long_work import Progress, Result, begin, call_off  # noqa: E402
from farmops.core.models import JobRun, LongWork, LongWorkState  # noqa: E402
from farmops.farms.models import Farm  # noqa: E402
from tests.factories import make_farm  # noqa: E402

AT_ONCE = 4
ROUNDS = 8
HERE = "tests.farmops.core.long_work_races"
seen: list[list[Any]] = []


def quick(work: LongWork, progress: Progress) -> Result:
    """Leave a trace, unless it is called off meanwhile: then the trace goes too."""
    with transaction.atomic():
        JobRun.objects.create(job=f"trace {work.pk}", slot=0, started_at=work.asked_at)
        time.sleep(0.002)
        progress(1, 1, "leaving a trace")
    return Result({"trace": work.pk})


def shown(work: LongWork, progress: Progress) -> Result:
    """Tell how far it is, and wait until that is seen from outside."""
    progress(3, 10, "waiting to be seen")
    for _try in range(200):
        row = list(LongWork.objects.values_list("done", "of", "words", "state").get(pk=work.pk))
        if row[0]:
            seen.append(row)
            break
        time.sleep(0.05)
    call_off(work=work, by=None, now=clock.now())
    for _try in range(200):
        progress(4, 10)
        time.sleep(0.05)
    raise AssertionError("nobody ended it")


def killed(work: LongWork, progress: Progress) -> Result:
    """Die as a process dies whose machine has no memory left."""
    os.kill(os.getpid(), signal.SIGKILL)
    raise AssertionError("it lives")


def no_one(work_id: int) -> None:
    """Begin nothing: whoever races does it."""


def together(does: list[Callable[[], Any]]) -> list[Any]:
    """Return what functions return that begin at the same moment, each with a connection of its own."""
    line, told = threading.Barrier(len(does)), [None] * len(does)

    def one(number: int) -> None:
        connection.ensure_connection()
        line.wait()
        try:
            told[number] = does[number]()
        finally:
            connections.close_all()

    threads = [threading.Thread(target=one, args=[number]) for number in range(len(does))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return told


def ask(farm: Farm, kind: str, key: str) -> LongWork:
    return begin(farm=farm, kind=kind, asked_by=None, asked={}, key=key, now=clock.now())


def pressed_and_claimed(farm: Farm) -> dict[str, Any]:
    same = {work.pk for work in together([lambda: ask(farm, "quick", "same")] * AT_ONCE)}
    other = ask(farm, "quick", "other").pk
    both = [*same, other]
    now = clock.now()
    claims = together(
        [lambda one=both[n % 2]: long_work_run.claim(work_id=one, now=now) for n in range(AT_ONCE)]
    )
    found = {
        "rows": len(same),
        "claimed": sum(one is not None for one in claims),
        "under_way": LongWork.objects.filter(state=LongWorkState.UNDER_WAY).count(),
    }
    LongWork.objects.all().delete()
    return found


def called_off_or_finished(farm: Farm) -> dict[str, Any]:
    wrong, ends = [], set()
    for number in range(ROUNDS):
        work = ask(farm, "quick", f"round {number}")
        pause = 0.001 * number
        together(
            [
                lambda work=work: long_work_run.run(work_id=work.pk, beats=False),
                lambda work=work, pause=pause: (
                    time.sleep(pause),
                    call_off(work=work, by=None, now=clock.now()),
                ),
            ]
        )
        work.refresh_from_db()
        is_kept = JobRun.objects.filter(job=f"trace {work.pk}").exists()
        ends.add(work.state)
        if is_kept is not (work.state == LongWorkState.FINISHED) or not work.is_over:
            wrong.append([work.state, is_kept])
    return {"wrong": wrong, "ends": sorted(ends)}


def lost(farm: Farm) -> dict[str, Any]:
    """A worker is killed: the lease tells, and the next press begins anew. One that only seemed so still ends as it ends."""
    work = ask(farm, "killed", "press")
    died = subprocess.run([sys.executable, "-m", HERE, str(work.pk)], check=False, capture_output=True)
    work.refresh_from_db()
    before = [died.returncode, work.state, ask(farm, "killed", "press").pk == work.pk]
    later = clock.now() + long_work_run.LEASE + dt.timedelta(seconds=1)
    gone = long_work_run.give_up_lost(now=later)
    work.refresh_from_db()
    again = ask(farm, "killed", "press")
    after = [gone, work.state, work.is_over, again.pk != work.pk]

    slow = ask(farm, "quick", "slow")
    word = long_work_run.claim(work_id=slow.pk, now=clock.now() - 2 * long_work_run.LEASE)
    progress = Progress(lambda: None)
    assert word is not None
    long_work_run.give_up_lost(now=clock.now())
    long_work_run.Beat(slow.pk, word, progress).once(clock.now())
    long_work_run._settle(slow.pk, word, progress, {"state": LongWorkState.FINISHED})
    slow.refresh_from_db()
    return {"before": before, "after": after, "slow": [progress.ends, slow.state]}


def watched(farm: Farm) -> list[Any]:
    work = ask(farm, "shown", "once")
    long_work_run.run(work_id=work.pk)
    work.refresh_from_db()
    return [seen, work.state]


def main() -> None:
    settings.LONG_WORK = {kind: f"{HERE}.{kind}" for kind in ("quick", "shown", "killed")}
    settings.LONG_WORK_RUNNER = f"{HERE}.no_one"
    if len(sys.argv) > 1:
        long_work_run.run(work_id=int(sys.argv[1]))
        return
    farm = make_farm()
    told = {
        "pressed": pressed_and_claimed(farm),
        "called_off": called_off_or_finished(farm),
        "lost": lost(farm),
        "watched": watched(farm),
    }
    print(json.dumps(told))
    assert long_work.forget_old(now=clock.now() + long_work.KEPT) > 0


if __name__ == "__main__":
    import_string(f"{HERE}.main")()  # under its own name, by which its doers are found
