"""What the journal saves: a message that was taken is not sent again, whatever became of the program or the database."""

import datetime as dt
import os
import stat
import threading
import time
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from django.db import OperationalError
from hypothesis import given
from hypothesis import strategies as st
from pytest_django.fixtures import Settings

from farmops.digests.models import OutboxRow, RowState
from farmops.digests.services import journal, outbox, reconnecting
from farmops.digests.services.claims import recover
from farmops.digests.services.journal import Accepted, Journal, settle_from_journal, sweep_journal
from farmops.digests.services.outbox import make_due, send_due
from tests.farmops.digests.mail_server import MailServer
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands

MORNING = at(MONDAY, 5, 5)
MINUTE = dt.timedelta(minutes=1)


@pytest.fixture
def folder(settings: Settings, tmp_path: Path) -> Path:
    settings.MAIL_JOURNAL_DIR = str(tmp_path / "journal")
    return tmp_path / "journal"


class Died(BaseException):
    """Stands for the end of the process."""


def dies(*_args: object, **_facts: object) -> None:
    raise Died


@pytest.mark.django_db
def test_who_dies_after_the_line_is_written_sends_nothing_twice(mail: MailServer, folder: Path) -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    with mock.patch.object(outbox, "_settle_taken", dies), pytest.raises(Died):
        send_due(now=MORNING)
    assert OutboxRow.objects.get().state == RowState.SENDING
    assert send_due(now=MORNING + 2 * MINUTE).sent == 0
    row = OutboxRow.objects.get()
    assert (row.state, row.smtp_reply, row.claim_token) == (RowState.SENT, "250 taken", None)
    assert MORNING <= row.sent_at <= MORNING + MINUTE  # type: ignore[operator]
    assert len(mail.taken) == 1


@pytest.mark.django_db
def test_without_the_line_it_goes_out_again_as_the_same_bytes(mail: MailServer, folder: Path) -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    with mock.patch.object(outbox.Journal, "write", dies), pytest.raises(Died):
        send_due(now=MORNING)
    assert send_due(now=MORNING + 2 * MINUTE).sent == 0  # its lease still stands
    assert send_due(now=MORNING + 16 * MINUTE).sent == 1
    assert len(mail.taken) == 2
    assert mail.taken[0] == mail.taken[1]


@pytest.mark.django_db
def test_a_row_that_was_already_given_up_as_unknown_is_settled_by_a_line_found_later(
    mail: MailServer, folder: Path
) -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    with mock.patch.object(outbox, "_settle_taken", dies), pytest.raises(Died):
        send_due(now=MORNING)
    [path] = folder.iterdir()
    elsewhere = path.rename(folder.parent / path.name)
    assert recover(now=MORNING + 16 * MINUTE) == (1, 0)
    elsewhere.rename(path)
    assert settle_from_journal(now=MORNING + 16 * MINUTE) == 1
    assert settle_from_journal(now=MORNING + 16 * MINUTE) == 0
    assert OutboxRow.objects.get().state == RowState.SENT


@pytest.mark.django_db
def test_a_line_of_another_message_or_another_claim_settles_nothing(mail: MailServer, folder: Path) -> None:
    farm_with_hands("imani", "odell")
    make_due(now=MORNING)
    first, second = OutboxRow.objects.order_by("pk")
    token = uuid.uuid4()
    facts = {"state": RowState.SENDING, "claim_token": token, "claim_until": MORNING + 15 * MINUTE}
    OutboxRow.objects.update(**facts)
    with Journal() as lines:
        assert lines.write(Accepted(first.pk, second.message_id, 1, token, MORNING, "250"))
        assert lines.write(Accepted(second.pk, second.message_id, 1, uuid.uuid4(), MORNING, "250"))
    assert settle_from_journal(now=MORNING + 2 * MINUTE) == 0
    assert set(OutboxRow.objects.values_list("state", flat=True)) == {RowState.SENDING}


