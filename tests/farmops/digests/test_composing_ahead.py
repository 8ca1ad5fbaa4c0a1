"""The next sheet is composed while the mail server has the one before: no answer and no link is lost by that."""

import re
from collections import deque
from collections.abc import Callable
from typing import Any

import pytest
from django.db import OperationalError
from pytest_django.fixtures import Settings

from farmops.digests.models import OutboxRow, RowState, SendTry
from farmops.digests.services import outbox, sending
from farmops.digests.services.claims import start_sending
from farmops.digests.services.mailing import message_bytes
from farmops.digests.services.outbox import make_due, send_due
from farmops.digests.smtp import PatientConversation
from farmops.farms.models import SignInLink
from farmops.farms.selectors import link_of_secret
from tests.farmops.digests.mail_server import MailServer
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands

MORNING = at(MONDAY, 5, 5)
HANDS = ("imani", "odell", "teo", "zuri", "wes")

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def two_at_once(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> None:
    monkeypatch.setattr(outbox, "BEGIN_AT_ONCE", 2)
    settings.SITE_ADDRESS = "https://farm.example"


@pytest.fixture
def lines(monkeypatch: pytest.MonkeyPatch) -> list[PatientConversation]:
    """The lines to the mail server that were opened."""
    opened: list[PatientConversation] = []
    connect = PatientConversation.connect

    def noted(line: PatientConversation, *place: Any, **facts: Any) -> Any:
        opened.append(line)
        return connect(line, *place, **facts)

    monkeypatch.setattr(PatientConversation, "connect", noted)
    return opened


def composing(monkeypatch: pytest.MonkeyPatch, first: Callable[[OutboxRow], None]) -> None:
    """Have something happen before each composing."""
    whole = outbox._what_goes_out

    def noted(run: Any, row: OutboxRow) -> Any:
        first(row)
        return whole(run, row)

    monkeypatch.setattr(outbox, "_what_goes_out", noted)


def opens(sheet: str) -> bool:
    found = re.search(r"https://farm\.example/in/([a-z2-9]+)/", sheet)
    assert found is not None
    return link_of_secret(found[1]) is not None


def test_later_sheets_are_composed_while_the_server_has_one_each_once(
    mail: MailServer, lines: list[PatientConversation], monkeypatch: pytest.MonkeyPatch
) -> None:
    when: dict[str, list[bool]] = {}
    farm_with_hands(*HANDS)
    make_due(now=MORNING)
    composing(
        monkeypatch,
        lambda row: when.setdefault(row.person_code, []).append(any(one.was_handed_over for one in lines)),
    )
    assert send_due(now=MORNING).sent == 5
    assert when == {"imani": [False], "odell": [False], "teo": [True], "wes": [True], "zuri": [True]}
    assert mail.receivers() == sorted(f"{hand}@farm.example" for hand in HANDS)


def test_each_sheet_that_is_out_holds_a_link_that_opens_and_no_other_link_is_stored(
    mail: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm_with_hands(*HANDS)
    make_due(now=MORNING)
    at_start: list[int] = []

    def counted(*facts: Any, **more: Any) -> Any:
        at_start.append(SignInLink.objects.count())
        return start_sending(*facts, **more)

    monkeypatch.setattr(outbox, "start_sending", counted)
    assert send_due(now=MORNING).sent == 5
    assert at_start == [2, 4, 5]  # stored with the rows that go out, not when a sheet was composed
    sheets = [message.get_body(("plain",)) for message in mail.messages()]
    assert all(sheet is not None and opens(sheet.get_content()) for sheet in sheets)


@pytest.mark.parametrize("error", [RuntimeError("broken"), OperationalError("the server is away")])
def test_what_fails_while_the_server_has_a_message_loses_no_answer_and_is_composed_in_its_turn(
    mail: MailServer,
    lines: list[PatientConversation],
    monkeypatch: pytest.MonkeyPatch,
    error: Exception,
) -> None:
    def fails(**facts: Any) -> bytes:
        if any(one.was_handed_over for one in lines):
            raise error
        return message_bytes(**facts)

    farm_with_hands(*HANDS)
    make_due(now=MORNING)
    monkeypatch.setattr(sending, "message_bytes", fails)
    assert send_due(now=MORNING).sent == 5
    assert set(OutboxRow.objects.values_list("state", "attempt")) == {(RowState.SENT, 1)}
    assert len(mail.taken) == SignInLink.objects.count() == 5


def test_a_row_that_cannot_be_composed_is_tried_later_and_told_once(
    mail: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Met ahead of its turn, such a row ends as it does in its turn."""
    whole = outbox.what_goes_out

    def broken(*, row: OutboxRow, **facts: Any) -> Any:
        if row.person_code == "zuri":
            raise ValueError("no such field")
        return whole(row=row, **facts)

    farm_with_hands(*HANDS)
    make_due(now=MORNING)
    monkeypatch.setattr(outbox, "what_goes_out", broken)
    report = send_due(now=MORNING)
    assert (report.sent, report.retry) == (4, 1)
    assert SendTry.objects.get().row.person_code == "zuri"


def test_answers_that_refuse_lead_to_the_same_states(mail: MailServer) -> None:
    farm_with_hands(*HANDS)
    make_due(now=MORNING)
    mail.after_dot = {
        "imani@farm.example": deque(["451 later"]),
        "odell@farm.example": deque(["554 never"]),
    }
    report = send_due(now=MORNING)
    assert (report.sent, report.retry, report.dead) == (3, 1, 1)
    states = dict(OutboxRow.objects.values_list("hand__code", "state"))
    assert states == {
        "imani": RowState.RETRY,
        "odell": RowState.DEAD,
        **dict.fromkeys(("teo", "wes", "zuri"), RowState.SENT),
    }
