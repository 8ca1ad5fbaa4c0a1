"""What happens on a farm for tests of kept pages, and a look at one of its pages."""

import re
import uuid
from collections.abc import Callable
from typing import Any

from farmops.farms.models import Farm, Season
from ledger.models import Bill, Entry, Payee
from ledger.services.bills import enter_bill
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import Yard, signed_in
from tests.scheduling.incident_makers import DAY, NOON

AT = "/farms/heron-slough/"
OF_ONE_ANSWER = re.compile(r'name="(?:csrfmiddlewaretoken|client_id)" value="[^"]+"')
Changes = dict[str, Callable[[Yard], object]]


def look(path: str, user: str = "mona") -> Callable[[], str]:
    def seen() -> str:
        answer = signed_in(user).get(AT + path)
        assert answer.status_code == 200
        body = b"".join(answer) if answer.streaming else answer.content
        return OF_ONE_ANSWER.sub("", body.decode())

    return seen


def bill(yard: Yard, number: str, *, usd: str = "100.01", corrects: Bill | None = None, **facts: Any) -> Bill:
    plain: dict[str, Any] = {
        "payee": "Plain Mutual",
        "category": "scouting",
        "season": Season.objects.filter(field=yard.field).earliest("crop_year"),
        "paid_on": DAY,
    }
    row, _is_new = enter_bill(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        number=number,
        bill_on=facts.pop("on", DAY),
        amount_usd=usd,
        supersedes=corrects,
        now=NOON,
        **plain | facts,
    )
    post_pending(now=NOON)
    return row


def undone(source: str) -> None:
    entry = Entry.objects.filter(source_kind=source, reversed_by=None).order_by("number").last()
    assert entry is not None
    reverse_entry(entry=entry, why="not so", now=NOON)


def of_farm(**facts: Any) -> Callable[[Yard], object]:
    return lambda yard: Farm.objects.filter(pk=yard.farm.pk).update(**facts)


def rows(model: Any, **facts: Any) -> Callable[[Yard], object]:
    return lambda yard: model.objects.filter(farm=yard.farm).update(**facts)


def renamed_payee(before: str, name: str) -> Callable[[Yard], object]:
    return lambda yard: Payee.objects.filter(name=before).update(name=name)
