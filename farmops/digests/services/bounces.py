"""Take in mail that comes back: which row it is about, and what follows. Nothing is ever answered.

Each message has a sender of its own for the way back, with a word that only who got the message can know. A report
without that word counts only when it names the message and the address it went to.
"""

import datetime as dt
import os
from enum import StrEnum
from pathlib import Path

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from farmops.digests.bounce_report import (
    LARGEST_BYTES,
    Failure,
    Report,
    read_incoming,
    read_report,
    same_form,
)
from farmops.digests.models import BounceReport, OutboxRow, Purpose, RowState
from farmops.digests.services.person_links import open_link, stop_by
from farmops.digests.services.suppressing import suppress_after

OLDEST = dt.timedelta(days=30)
"""Farm judgement: servers try for some days; what comes a month later is no news of this message."""
WORDS_TO_STOP = ("stop", "unsubscribe")


class Taken(StrEnum):
    """What became of an incoming mail."""

    COUNTED = "counted"
    KNOWN = "known"
    STOPPED = "stopped"
    NOT_OURS = "not_ours"
    NOT_A_REPORT = "not_a_report"


def bounce_address(row: OutboxRow) -> str:
    """Return the address to which a row's reports go; empty where none is set up."""
    if not settings.BOUNCE_ADDRESS or not row.bounce_token:
        return ""
    local, _, domain = settings.BOUNCE_ADDRESS.rpartition("@")
    return f"{local}+{row.bounce_token}@{domain}"


def bounce_sender(row: OutboxRow) -> str:
    """Return the sender of the envelope of a row's message: where reports go, else the service's own address."""
    return bounce_address(row) or settings.DEFAULT_FROM_EMAIL


def take_report(*, content: bytes, now: dt.datetime) -> Taken:
    """Take in one mail, and say what became of it. Taken in twice, it counts once."""
    report = read_report(content)
    if report is None:
        return _take_word(content, now)
    row = _row_of(report, now)
    failure = _failure_of(report, row) if row is not None else None
    if row is None or failure is None:
        return Taken.NOT_OURS
    if failure.status.startswith("2."):
        return Taken.NOT_A_REPORT  # it went through
    kept = _keep(row, failure, now)
    if kept is None:
        return Taken.KNOWN
    suppress_after(report=kept, now=now)
    return Taken.COUNTED


def read_maildir(*, now: dt.datetime) -> int:
    """Take in what lies in the folder for incoming mail, each file once; return how many files that was.

    A file that cannot be read stays where it is and keeps no other from being read.
    """
    if not settings.BOUNCE_MAILDIR:
        return 0
    folder = Path(settings.BOUNCE_MAILDIR)
    read = 0
    for path in sorted(_files(folder / "new")):
        content = _content(path)
        if content is None:
            continue
        take_report(content=content, now=now)
        _put_away(path, folder / "cur")
        read += 1
    return read


def _take_word(content: bytes, now: dt.datetime) -> Taken:
    """Stop a kind of mail where somebody wrote just that, to the address in the head of one."""
    incoming = read_incoming(content)
    if incoming is None or incoming.is_automatic or incoming.subject.lower() not in WORDS_TO_STOP:
        return Taken.NOT_A_REPORT
    row = _by_token(incoming.receivers, now)
    if row is None:
        return Taken.NOT_OURS
    link = open_link(farm=row.farm, person=row.person, purpose=Purpose.STOP, kind=row.kind, now=now)
    stop_by(link=link, now=now)
    return Taken.STOPPED


def _row_of(report: Report, now: dt.datetime) -> OutboxRow | None:
    row = _by_token(report.receivers, now)
    if row is None and report.message_id:
        row = _recent(now).filter(message_id=report.message_id).first()
    return row


def _by_token(receivers: tuple[str, ...], now: dt.datetime) -> OutboxRow | None:
    local, _, domain = settings.BOUNCE_ADDRESS.lower().rpartition("@")
    if not local:
        return None
    begins, ends = f"{local}+", f"@{domain}"
    tokens = [
        one.removeprefix(begins).removesuffix(ends)
        for one in receivers
        if one.startswith(begins) and one.endswith(ends)
    ]
    return _recent(now).filter(bounce_token__in=[token for token in tokens if token]).first()


def _recent(now: dt.datetime) -> QuerySet[OutboxRow]:
    """Return the rows of the last month that went out, or may have."""
    rows = OutboxRow.objects.filter(due_at__gt=now - OLDEST).exclude(address="")
    rows = rows.filter(state=RowState.SENT) | rows.filter(may_have_arrived=True)
    return rows.select_related("farm", "hand", "user").defer("content").order_by("pk")


def _failure_of(report: Report, row: OutboxRow) -> Failure | None:
    """Return what is said of the address that the row went to; a report of any other address is not about it."""
    said = [one for one in report.failures if one.address == same_form(row.address)]
    return max(said, key=lambda one: one.status, default=None)


def _keep(row: OutboxRow, failure: Failure, now: dt.datetime) -> BounceReport | None:
    try:
        with transaction.atomic():
            return BounceReport.objects.create(
                farm=row.farm,
                row=row,
                address=row.address.lower(),
                status=failure.status,
                action=failure.action,
                says=failure.says,
                received_at=now,
            )
    except IntegrityError:
        return None


def _files(folder: Path) -> list[Path]:
    try:
        with os.scandir(folder) as entries:
            return [Path(one.path) for one in entries if one.is_file(follow_symlinks=False)]
    except OSError:
        return []


def _content(path: Path) -> bytes | None:
    """Return a file's bytes, one more than any report may have at most; None where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_BYTES + 1)
    except OSError:
        return None


def _put_away(path: Path, folder: Path) -> None:
    """Move a file to those that were read, as readers of such folders do; somebody else may have been faster."""
    try:
        folder.mkdir(exist_ok=True)
        path.rename(folder / f"{path.name.split(':')[0]}:2,S")
    except OSError:
        return
