"""Rows that move together: each with its own values, more than one statement takes, and a share of them for each worker."""

import datetime as dt
import uuid
from typing import Any

import pytest

from farmops.core import many
from farmops.digests.models import OutboxRow, RowState
from farmops.digests.services import outbox
from farmops.digests.services.claims import claim, settle_taken, start_sending
from farmops.digests.services.outbox import make_due, send_due
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands
from tests.faults.crowd import lay_crowd

MORNING = at(MONDAY, 5, 5)

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("in_a_statement", [2, 5, 100])
def test_each_row_gets_its_own_values_and_a_lost_one_none(
    monkeypatch: pytest.MonkeyPatch, in_a_statement: int
) -> None:
    monkeypatch.setattr(many, "MOST_ROWS", in_a_statement)
    farm_with_hands("imani", "odell", "teo", "zuri", "wes")
    make_due(now=MORNING)
    held = claim(now=MORNING, limit=10)
    lost, *others = held
    other_token = uuid.uuid4()
    OutboxRow.objects.filter(pk=lost.row_id).update(claim_token=other_token)
    facts = {one: {"content": b"\x00mail %d" % one.row_id, "language": "en"} for one in held}
    assert start_sending(facts, now=MORNING) == {one.row_id for one in others}
    replies = {one: {"sent_at": MORNING, "smtp_reply": f"took {one.row_id}"} for one in held}
    assert settle_taken(replies) == len(others) == 4
    rows = OutboxRow.objects.in_bulk()
    for one in others:
        row = rows[one.row_id]
        assert (row.state, row.attempt, row.sent_at) == (RowState.SENT, 1, MORNING)
        assert (bytes(row.content), row.smtp_reply) == (b"\x00mail %d" % row.pk, f"took {row.pk}")
        assert (row.claim_token, row.claim_until) == (None, None)
    left = rows[lost.row_id]
    assert (left.state, left.attempt, left.claim_token) == (RowState.CLAIMED, 0, other_token)


def test_a_run_leaves_some_of_what_is_ready_to_other_workers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(outbox, "CLAIM_AT_ONCE", 6)
    monkeypatch.setattr(outbox, "LEAST_AT_ONCE", 2)
    lay_crowd(farms=2, hands=16, zone="America/New_York", sheet_at=dt.time(5))
    make_due(now=MORNING)
    taken: list[int] = []

    def noted(**facts: Any) -> Any:
        found = claim(**facts)
        taken.append(len(found))
        return found

    monkeypatch.setattr(outbox, "claim", noted)
    assert send_due(now=MORNING).sent == 32
    assert taken == [6, 6, 5, 3, 3, 2, 2, 2, 2, 1, 0]
