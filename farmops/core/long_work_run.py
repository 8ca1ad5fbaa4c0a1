"""Running long work: claimed with a lease, its beat heard by the database, settled only by whoever claimed it.

The three ways in which the settings have it run are `in_a_thread` (the process that serves the pages), `in_the_worker` of
`farmops.core.background` (Celery), and `at_once` (the suite, and commands without a server).
"""

import datetime as dt
import logging
import threading
import uuid
from collections.abc import Callable
from dataclasses import dataclass

from django.conf import settings
from django.db import DatabaseError, IntegrityError, OperationalError, connection, connections, transaction
from django.db.models import Q
from django.utils import translation
from django.utils.module_loading import import_string

from farmops.core import clock
from farmops.core.again import again
from farmops.core.long_work import CalledOff, Progress, keep_file
from farmops.core.models import LongWork, LongWorkState
from farmops.core.problems import DomainError

logger = logging.getLogger(__name__)
LEASE = dt.timedelta(seconds=60)
BEAT_S = 1.0
SLOTS = threading.BoundedSemaphore(2)
"""In the process of the pages two works run at a time, so that pages keep coming."""
OVERDUE = dt.timedelta(seconds=20)


@dataclass
class Beat:
    """What whoever runs a work tells the database of it, and hears from there."""

    work_id: int
    claim: uuid.UUID
    progress: Progress
    told: tuple[int, int, str] = (0, 0, "")
    renewed_at: dt.datetime | None = None

    def once(self, now: dt.datetime) -> None:
        """Write how far the work is, go on holding it, and hear whether it is to end."""
        mine = LongWork.objects.filter(pk=self.work_id, claim=self.claim, state=LongWorkState.UNDER_WAY)
        row = mine.values_list("call_off_at").first()
        if row is None or row[0] is not None:
            self.progress.ends = True
        if row is None:
            return
        far = (self.progress.done, self.progress.of, self.progress.words)
        is_old = self.renewed_at is None or now - self.renewed_at > LEASE / 6
        if far != self.told or is_old:
            done, of, words = far
            mine.update(done=done, of=of, words=words, lease_until=now + LEASE)
            self.told, self.renewed_at = far, now


def claim(*, work_id: int, now: dt.datetime) -> uuid.UUID | None:
    """Take a waiting work; None where somebody has it, or another of its kind is under way on the farm."""
    word = uuid.uuid4()
    try:
        with transaction.atomic():
            taken = LongWork.objects.filter(pk=work_id, state=LongWorkState.WAITING).update(
                state=LongWorkState.UNDER_WAY, claim=word, began_at=now, lease_until=now + LEASE
            )
    except IntegrityError:
        return None
    return word if taken else None


def give_up_lost(*, now: dt.datetime) -> int:
    """End the works that nobody has heard of for the length of a lease; return how many."""
    lost = LongWork.objects.filter(state=LongWorkState.UNDER_WAY, lease_until__lt=now)
    return lost.update(state=LongWorkState.STOPPED, ended_at=now)


def run(*, work_id: int, beats: bool = True) -> bool:
    """Claim a work and do it to its end; return whether it was ours. An error of the program goes on after it is told.

    With `beats` a thread of its own tells of it and listens; else that happens at each step of the work.
    """
    give_up_lost(now=clock.now())
    word = claim(work_id=work_id, now=clock.now())
    if word is None:
        return False
    work = LongWork.objects.select_related("farm", "asked_by").get(pk=work_id)
    over = threading.Event()
    if beats:
        progress = Progress(lambda: None)
        beat = Beat(work_id, word, progress)
        heart = threading.Thread(target=_beat_on, args=[beat, over], name=f"heart {work_id}", daemon=True)
        heart.start()
    else:
        progress = Progress(lambda: beat.once(clock.now()))
        beat = Beat(work_id, word, progress)
        heart = None
    progress.keep = lambda file: keep_file(work_id=work_id, file=file)
    ends: dict[str, object] = {"state": LongWorkState.FAILED}
    try:
        with translation.override("en"):
            result = import_string(settings.LONG_WORK[work.kind])(work, progress)
        ends = {"state": LongWorkState.FINISHED, "result": result.facts}
        if result.refused is not None:
            ends |= _refused(result.refused)
    except CalledOff:
        ends = {"state": LongWorkState.CALLED_OFF}
    except DomainError as error:
        ends = _refused(error)
    finally:
        over.set()
        if heart is not None:
            heart.join()
        _settle(work_id, word, progress, ends)
    return True


def run_with_followers(*, work_id: int, beats: bool = True) -> None:
    """Do a work, then those of its farm and kind that waited for it."""
    following: int | None = work_id
    while following is not None and run(work_id=following, beats=beats):
        work = LongWork.objects.get(pk=following)
        waiting = LongWork.objects.filter(farm_id=work.farm_id, kind=work.kind, state=LongWorkState.WAITING)
        following = waiting.order_by("pk").values_list("pk", flat=True).first()


def run_overdue(*, now: dt.datetime) -> int:
    """Do what has waited longer than whoever was to do it takes to begin; return how many were done."""
    count = 0
    waiting = LongWork.objects.filter(state=LongWorkState.WAITING, asked_at__lte=now - OVERDUE)
    for work_id in list(waiting.order_by("pk").values_list("pk", flat=True)):
        count += run(work_id=work_id)
    return count


def at_once(work_id: int) -> None:
    """Do a work here and now, and those that waited for it."""
    run_with_followers(work_id=work_id, beats=False)


def in_a_thread(work_id: int) -> None:
    """Do a work in a thread of this process once the transaction that asks for it has committed."""

    def work() -> None:
        try:
            with SLOTS:
                run_with_followers(work_id=work_id)
        finally:
            connections.close_all()

    thread = threading.Thread(target=work, name=f"long work {work_id}", daemon=True)
    transaction.on_commit(thread.start)


def _refused(error: DomainError) -> dict[str, object]:
    return {"state": LongWorkState.REFUSED, "code": error.code, "says": error.says}


def _settle(work_id: int, word: uuid.UUID, progress: Progress, ends: dict[str, object]) -> None:
    """Write how a work ended. One that was given up for lost and ended after all did end so: that is what counts."""
    mine = LongWork.objects.filter(pk=work_id, claim=word).filter(
        Q(state=LongWorkState.UNDER_WAY) | Q(state=LongWorkState.STOPPED)
    )
    far = {"done": progress.done, "of": progress.of, "words": progress.words}
    if not again(lambda: mine.update(**far, **ends, ended_at=clock.now(), lease_until=None)):
        logger.warning("The long work %s ended, and is no longer there to be told of it.", work_id)


def _beat_on(beat: Beat, over: threading.Event) -> None:
    try:
        if connection.vendor == "sqlite":  # what is told late is told at the next beat; nobody waits for it
            with connection.cursor() as cursor:
                cursor.execute("PRAGMA busy_timeout = 200")
        _until(over, lambda: beat.once(clock.now()))
    finally:
        connection.close()


def _until(over: threading.Event, once: Callable[[], None]) -> None:
    while True:
        try:
            once()
        except OperationalError:
            logger.info("The database was busy; the next beat tells of the work.")
        except DatabaseError:
            logger.exception("A beat of long work was not told.")
            connection.close()
        if over.wait(BEAT_S):
            return