@pytest.mark.django_db
def test_a_journal_that_cannot_be_written_keeps_no_mail(
    mail: MailServer, settings: Settings, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    settings.MAIL_JOURNAL_DIR = str(tmp_path / "file")
    farm_with_hands("imani")
    make_due(now=MORNING)
    assert send_due(now=MORNING).sent == 1


def written(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.journal"))


def one(row_id: int, reply: str = "250 ok") -> Accepted:
    return Accepted(row_id, f"<{row_id}@farm.example>", 1, uuid.UUID(int=row_id), MORNING, reply)


@given(cut=st.integers(1, 200), replies=st.lists(st.text(max_size=40), min_size=1, max_size=4))
def test_a_line_that_was_cut_off_harms_no_other(
    tmp_path_factory: pytest.TempPathFactory, cut: int, replies: list[str]
) -> None:
    folder = tmp_path_factory.mktemp("journal")
    lines = [journal._line(one(number, reply)) for number, reply in enumerate(replies)]
    torn = journal._line(one(99))[: -cut % 100 or 1]
    (folder / "a.journal").write_bytes(b"".join(lines) + torn)
    with mock.patch.object(journal.settings, "MAIL_JOURNAL_DIR", str(folder)):
        found = list(journal.read_accepted())
    assert [row.reply for row in found if row.row_id != 99] == replies
    assert all(row == one(99) for row in found if row.row_id == 99)


def test_nobody_else_may_read_it_and_old_files_go(folder: Path) -> None:
    with Journal() as lines:
        assert lines.write(one(1))
    [path] = written(folder)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert sweep_journal(now=MORNING + dt.timedelta(days=4)) == 0
    assert sweep_journal(now=MORNING + dt.timedelta(days=5)) == 1
    assert written(folder) == []


def test_a_line_is_on_the_disk_before_its_row_is_settled(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    waits, synced = threading.Event(), []

    def slow(handle: int) -> None:
        waits.wait(5)
        synced.append(os.fstat(handle).st_size)

    monkeypatch.setattr(journal.os, "fdatasync", slow)
    with Journal() as lines:
        assert lines.write(one(1))
        assert lines.write(one(2))
        assert synced == []
        waits.set()
        lines.sync()
        [path] = written(folder)
        assert synced[-1] == path.stat().st_size


def test_lines_of_a_moment_come_to_the_disk_together_and_at_once_where_somebody_waits(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[int] = []
    monkeypatch.setattr(journal, "MOMENT_S", 10)
    monkeypatch.setattr(journal.os, "fdatasync", lambda handle: synced.append(os.fstat(handle).st_size))
    began = time.monotonic()
    with Journal() as lines:
        assert all(lines.write(one(number)) for number in range(5))
        lines.sync()
        [path] = written(folder)
        assert synced == [path.stat().st_size]
        lines.sync()
        assert lines.write(one(5))
    assert synced[1:] == [path.stat().st_size]
    assert time.monotonic() - began < 5


@pytest.mark.django_db
def test_many_are_settled_together_and_each_by_its_own_line(mail: MailServer, folder: Path) -> None:
    """Who dies with several taken and none settled sends none of them twice; what was not begun goes out at once."""
    farm_with_hands("imani", "odell", "teo")
    make_due(now=MORNING)
    whole, calls = outbox.Post.hand_over, []

    def third_dies(self: outbox.Post, **facts: Any) -> object:
        calls.append(facts["address"])
        if len(calls) == 3:
            raise Died
        return whole(self, **facts)

    with (
        mock.patch.object(outbox.Post, "hand_over", third_dies),
        mock.patch.object(outbox, "settle_taken", dies),
        pytest.raises(Died),
    ):
        send_due(now=MORNING)
    assert set(OutboxRow.objects.values_list("state", flat=True)) == {RowState.SENDING}
    assert send_due(now=MORNING + 2 * MINUTE).sent == 0
    assert sorted(OutboxRow.objects.values_list("state", flat=True)) == ["sending", "sent", "sent"]
    assert send_due(now=MORNING + 16 * MINUTE).sent == 1
    assert sorted(mail.receivers()) == ["imani@farm.example", "odell@farm.example", "teo@farm.example"]


@pytest.mark.django_db(transaction=True)
def test_a_database_that_is_lost_after_the_250_is_asked_again_until_it_hears(
    mail: MailServer, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reconnecting.time, "sleep", lambda _seconds: None)
    monkeypatch.setattr(reconnecting.connection, "close", lambda: None)
    farm_with_hands("imani")
    make_due(now=MORNING)
    whole, failures = outbox.settle_taken, iter(range(3))

    def lost(taken: object) -> object:
        for _failure in failures:
            raise OperationalError("the server closed the connection")
        return whole(taken)  # type: ignore[arg-type]

    monkeypatch.setattr(outbox, "settle_taken", lost)
    assert send_due(now=MORNING).sent == 1
    assert OutboxRow.objects.get().state == RowState.SENT


@pytest.mark.django_db(transaction=True)
def test_a_database_that_is_lost_before_anything_was_mailed_leaves_rows_that_are_due(
    mail: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reconnecting.connection, "close", lambda: None)
    farm_with_hands("imani", "odell", "teo")
    make_due(now=MORNING)

    def lost(*_args: object, **_facts: object) -> Callable[[], None]:
        raise OperationalError("the server closed the connection")

    with mock.patch.object(outbox, "what_goes_out", lost):
        report = send_due(now=MORNING)
    assert report.interrupted == "the server closed the connection"
    assert set(OutboxRow.objects.values_list("state", flat=True)) == {RowState.DUE}
    assert send_due(now=MORNING + MINUTE).sent == 3
