"""A line on disk for each message that a mail server took, written before the database hears of it.

Between the server's 250 and the commit that settles the row, a program may die or the database may be away. The line
says that the message went out, so the row is settled from it instead of being sent again. Each process writes a file of
its own, a new one each day; each line is checked by itself, so one that was cut off half-way harms no other.
"""

import datetime as dt
import json
import logging
import os
import secrets
import socket
import threading
import uuid
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from django.conf import settings
from django.db.models import Q, QuerySet

from farmops.digests.models import OutboxRow, RowState

logger = logging.getLogger(__name__)

KEPT = dt.timedelta(days=4)
"""What was written this long ago is about rows whose day is over."""

UNSETTLED_AFTER = dt.timedelta(seconds=60)
"""A process that is alive settles its row at once; after this long it is taken for dead."""

MOMENT_S = 0.02
"""So long a line waits for others to come to the disk with it, unless somebody waits for it."""

_OPEN_ENDS = (RowState.UNKNOWN, RowState.RETRY, RowState.DUE, RowState.SKIPPED, RowState.DEAD)
_ID = f"{socket.gethostname()[:40]}-{secrets.token_hex(4)}"


@dataclass(frozen=True)
class Accepted:
    """That a message was taken: the row with its Message-ID, the claim under which, when, and the server's words."""

    row_id: int
    message_id: str
    attempt: int
    token: uuid.UUID
    at: dt.datetime
    reply: str


class Journal:
    """The file of this process, open for the length of a run: `with Journal() as journal`.

    A line is with the operating system when `write` returns, so the end of the process cannot take it back. A thread
    brings lines to the disk, those of a moment together, and `sync` waits for that: only the loss of the whole machine can
    take lines, those of the last few hundredths of a second.
    """

    def __init__(self) -> None:
        self._name, self._handle = "", -1
        self._changes = threading.Condition()
        self._written, self._synced, self._awaited, self._ends = 0, 0, 0, False
        self._thread: threading.Thread | None = None

    def __enter__(self) -> "Journal":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        with self._changes:
            self._ends = True
            self._changes.notify_all()
        if self._thread is not None:
            self._thread.join()
        self._close()

    def write(self, accepted: Accepted) -> bool:
        """Write one line; False where there is no journal or it cannot be written: the mail is out all the same."""
        folder = settings.MAIL_JOURNAL_DIR
        if not folder:
            return False
        try:
            self._open(Path(folder), f"{accepted.at:%Y%m%d}-{_ID}-{os.getpid()}.journal")
            os.write(self._handle, _line(accepted))
        except OSError as error:
            logger.error("The mail journal in %s cannot be written: %s.", folder, error.strerror)
            return False
        with self._changes:
            self._written += 1
            if self._written == self._synced + 1:  # else the thread is awake
                self._changes.notify_all()
        if self._thread is None:
            self._thread = threading.Thread(target=self._keep_syncing, name="mail journal", daemon=True)
            self._thread.start()
        return True

    def sync(self) -> None:
        """Wait until every line that was written is on the disk."""
        with self._changes:
            self._awaited = self._written
            self._changes.notify_all()
            self._changes.wait_for(lambda: self._synced == self._written)

    def _keep_syncing(self) -> None:
        while True:
            with self._changes:
                self._changes.wait_for(lambda: self._ends or self._synced < self._written)
                if self._synced == self._written:
                    return
                self._changes.wait_for(lambda: self._ends or self._synced < self._awaited, MOMENT_S)
                until = self._written
            try:
                os.fdatasync(self._handle)
            except OSError as error:
                logger.error("The mail journal cannot be brought to the disk: %s.", error.strerror)
            with self._changes:
                self._synced = until
                self._changes.notify_all()

    def _open(self, folder: Path, name: str) -> None:
        if name == self._name:
            return
        self.sync()
        self._close()
        folder.mkdir(parents=True, exist_ok=True)
        self._handle = os.open(folder / name, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        self._name = name

    def _close(self) -> None:
        if self._name:
            os.close(self._handle)
            self._name = ""


def settle_from_journal(*, now: dt.datetime) -> int:
    """Settle the rows that the journal says were taken and that nobody settled; return how many there were."""
    in_doubt = set(_in_doubt(now).values_list("message_id", flat=True))
    if not in_doubt:
        return 0
    settled = 0
    for one in read_accepted():
        if one.message_id in in_doubt and one.at <= now - UNSETTLED_AFTER:
            settled += _settled(one)
    return settled


def sweep_journal(*, now: dt.datetime) -> int:
    """Remove the files of days that are some time past, by their names; return how many."""
    removed = 0
    oldest = f"{now - KEPT:%Y%m%d}"
    for path in _files():
        if path.name[:8] < oldest:
            try:
                path.unlink()
                removed += 1
            except OSError as error:
                logger.warning("%s cannot be removed: %s.", path, error.strerror)
    return removed


def read_accepted() -> Iterable[Accepted]:
    """Yield every whole line of the journal; a line that does not match its check is passed over."""
    for path in _files():
        try:
            lines = path.read_bytes().split(b"\n")
        except OSError as error:
            logger.error("%s cannot be read: %s.", path, error.strerror)
            continue
        for line in lines:
            found = _read(line)
            if found is not None:
                yield found


def _in_doubt(now: dt.datetime) -> QuerySet[OutboxRow]:
    doubt = Q(state=RowState.SENDING) | Q(state__in=_OPEN_ENDS, may_have_arrived=True)
    return OutboxRow.objects.filter(doubt, due_at__gte=now - KEPT, due_at__lte=now + KEPT)


def _settled(one: Accepted) -> int:
    row = OutboxRow.objects.filter(pk=one.row_id, message_id=one.message_id)
    ends = Q(state__in=_OPEN_ENDS) | Q(state=RowState.SENDING, claim_token=one.token)
    return row.filter(ends).update(
        state=RowState.SENT,
        reason="",
        sent_at=one.at,
        smtp_reply=one.reply,
        error_class="",
        claim_token=None,
        claim_until=None,
    )


def _files() -> list[Path]:
    folder = settings.MAIL_JOURNAL_DIR
    return sorted(Path(folder).glob("*.journal")) if folder else []


def _line(one: Accepted) -> bytes:
    facts = [one.row_id, one.message_id, one.attempt, one.token.hex, one.at.isoformat(), one.reply]
    text = json.dumps(facts).encode()
    return b"%08x %s\n" % (zlib.crc32(text), text)


def _read(line: bytes) -> Accepted | None:
    check, _, text = line.partition(b" ")
    try:
        if int(check, 16) != zlib.crc32(text):
            return None
        row_id, message_id, attempt, token, at, reply = json.loads(text)
        return Accepted(row_id, message_id, attempt, uuid.UUID(token), dt.datetime.fromisoformat(at), reply)
    except (ValueError, TypeError):
        return None
