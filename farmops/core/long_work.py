"""The door of long work: asked for on a page, done beside it, looked at, called off, and fetched when it has ended.

A kind of work is a name in `settings.LONG_WORK` with the dotted name of its doer, `do(work, progress) -> Result`. The doer reads what
was asked in `work.asked` and calls `progress(done, of, words)` between its steps, the cheaper the better: that call raises
`CalledOff` once somebody has called the work off, so that whatever transaction the doer is in rolls back. What is
stored (words, reasons, results) is English; pages say it in their reader's language. A doer keeps its writing short and at
its end: while it holds a transaction on SQLite, nobody else can write.

The database decides: the same key asked for twice is one row until it ends, and of each kind a farm has one under way. Who
runs it is `farmops.core.long_work_run`.
"""

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import IntegrityError, models, transaction
from django.utils.module_loading import import_string
from django.utils.translation import gettext as _

from farmops.core.models import LongWork, LongWorkPiece, LongWorkState, User
from farmops.core.problems import DomainError, Kind

KEPT = dt.timedelta(days=30)
FILE_KEPT = dt.timedelta(days=7)
PIECE_BYTES = 1 << 18


class CalledOff(DomainError):
    """Somebody called the work off, or it was given up for lost: whoever does it ends here and keeps nothing."""

    code = "long_work_called_off"
    kind = Kind.CONFLICT


class NoSuchKind(DomainError):
    """Nobody does long work of this kind."""

    code = "no_such_long_work"
    kind = Kind.INVALID


@dataclass(frozen=True)
class ResultFile:
    """A file that was written, to be kept for a week and fetched from the page of the work."""

    path: Path
    name: str
    content_type: str


@dataclass(frozen=True)
class Result:
    """What came of a work: plain values for its page, and why nothing else came of it where it was refused."""

    facts: dict[str, Any] = field(default_factory=dict)
    refused: DomainError | None = None


class Progress:
    """How far a work is, told by its doer and written by whoever runs it; raises CalledOff where it is to end."""

    def __init__(self, look: Callable[[], None]) -> None:
        """`look` is called at each step; whoever runs the work learns of it there."""
        self.done, self.of, self.words = 0, 0, ""
        self.keep: Callable[[ResultFile], object] | None = None
        self.ends = False
        self._look = look

    def __call__(self, done: int, of: int, words: str = "") -> None:
        """Tell that `done` of `of` is done (0 while nobody knows) and what is at work, in English."""
        self.tell(done, of, words)
        self.check()

    def tell(self, done: int, of: int, words: str = "") -> bool:
        """Tell the same where nothing may be raised, as in a thread of the doer's; return whether the work is to end."""
        self.done, self.of = max(0, min(done, of)), max(0, of)
        self.words = words[:120] or self.words
        return self.ends

    def check(self) -> None:
        """Raise CalledOff where the work is to end."""
        self._look()
        if self.ends:
            raise CalledOff(_("It was called off."))

    def keep_file(self, file: ResultFile) -> None:
        """Keep a file that was written, as it is now; the last one kept counts."""
        self.check()
        if self.keep is not None:
            self.keep(file)


def begin(
    *,
    farm: models.Model,
    kind: str,
    asked_by: User | None,
    asked: dict[str, Any],
    key: str,
    now: dt.datetime,
) -> LongWork:
    """Return the row of a work that was asked for, and have it begun; the same key that has not ended is the same row.

    Where the settings run such work at once, it has ended when this returns. Raises NoSuchKind.
    """
    if kind not in settings.LONG_WORK:
        raise NoSuchKind(_("Nobody does long work of the kind {kind}.").format(kind=kind))
    rows = LongWork.objects.filter(farm_id=farm.pk, kind=kind, key=key, ended_at=None)
    while True:
        known = rows.first()
        if known is not None:
            return known
        try:
            with transaction.atomic():
                work = LongWork.objects.create(
                    farm_id=farm.pk, kind=kind, key=key, asked=asked, asked_by=asked_by, asked_at=now
                )
            break
        except IntegrityError:  # somebody else asked for the same at this moment
            if LongWork.objects.filter(farm_id=farm.pk, kind=kind, key=key).first() is None:
                raise
    import_string(settings.LONG_WORK_RUNNER)(work.pk)
    work.refresh_from_db()
    return work


def call_off(*, work: LongWork, by: User | None, now: dt.datetime) -> LongWork:
    """Call a work off: at once where it waits, else at its next step. What has ended stays as it ended."""
    rows = LongWork.objects.filter(pk=work.pk)
    facts = {"call_off_at": now, "call_off_by": by}
    if not rows.filter(state=LongWorkState.WAITING).update(
        state=LongWorkState.CALLED_OFF, ended_at=now, **facts
    ):
        rows.filter(state=LongWorkState.UNDER_WAY, call_off_at=None).update(**facts)
    work.refresh_from_db()
    return work


def keep_file(*, work_id: int, file: ResultFile) -> int:
    """Keep a file as pieces in place of what was kept before; return how many bytes."""
    count = 0
    with transaction.atomic(), file.path.open("rb") as body:
        LongWorkPiece.objects.filter(work_id=work_id).delete()
        number = 0
        while content := body.read(PIECE_BYTES):
            LongWorkPiece.objects.create(work_id=work_id, number=number, content=content)
            number, count = number + 1, count + len(content)
        LongWork.objects.filter(pk=work_id).update(
            file_name=file.name, file_type=file.content_type, file_bytes=count
        )
    return count


def pieces(*, work: LongWork) -> Iterator[bytes]:
    """Yield the kept file piece by piece, so that memory stays flat."""
    for number in range(-(-(work.file_bytes or 0) // PIECE_BYTES)):
        yield bytes(LongWorkPiece.objects.values_list("content", flat=True).get(work=work, number=number))


def forget_old(*, now: dt.datetime) -> int:
    """Take out files that ended a week ago and rows that ended 30 days ago; return how many rows went."""
    over = LongWork.objects.filter(ended_at__lte=now - FILE_KEPT, file_bytes__isnull=False)
    LongWorkPiece.objects.filter(work__in=over).delete()
    over.update(file_bytes=None)
    gone = LongWork.objects.filter(ended_at__lte=now - KEPT)
    count = gone.count()
    gone.delete()
    return count
