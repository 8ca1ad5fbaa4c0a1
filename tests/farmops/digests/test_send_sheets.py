"""The command, the periodic function and the files."""

import datetime as dt
import email
import re
from email import policy
from io import StringIO
from pathlib import Path
from unittest import mock

import pytest
import time_machine
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pytest_django import DjangoAssertNumQueries

from farmops.digests.background import send_due_sheets
from farmops.digests.models import Heartbeat, OutboxRow, RowState
from farmops.digests.selectors.day import farm_day, read_farms
from farmops.digests.selectors.outbox import health
from farmops.digests.services import sending
from farmops.digests.services.outbox import make_due, send_due
from farmops.digests.services.writing import UnusableFolder, write_sheets
from farmops.farms.models import Farm, Hand
from scheduling.models import FieldPass, PassState, PlannedTask
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands

pytestmark = pytest.mark.django_db
MORNING = at(MONDAY, 5, 5)


def run(*arguments: str, now: dt.datetime = MORNING) -> str:
    out = StringIO()
    with time_machine.travel(now, tick=False):
        call_command("send_sheets", *arguments, stdout=out, stderr=out)
    return out.getvalue()


def addresses() -> list[str]:
    return sorted(address for message in mail.outbox for address in message.to)


def test_the_command_sends_what_is_due_and_a_second_run_sends_nothing() -> None:
    farm_with_hands("imani", "odell")
    assert run() == "made 2, sent 2\n"
    assert run() == "made 0, nothing due\n"
    assert addresses() == ["imani@farm.example", "odell@farm.example"]


def test_before_the_hour_the_command_sends_nothing_unless_a_farm_is_named() -> None:
    farm_with_hands("imani")
    farm_with_hands("odell", code="adder-branch")
    assert run(now=at(MONDAY, 4)) == "made 0, nothing due\n"
    assert run("--farm", "adder-branch", now=at(MONDAY, 4)) == "made 1, sent 1\n"
    assert addresses() == ["odell@farm.example"]
    run(now=MORNING)
    assert addresses() == ["imani@farm.example", "odell@farm.example"]


def test_the_command_and_the_worker_together_send_once() -> None:
    farm_with_hands("imani", "odell")
    with time_machine.travel(MORNING, tick=False):
        send_due_sheets.delay()
    run()
    run("--farm", "heron-slough", "--day", "2026-04-20")
    assert addresses() == ["imani@farm.example", "odell@farm.example"]


def test_a_late_sheet_says_so_and_one_on_time_does_not() -> None:
    farm_with_hands("imani")
    run(now=at(MONDAY, 5, 45))
    assert b"This sheet is late." in bytes(OutboxRow.objects.get().content)
    OutboxRow.objects.all().delete()
    run(now=at(MONDAY, 5, 25))
    assert b"This sheet is late." not in bytes(OutboxRow.objects.get().content)


def test_a_dry_run_says_who_would_get_what_and_changes_nothing() -> None:
    farm_with_hands("imani", "odell")
    Hand.objects.filter(code="odell").update(email="", language="es")
    said = run("--dry-run").splitlines()
    assert said == [
        "imani <imani@farm.example> First: Pond Imani: disk (Monday, April 20) [not made]",
        "odell <no address: for the shop door> Primero: Pond Odell: rastrear (lunes 20 de abril) [not made]",
    ]
    assert not OutboxRow.objects.exists()
    assert mail.outbox == []


def test_files_hold_every_hand_with_work_an_address_or_not(tmp_path: Path) -> None:
    farm_with_hands("imani", "odell")
    Hand.objects.filter(code="odell").update(email="")
    said = run("--farm", "heron-slough", "--day", "2026-04-20", "--out", str(tmp_path / "sheets"))
    names = ["2026-04-20-imani.eml", "2026-04-20-odell.eml"]
    assert sorted(path.name for path in (tmp_path / "sheets").iterdir()) == names
    assert [Path(line).name for line in said.splitlines()] == names
    message = email.message_from_bytes((tmp_path / "sheets" / names[0]).read_bytes(), policy=policy.default)
    assert message["Subject"] == "First: Pond Imani: disk (Monday, April 20)"
    assert message["Date"] == "Mon, 20 Apr 2026 09:00:00 +0000"
    assert not OutboxRow.objects.exists()


def test_the_same_day_gives_the_same_files(tmp_path: Path) -> None:
    farm = farm_with_hands("imani", "odell")
    first = [path.read_bytes() for path in write_sheets(farm=farm, day=MONDAY, folder=tmp_path)]
    again = [path.read_bytes() for path in write_sheets(farm=farm, day=MONDAY, folder=tmp_path)]
    assert first == again
    assert len(set(first)) == 2


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    farm = farm_with_hands("imani")
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with pytest.raises(UnusableFolder, match=re.escape(str(tmp_path / "file"))):
        write_sheets(farm=farm, day=MONDAY, folder=tmp_path / "file")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--farm", "nowhere"), "No farm has the code 'nowhere'. Known farms: heron-slough."),
        (("--day", "2026-04-20"), "--day and --out belong to one farm: give --farm CODE too."),
        (("--out", "x"), "--day and --out belong to one farm: give --farm CODE too."),
        (("--farm", "heron-slough", "--day", "20/4"), "--day must be a date such as 2026-04-20, not '20/4'."),
    ],
)
def test_wrong_words_are_answered_with_a_sentence(arguments: tuple[str, ...], says: str) -> None:
    farm_with_hands("imani")
    with pytest.raises(CommandError, match=f"^{re.escape(says)}$"):
        run(*arguments)


