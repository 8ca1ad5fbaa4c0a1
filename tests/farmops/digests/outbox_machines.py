"""Two state machines of the outbox: any order of looks, tries, answers, deaths and hours that go by.

What must hold after every step: the mail server holds no message more often than once and once for each time that nobody
could know whether it had it; nothing is sent on another day than its own; a row is called sent only if it was.
"""

import datetime as dt
import tempfile
import uuid
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from unittest import mock

from django.db import transaction
from django.test import override_settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from farmops.core.clock import local_date
from farmops.digests.models import MailChoice, OnEmptyDay, OutboxRow, RowState, SheetKind
from farmops.digests.outcomes import Outcome, Verdict
from farmops.digests.services import outbox
from farmops.digests.services.claims import (
    LEASE,
    Claim,
    claim,
    give_back,
    recover,
    settle,
    settle_taken,
    start_sending,
)
from farmops.digests.services.journal import Accepted, Journal, settle_from_journal
from farmops.digests.services.outbox import send_due
from farmops.digests.services.ticking import tick
from farmops.farms.models import Farm, Hand
from tests.farmops.digests.planned import MONDAY, at
from tests.faults.crowd import lay_crowd

HANDS = 3
OPEN = (RowState.DUE, RowState.RETRY, RowState.UNKNOWN, RowState.CLAIMED, RowState.SENDING)
ANSWERS = {
    "taken": Outcome(Verdict.SENT, "250 taken"),
    "later": Outcome(Verdict.RETRY, "450 later", "SMTPRecipientsRefused"),
    "never": Outcome(Verdict.DEAD, "550 never", "SMTPRecipientsRefused"),
    "silence": Outcome(Verdict.UNKNOWN, "", "SMTPServerDisconnected"),
    "taken, then silence": Outcome(Verdict.UNKNOWN, "", "SMTPServerDisconnected"),
    "away": Outcome(Verdict.RETRY, "", "ConnectionRefusedError", ends_run=True),
    "not you": Outcome(Verdict.HALT, "535 wrong", "SMTPAuthenticationError", ends_run=True),
}
ENDS = (RowState.RETRY, RowState.DEAD, RowState.UNKNOWN, RowState.DUE)
HOLDS_IT = ("taken", "taken, then silence")


class Died(BaseException):
    """Stands for the end of a process."""


@dataclass
class Server:
    """Holds what was taken, by Message-ID, and answers as told, then with `taken`."""

    takes: Counter[str] = field(default_factory=Counter)
    doubts: Counter[str] = field(default_factory=Counter)
    answers: list[str] = field(default_factory=list)
    wrong_days: list[str] = field(default_factory=list)

    def take(self, row: OutboxRow, now: dt.datetime) -> None:
        self.takes[row.message_id] += 1
        if local_date(now, row.farm.zone) != row.local_day:
            self.wrong_days.append(f"{row} at {now}")


