"""The mail of the last weeks, for the bench of the pages: what went out to each hand, and the little that did not.

The bytes are those of one sheet of the farm, addressed to each. The days end with today's, since the pages of the mail
look back from there.
"""

import datetime as dt
from collections.abc import Iterator
from typing import Any

from farmops.bench.pages_keys import instant
from farmops.core.clock import local_date
from farmops.core.models import User
from farmops.digests.models import MailTrouble, OutboxRow, Reason, RowState, SendTry, SheetKind, TroubleKind
from farmops.digests.selectors.day import farm_day, sheet_day
from farmops.digests.services.mailing import Envelope, message_bytes
from farmops.digests.services.printing import Sheet, print_sheet
from farmops.digests.services.rows import identity
from farmops.farms.models import Farm, Hand

DAYS = 30
SENDER = "sheets@bench.example"
DEAD_EVERY, UNKNOWN_EVERY = 251, 487
SKIPPED_BACK = 4
"""So many days ago the mail server was away, and every sheet came too late."""
DUE_HOUR = 10


def lay_mail(*, farm: Farm, day: dt.date, now: dt.datetime) -> int:
    """Lay the mail of each day through today, with the sheet of a day that has a plan in it; return how many there are."""
    sheet = _sheet(farm, day)
    OutboxRow.objects.bulk_create(_rows(farm, sheet, local_date(now, farm.zone)), batch_size=500)
    failed = OutboxRow.objects.filter(farm=farm, state__in=[RowState.DEAD, RowState.UNKNOWN])
    SendTry.objects.bulk_create(
        SendTry(
            farm=farm,
            row=row,
            tried_at=row.due_at + dt.timedelta(minutes=10 * number),
            attempt=number,
            outcome="dead" if row.state == RowState.DEAD else "unknown",
            address=row.address,
            smtp_reply=row.smtp_reply,
        )
        for row in failed.defer("content").order_by("id")
        for number in (1, 2)
    )
    MailTrouble.objects.bulk_create(
        MailTrouble(
            farm=farm,
            kind=TroubleKind.DEAD,
            key=str(row.pk),
            says=f"The mail to {row.person_name} could not be handed over: {row.smtp_reply}",
            raised_at=row.due_at,
        )
        for row in failed.filter(state=RowState.DEAD).defer("content").order_by("-local_day", "id")[:3]
    )
    return OutboxRow.objects.filter(farm=farm).count()


def _sheet(farm: Farm, day: dt.date) -> Sheet:
    facts = farm_day(farm=farm, day=day)
    hand = Hand.objects.filter(pk__in=facts.busy).order_by("id")[0]
    return print_sheet(sheet_day(facts=facts, hand=hand, language="en"), "en")


def _rows(farm: Farm, sheet: Sheet, today: dt.date) -> Iterator[OutboxRow]:
    hands = list(Hand.objects.filter(farm=farm).order_by("id"))
    users = list(User.objects.filter(memberships__farm=farm).distinct().order_by("id"))
    at = 0
    for back in reversed(range(DAYS)):
        day = today - dt.timedelta(days=back)
        people = [(SheetKind.HAND, hand) for hand in hands] + [(SheetKind.DIGEST, user) for user in users]
        for kind, person in people:
            at += 1
            yield _row(farm, sheet, day, kind, person, at, is_away=back == SKIPPED_BACK)


def _row(
    farm: Farm, sheet: Sheet, day: dt.date, kind: str, person: Hand | User, at: int, *, is_away: bool
) -> OutboxRow:
    due_at = instant(day, DUE_HOUR)
    name = person.name if isinstance(person, Hand) else person.username
    code = person.code if isinstance(person, Hand) else person.username
    address = person.email or f"{code}@bench.example"
    message_id = identity(farm=farm, person=person, kind=kind, day=day, number=1)
    state: dict[str, Any] = {"state": RowState.SENT, "sent_at": due_at + dt.timedelta(minutes=1)}
    if is_away:
        state = {"state": RowState.SKIPPED, "reason": Reason.TOO_LATE}
    elif at % DEAD_EVERY == 0:
        state = {"state": RowState.DEAD, "reason": Reason.REFUSED, "smtp_reply": "550 no such mailbox"}
    elif at % UNKNOWN_EVERY == 0:
        state = {"state": RowState.UNKNOWN, "smtp_reply": "", "may_have_arrived": True}
    content = b"" if is_away else _content(farm, sheet, name, address, message_id, due_at)
    return OutboxRow(
        farm=farm,
        hand=person if isinstance(person, Hand) else None,
        user=None if isinstance(person, Hand) else person,
        kind=kind,
        local_day=day,
        due_at=due_at,
        not_before_at=due_at,
        give_up_at=due_at + dt.timedelta(hours=6),
        attempt=0 if is_away else 1,
        plan_no=1,
        language="en",
        address=address,
        message_id=message_id,
        bounce_token=f"{at:020x}",
        content=content,
        created_at=due_at,
        **state,
    )


def _content(
    farm: Farm, sheet: Sheet, name: str, address: str, message_id: str, dated_at: dt.datetime
) -> bytes:
    return message_bytes(
        sheet=sheet, envelope=Envelope(farm.name, SENDER, name, address, message_id, dated_at)
    )
