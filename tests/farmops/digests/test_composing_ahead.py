"""Sheets are composed in waits for the mail server's answers: no answer and no link is lost by that."""

import datetime as dt
import re
from collections import deque
from collections.abc import Callable
from typing import Any

import pytest
from django.db import OperationalError
from pytest_django.fixtures import Settings

from farmops.digests.models import OutboxRow, RowState, SendTry
from farmops.digests.services import farm_days, outbox, sending
from farmops.digests.services.claims import start_sending
from farmops.digests.services.mailing import message_bytes
from farmops.digests.services.outbox import make_due, send_due
from farmops.digests.smtp import PatientConversation
from farmops.farms.models import Farm, SignInLink
from farmops.farms.selectors import link_of_secret
from tests.farmops.digests.mail_server import MailServer
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands
from tests.faults.crowd import lay_crowd

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


@pytest.mark.parametrize(("at_once", "beside"), [(20, [3, 3, 3]), (2, [2, 2, 1]), (1, [1, 1, 1])])
def test_the_days_of_some_farms_are_read_together_and_never_of_more(
    monkeypatch: pytest.MonkeyPatch, at_once: int, beside: list[int]
) -> None:
    lay_crowd(farms=3, hands=2, zone="America/New_York", sheet_at=dt.time(5))
    farms = list(Farm.objects.order_by("code"))
    monkeypatch.setattr(farm_days, "AT_ONCE", at_once)
    days = farm_days.FarmDays()
    days.expect((farm, MONDAY) for farm in farms for _row in range(2))
    assert [len(days.read_beside(farm, MONDAY)) for farm in farms] == beside
    other_day = MONDAY + dt.timedelta(days=1)
    assert days.read_beside(farms[0], other_day) == [farms[0]]


def opens(sheet: str) -> bool:
    found = re.search(r"https://farm\.example/in/([a-z2-9]+)/", sheet)
    assert found is not None
    return link_of_secret(found[1]) is not None


def test_later_sheets_are_composed_while_the_server_has_those_before_each_once(
    mail: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken: dict[str, list[int]] = {}
    farm_with_hands(*HANDS)
    make_due(now=MORNING)
    composing(monkeypatch, lambda row: taken.setdefault(row.person_code, []).append(len(mail.taken)))
    assert send_due(now=MORNING).sent == 5
    assert [len(times) for times in taken.values()] == [1] * 5
    assert taken["imani"] == taken["odell"] == taken["teo"] == [0]
    assert taken["wes"] in ([0], [1])  # begun after the first final dot, whenever the server counts it
    assert taken["zuri"] == [2]
    assert mail.receivers() == sorted(f"{hand}@farm.example" for hand in HANDS)


def test_a_step_is_taken_in_each_wait(mail: MailServer, monkeypatch: pytest.MonkeyPatch) -> None:
    """Between laying a sheet out and writing its bytes the server is waited for twice, except in its own turn."""
    waits: list[int] = [0]
    steps: dict[str, list[int]] = {"compose_row": [], "message_bytes": []}
    answer = PatientConversation.getreply

    def waited(line: PatientConversation) -> tuple[int, bytes]:
        waits[0] += 1
        return answer(line)

    def noted(name: str) -> None:
        whole = getattr(sending, name)

        def step(**facts: Any) -> Any:
            steps[name].append(waits[0])
            return whole(**facts)

        monkeypatch.setattr(sending, name, step)

    monkeypatch.setattr(PatientConversation, "getreply", waited)
    for name in steps:
        noted(name)
    farm_with_hands(*HANDS)
    make_due(now=MORNING)
    assert send_due(now=MORNING).sent == 5
    apart = [made - begun for begun, made in zip(*steps.values(), strict=True)]
    assert apart == [0, 0, 2, 2, 2]


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
    failed: list[bool] = []

    def fails(**facts: Any) -> bytes:
        if any(one.meanwhile is not None for one in lines):
            failed.append(True)
            raise error
        return message_bytes(**facts)

    farm_with_hands(*HANDS)
    make_due(now=MORNING)
    monkeypatch.setattr(sending, "message_bytes", fails)
    assert send_due(now=MORNING).sent == 5
    assert len(failed) == 3
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