class _Machine(RuleBasedStateMachine):
    """A small farm, a clock, a mail server and a journal; every run of a machine is rolled back."""

    def __init__(self) -> None:
        super().__init__()
        self._folder = tempfile.TemporaryDirectory(prefix="machine")
        self._settings = override_settings(MAIL_JOURNAL_DIR=str(Path(self._folder.name)))
        self._settings.enable()
        self._rolled_back = transaction.atomic()
        self._rolled_back.__enter__()
        lay_crowd(farms=1, hands=HANDS, zone="America/New_York", sheet_at=dt.time(5, 30))
        self.farm = Farm.objects.get()
        self.now = at(MONDAY, 4, 50)
        self.server = Server()
        self.joined, self.deaths, self.dies_at = HANDS, 0, ""
        machine = self

        class Post:
            def __enter__(self) -> "Post":
                return self

            def __exit__(self, *_error: object) -> None:
                return None

            def hand_over(self, *, content: bytes, **_facts: object) -> Outcome:
                return machine.hand_over(bytes(content))

        self._post = mock.patch.object(outbox, "Post", Post)
        self._post.start()

    def hand_over(self, content: bytes) -> Outcome:
        row = next(one for one in OutboxRow.objects.all() if one.message_id.encode() in content)
        if self.dies_at == "before":
            raise Died
        answer = self.server.answers.pop(0) if self.server.answers else "taken"
        if answer in HOLDS_IT:
            self.server.take(row, self.now)
        if answer == "taken, then silence":
            self.server.doubts[row.message_id] += 1
        if answer == "taken" and self.dies_at == "in the gap":
            self.server.doubts[row.message_id] += 1
            raise Died
        return ANSWERS[answer]

    def teardown(self) -> None:
        try:
            self.come_to_an_end()
        finally:
            self._post.stop()
            transaction.set_rollback(True)
            self._rolled_back.__exit__(None, None, None)
            self._settings.disable()
            self._folder.cleanup()

    def come_to_an_end(self) -> None:
        """From here on all goes well: after a day nothing is open, and who was never refused or late has the mail."""
        self.server.answers.clear()
        for _hour in range(16):
            self.now += dt.timedelta(minutes=31)
            self.now = max(self.now, at(MONDAY, 5, 31))
            tick(now=self.now, by_hand=True)
            self.holds()
        self.now += dt.timedelta(days=1)
        recover(now=self.now)
        assert not OutboxRow.objects.filter(local_day=MONDAY, state__in=OPEN).exists()
        for row in OutboxRow.objects.filter(state=RowState.SENT):
            assert self.server.takes[row.message_id] >= 1, row

    @rule(minutes=st.integers(1, 45))
    def time_goes_by(self, minutes: int) -> None:
        self.now += dt.timedelta(minutes=minutes)

    @rule()
    def somebody_looks(self) -> None:
        tick(now=self.now, send=False)

    @rule()
    def a_hand_joins(self) -> None:
        self.joined += 1
        hand = Hand.objects.create(
            farm=self.farm, code=f"new-{self.joined}", name="New", email=f"new{self.joined}@farm.example"
        )
        MailChoice.objects.create(
            farm=self.farm,
            hand=hand,
            kind=SheetKind.HAND,
            on_empty_day=OnEmptyDay.SHORT,
            changed_at=self.now,
        )

    @rule(is_wanted=st.booleans())
    def a_hand_chooses(self, is_wanted: bool) -> None:
        MailChoice.objects.filter(hand=Hand.objects.order_by("pk")[0]).update(is_wanted=is_wanted)

    @invariant()
    def holds(self) -> None:
        allowed = {identity: 1 + self.server.doubts[identity] for identity in self.server.takes}
        assert all(count <= allowed[identity] for identity, count in self.server.takes.items()), self.server
        assert self.server.wrong_days == []
        sent = set(OutboxRow.objects.filter(state=RowState.SENT).values_list("message_id", flat=True))
        assert sent <= {identity for identity, count in self.server.takes.items() if count}


class SendingMachine(_Machine):
    """The whole way of a mail, with a server that answers anything and a sender that dies anywhere."""

    @rule(answers=st.lists(st.sampled_from(sorted(ANSWERS)), max_size=HANDS), by_hand=st.booleans())
    def somebody_sends(self, answers: list[str], by_hand: bool) -> None:
        self.server.answers = list(answers)
        send_due(now=self.now, by_hand=by_hand)

    @rule(where=st.sampled_from(["before", "in the gap", "after the line"]))
    def a_sender_dies(self, where: str) -> None:
        self.server.answers.clear()
        self.dies_at = where
        settles = mock.Mock(side_effect=Died) if where == "after the line" else outbox._settle_taken
        try:
            with mock.patch.object(outbox, "_settle_taken", settles):
                send_due(now=self.now)
        except Died:
            self.deaths += 1  # the rows that it had not begun were given back; others wait for their lease
        finally:
            self.dies_at = ""


@dataclass
class Sender:
    """A worker in the midst of one row."""

    held: Claim
    row: OutboxRow
    began_at: dt.datetime | None = None
    has_taken: bool = False


