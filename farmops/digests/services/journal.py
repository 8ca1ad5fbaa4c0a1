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
import uuid
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db.models import Q, QuerySet

from farmops.digests.models import OutboxRow, RowState

logger = logging.getLogger(__name__)

KEPT = dt.timedelta(days=4)
"""What was written this long ago is about rows whose day is over."""

UNSETTLED_AFTER = dt.timedelta(seconds=60)
"""A process that is alive settles its row at once; after this long it is taken for dead."""

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


def write_accepted(accepted: Accepted) -> bool:
    """Write one line down for good; False where there is no journal or it cannot be written: the mail is out all the same."""
    folder = settings.MAIL_JOURNAL_DIR
    if not folder:
        return False
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        # a process that was forked must not share the file of its parent: the process id is read each time
        path = Path(folder) / f"{accepted.at:%Y%m%d}-{_ID}-{os.getpid()}.journal"
        handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        try:
            os.write(handle, _line(accepted))
            os.fdatasync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        logger.error("The mail journal in %s cannot be written: %s.", folder, error.strerror)
        return False
    return True


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