def test_a_sheet_that_cannot_be_composed_waits_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    farm_with_hands("imani", "odell")
    whole = sending.compose_row

    def broken(*, row: OutboxRow, **facts: object) -> object:
        if row.person_code == "imani":
            raise KeyError("a fact is missing")
        return whole(row=row, **facts)  # type: ignore[arg-type]

    monkeypatch.setattr(sending, "compose_row", broken)
    make_due(now=MORNING)
    report = send_due(now=MORNING)
    assert (report.sent, report.retry) == (1, 1)
    assert addresses() == ["odell@farm.example"]
    monkeypatch.undo()
    assert send_due(now=MORNING + dt.timedelta(minutes=5)).sent == 1


def test_a_row_that_fails_too_often_is_dead_and_revived_by_hand() -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    OutboxRow.objects.update(give_up_at=MORNING + dt.timedelta(days=2))
    with mock.patch.object(sending, "compose_row", side_effect=KeyError("a fact is missing")):
        for attempt in range(8):
            assert OutboxRow.objects.get().attempt == attempt
            send_due(now=MORNING + attempt * dt.timedelta(hours=1))
    assert OutboxRow.objects.get().state == RowState.DEAD
    assert run("--farm", "heron-slough", "--day", "2026-04-20") == "made 0, sent 1\n"


@pytest.mark.parametrize(
    "address", ["a b@farm.example", "ímani@farm.example", "imani@farm.example\nBcc: x@y.example"]
)
def test_an_address_that_no_mail_can_carry_is_a_dead_row_and_blocks_nobody(address: str) -> None:
    farm_with_hands("imani", "odell")
    Hand.objects.filter(code="imani").update(email=address)
    make_due(now=MORNING)
    report = send_due(now=MORNING)
    assert (report.sent, report.dead) == (1, 1)
    assert OutboxRow.objects.get(hand__code="imani").state == RowState.DEAD


def test_work_taken_away_before_sending_leaves_an_empty_row() -> None:
    farm_with_hands("imani")
    make_due(now=MORNING)
    PlannedTask.objects.update(hand=None)
    assert send_due(now=MORNING).sent == 0
    assert OutboxRow.objects.get().state == RowState.EMPTY
    assert mail.outbox == []


def test_the_row_remembers_the_plan_and_the_address_it_went_to() -> None:
    farm_with_hands("imani")
    run()
    row = OutboxRow.objects.get()
    assert (row.plan_no, row.address, row.language, row.attempt) == (1, "imani@farm.example", "en", 1)
    assert row.message_id.encode() in bytes(row.content)


def test_health_goes_by_the_last_run_and_the_oldest_due_row() -> None:
    farm_with_hands("imani")
    with pytest.raises(CommandError, match="not being looked at"):
        call_command("health", stdout=StringIO())
    run()
    assert Heartbeat.objects.get().last_at == MORNING
    assert health(job="send_sheets", now=MORNING + dt.timedelta(seconds=170)).is_ready
    assert not health(job="send_sheets", now=MORNING + dt.timedelta(seconds=171)).is_ready
    OutboxRow.objects.update(state=RowState.DUE, sent_at=None)
    Heartbeat.objects.update(last_at=MORNING + dt.timedelta(seconds=300))
    stuck = health(job="send_sheets", now=MORNING + dt.timedelta(seconds=301))
    assert (stuck.since_last_run_s, stuck.oldest_due_s, stuck.is_ready) == (1, 601, False)


def test_a_tick_asks_as_much_for_three_farms_as_for_one(
    django_assert_num_queries: DjangoAssertNumQueries, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    def with_an_idle_hand(code: str) -> None:
        farm = farm_with_hands("hand-0", "hand-1", code=code)
        FieldPass.objects.filter(farm=farm, planned_tasks__hand__code="hand-0").update(
            state=PassState.CALLED_OFF
        )
        make_due(now=MORNING)

    with_an_idle_hand("one")
    with django_assert_max_num_queries(16) as asked:
        make_due(now=MORNING)
    with_an_idle_hand("two")
    with_an_idle_hand("three")
    assert OutboxRow.objects.filter(state=RowState.EMPTY).count() == 3
    with django_assert_num_queries(len(asked)):
        make_due(now=MORNING)


def test_days_of_many_farms_are_asked_for_as_often_as_that_of_one_and_say_the_same() -> None:
    """One farm whose clock is no clock fails alone."""
    farms = [farm_with_hands("imani", "odell", code=code) for code in ("one", "two", "three")]
    apart = [farm_day(farm=farm, day=MONDAY) for farm in farms]
    counts = []
    for some in (farms[:1], farms):
        with CaptureQueriesContext(connection) as asked:
            read = read_farms(farms=some, day=MONDAY)
            together = [farm_day(farm=farm, day=MONDAY, read=read[farm.pk]) for farm in some]
        counts.append(len(asked))
    assert together == apart
    assert counts[0] == counts[1]
    make_due(now=MORNING)
    Farm.objects.filter(code="two").update(zone="Nowhere/Land")
    report = send_due(now=MORNING)
    assert (report.sent, report.retry) == (4, 2)
