"""A day on a farm, looked at every ten minutes over a real SMTP conversation: who gets what, when, and nothing else."""

import datetime as dt
from collections import deque

import pytest

from farmops.core.models import User
from farmops.digests.models import MailTimes, MailTrouble, OutboxRow, RowState, SheetKind
from farmops.digests.services.asking import next_number, send_again
from farmops.digests.services.ticking import tick
from farmops.farms.models import Farm, Role
from scheduling.models import FieldPass, PassState, WeekPlan
from tests.factories import make_field, make_pass, make_season
from tests.farmops.digests.mail_server import MailServer
from tests.farmops.digests.planned import MONDAY, at, farm_with_hands, make_task
from tests.farmops.digests.test_farm_mail import make_user

pytestmark = pytest.mark.django_db
TUESDAY = MONDAY + dt.timedelta(days=1)


@pytest.fixture
def farm() -> Farm:
    """Two hands disk on Monday and, on other fields, on Tuesday; a manager and a bookkeeper."""
    farm = farm_with_hands("imani", "odell")
    WeekPlan.objects.update(sent_at=at(MONDAY - dt.timedelta(days=1), 17))
    plan = WeekPlan.objects.get()
    for task in list(plan.tasks.select_related("hand")):
        field = make_field(farm, f"row-{task.hand.code}")  # type: ignore[union-attr]
        make_task(plan, task.hand, make_pass(make_season(field)), day=TUESDAY, machine=task.machine)
    make_user(farm, "marlene", Role.MANAGER)
    make_user(farm, "bertil", Role.BOOKKEEPER)
    return farm


def live(first: dt.datetime, last: dt.datetime) -> None:
    now = first
    while now <= last:
        tick(now=now)
        now += dt.timedelta(minutes=10)


def subjects(mail: MailServer) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for (address, _content), message in zip(mail.taken, mail.messages(), strict=True):
        found.setdefault(address.partition("@")[0], []).append(str(message["Subject"]))
    return found


@pytest.mark.long
def test_from_four_in_the_morning_to_ten_at_night_each_gets_the_day_s_mail_once(
    farm: Farm, mail: MailServer
) -> None:
    MailTimes.objects.create(farm=farm, cost_weekday=MONDAY.weekday(), changed_at=at(MONDAY, 3))
    live(at(MONDAY, 4), at(MONDAY, 17, 50))
    assert subjects(mail) == {
        "imani": ["First: Pond Imani: disk (Monday, April 20)"],
        "odell": ["First: Pond Odell: disk (Monday, April 20)"],
        "marlene": ["2 hands out (Monday, April 20)"],
    }, "a week without costs, waits and bills has no note"
    mail.taken.clear()
    FieldPass.objects.filter(season__field__code="row-imani").update(
        state=PassState.CALLED_OFF, called_off_at=at(MONDAY, 17, 55)
    )
    live(at(MONDAY, 18), at(MONDAY, 22))
    assert subjects(mail) == {"imani": ["You have no work tomorrow now (Tuesday, April 21)"]}
    mail.taken.clear()
    live(at(TUESDAY, 4), at(TUESDAY, 9))
    assert subjects(mail) == {
        "odell": ["First: Row Odell: disk (Tuesday, April 21)"],
        "marlene": ["1 hand out (Tuesday, April 21)"],
    }
    states = set(OutboxRow.objects.values_list("kind", "state"))
    assert states == {
        (SheetKind.HAND, RowState.SENT),
        (SheetKind.HAND, RowState.EMPTY),
        (SheetKind.DIGEST, RowState.SENT),
        (SheetKind.CHANGE, RowState.SENT),
        (SheetKind.COSTS, RowState.EMPTY),
    }


def test_after_an_outage_into_the_afternoon_the_manager_hears_of_it_once(
    farm: Farm, mail: MailServer
) -> None:
    live(at(MONDAY, 3), at(MONDAY, 4))
    live(at(MONDAY, 13), at(MONDAY, 15))
    assert subjects(mail) == {"marlene": ["Some mail did not go out (Monday, April 20)"]}
    text = mail.messages()[0].get_body(("plain",))
    assert text is not None
    assert "4 mails came too late: Monday, April 20." in " ".join(text.get_content().split())
    mail.taken.clear()
    live(at(TUESDAY, 4), at(TUESDAY, 9))
    told = subjects(mail)
    assert sorted(told) == ["imani", "marlene", "odell"]
    assert len(told["marlene"]) == 1, "the digest, and no second word of the outage"
    trouble = MailTrouble.objects.get()
    assert trouble.told_at is not None
    assert trouble.told_at.date() == MONDAY


def test_within_the_window_late_mail_says_so_in_its_first_line(farm: Farm, mail: MailServer) -> None:
    live(at(MONDAY, 3), at(MONDAY, 4))
    live(at(MONDAY, 7), at(MONDAY, 7, 20))
    assert len(mail.taken) == 3
    for message in mail.messages():
        text = message.get_body(("plain",))
        assert text is not None
        assert text.get_content().startswith("This sheet is late. The mail was held up.")


def test_sent_again_a_sheet_is_another_message_and_the_rest_of_the_day_stays_as_it_is(
    farm: Farm, mail: MailServer
) -> None:
    live(at(MONDAY, 5), at(MONDAY, 6))
    row = OutboxRow.objects.get(kind=SheetKind.HAND, hand__code="imani")
    first = str(mail.messages()[[to for to, _ in mail.taken].index("imani@farm.example")]["Message-ID"])
    mail.taken.clear()
    boss = User.objects.get(username="marlene")
    noon = at(MONDAY, 12)
    send_again(row=row, by=boss, now=noon, number=next_number(row=row))
    live(noon, at(MONDAY, 17, 50))
    [again] = mail.messages()
    assert again["To"].endswith("<imani@farm.example>")
    assert str(again["Message-ID"]) != first
    assert str(again["Subject"]) == "First: Pond Imani: disk (Monday, April 20)"


def test_a_refused_address_is_told_to_the_manager_and_blocks_nobody(farm: Farm, mail: MailServer) -> None:
    mail.at_receiver["imani@farm.example"] = deque(["550 5.1.1 no such user"])
    live(at(MONDAY, 5), at(MONDAY, 8))
    told = subjects(mail)
    assert "imani" not in told
    assert told["odell"] == ["First: Pond Odell: disk (Monday, April 20)"]
    assert told["marlene"] == [
        "2 hands out (Monday, April 20)",
        "Some mail did not go out (Monday, April 20)",
    ]
    text = mail.messages()[-1].get_body(("plain",))
    assert text is not None
    assert "A mail could not be sent: Imani, imani@farm.example." in " ".join(text.get_content().split())