class ClaimMachine(_Machine):
    """Several workers, each step of each by itself, in any order: claims, leases that run out, lines, settling.

    Who claimed a row last is its owner: nobody else may change it any more.
    """

    def __init__(self) -> None:
        super().__init__()
        self.senders: list[Sender] = []
        self.owners: dict[int, uuid.UUID] = {}

    @initialize(data=st.data(), is_begun=st.booleans(), begin=st.booleans(), state=st.sampled_from(ENDS))
    def a_morning(self, data: st.DataObject, is_begun: bool, begin: bool, state: RowState) -> None:
        """Each run begins with a worker that oversleeps, so that a few runs are enough to miss a fence."""
        self.now = at(MONDAY, 5, 31)
        self.somebody_looks()
        self.a_worker_claims(limit=1)
        if is_begun:
            self.begin(self.senders[0])
        self.a_worker_oversleeps(data, begin, state)

    def is_owner(self, one: Sender) -> bool:
        return self.owners[one.held.row_id] == one.held.token

    @rule(limit=st.integers(1, 3))
    def a_worker_claims(self, limit: int) -> None:
        settle_from_journal(now=self.now)
        recover(now=self.now)
        for held in claim(now=self.now, limit=limit):
            row = OutboxRow.objects.select_related("farm").get(pk=held.row_id)
            self.senders.append(Sender(held, row))
            self.owners[held.row_id] = held.token

    @precondition(lambda self: self.senders)
    @rule(data=st.data(), begin=st.booleans(), state=st.sampled_from(ENDS))
    def a_worker_oversleeps(self, data: st.DataObject, begin: bool, state: RowState) -> None:
        """Its lease runs out and others claim what it held; then it wakes up and goes on as if nothing had been."""
        sleeper = data.draw(st.sampled_from(self.senders))
        self.now += dt.timedelta(minutes=4 if sleeper.began_at is None else 16)
        awake = len(self.senders)
        self.a_worker_claims(limit=HANDS + self.joined)
        if begin:
            for one in self.senders[awake:]:
                self.begin(one)
        if sleeper.began_at is None:
            self.begin(sleeper)
        else:
            self.settle(sleeper, state)

    @precondition(lambda self: self.senders)
    @rule(data=st.data())
    def a_worker_begins(self, data: st.DataObject) -> None:
        one = data.draw(st.sampled_from(self.senders))
        if one.began_at is None:
            self.begin(one)

    def begin(self, one: Sender) -> None:
        held = start_sending({one.held: {"content": one.row.message_id.encode()}}, now=self.now)
        assert self.is_owner(one) or not held, "somebody began a row that is another's"
        if held:
            one.began_at = self.now
        else:
            self.senders.remove(one)

    @precondition(lambda self: self.senders)
    @rule(data=st.data(), dies=st.booleans())
    def the_server_takes_it(self, data: st.DataObject, dies: bool) -> None:
        one = data.draw(st.sampled_from(self.senders))
        if one.began_at is None or one.has_taken:
            return
        if self.now - one.began_at >= LEASE:  # the limit of a task's time is shorter than the lease
            return
        if local_date(self.now, one.row.farm.zone) != one.row.local_day:
            self.senders.remove(one)
            return
        self.server.take(one.row, self.now)
        one.has_taken = True
        if dies:
            self.server.doubts[one.row.message_id] += 1
            self.senders.remove(one)
            return
        line = Accepted(
            one.row.pk, one.row.message_id, one.row.attempt + 1, one.held.token, self.now, "250 taken"
        )
        with Journal() as journal:
            assert journal.write(line)

    @precondition(lambda self: self.senders)
    @rule(data=st.data(), state=st.sampled_from(ENDS))
    def a_worker_settles(self, data: st.DataObject, state: RowState) -> None:
        one = data.draw(st.sampled_from(self.senders))
        if one.began_at is not None:
            self.settle(one, state)

    def settle(self, one: Sender, state: RowState) -> None:
        self.senders.remove(one)
        if one.has_taken:
            changed = settle_taken({one.held: {"sent_at": self.now}})
        elif state == RowState.DUE:
            changed = give_back([one.held])
        elif state == RowState.UNKNOWN:
            changed = settle(one.held, state=state, may_have_arrived=True, not_before_at=self.now)
        else:
            changed = settle(one.held, state=state, not_before_at=self.now)
        assert self.is_owner(one) or not changed, "somebody settled a row that is another's"

    @precondition(lambda self: self.senders)
    @rule(data=st.data())
    def a_worker_dies(self, data: st.DataObject) -> None:
        self.senders.remove(data.draw(st.sampled_from(self.senders)))
