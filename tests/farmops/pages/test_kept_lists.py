"""Lists that are kept while nothing of them changes: spray records, incidents, a day's mail; and forms in what is kept."""

import datetime as dt
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
import time_machine

from farmops.core.models import User
from farmops.digests.models import MailTrouble, OutboxRow, RowState, SheetKind, SuppressedAddress, TroubleKind
from farmops.farms.models import Field, Hand, HandLicense, Implement, Machine, Membership, Season
from ledger.models import Entry
from ledger.services.journal import reverse_entry
from scheduling.models import FieldPass, Incident, Spraying
from scheduling.services.incidents import mend_incident, place_incident
from scheduling.services.sprayings import take_back_spraying
from tests.factories import make_hand, make_implement, make_machine, make_pass
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.kept import stale_later, unmarked_reads, unseen_changes
from tests.farmops.pages.kept_makers import AT, OF_ONE_ANSWER, Changes, bill, look, of_farm, rows
from tests.farmops.pages.test_spray_pages import MORNING, product, spray
from tests.scheduling.incident_makers import DAY, NOON, make_puncture
from tests.scheduling.work import worked

pytestmark = pytest.mark.usefixtures("_at_noon")


@pytest.fixture
def _at_noon() -> Any:
    with time_machine.travel(NOON, tick=False):
        yield


def sprayed_work(yard: Yard) -> None:
    field_pass = make_pass(Season.objects.get(field=yard.field), "spray")
    worked(field_pass, yard.hand, starts_at=MORNING - dt.timedelta(days=9), minutes=60)


def suppressed(yard: Yard) -> SuppressedAddress:
    return SuppressedAddress.objects.create(farm=yard.farm, address="a@heron.example", since_at=NOON)


def the_incident() -> Incident:
    return Incident.objects.get()


OF_RECORDS: Changes = {
    "a field is sprayed": lambda yard: spray(yard, sprayed_by=yard.hand),
    "another is": lambda yard: spray(yard, product(rate=Decimal(9)), note="hot"),
    "one is taken back": lambda yard: take_back_spraying(
        spraying=Spraying.objects.order_by("-pk")[0], client_id=uuid.uuid4(), recorded_by=None, now=NOON
    ),
    "it is corrected": lambda yard: spray(
        yard, supersedes=Spraying.objects.order_by("pk")[0], wind_mph=Decimal(9)
    ),
    "the field is renamed": rows(Field, name="Low pond"),
    "the farm's clock is another": of_farm(zone="Pacific/Kiritimati"),
}
OF_SPRAYS: Changes = {
    **OF_RECORDS,
    "a spraying is reported that nobody wrote down": sprayed_work,
    "the hand is renamed": rows(Hand, name="Rosa Mae"),
    "it was other work": lambda yard: FieldPass.objects.filter(operation="spray").update(operation="plant"),
    "a hand has a license": lambda yard: HandLicense.objects.create(
        farm=yard.farm, hand=yard.hand, number="PA-9", category="row", expires_on=DAY
    ),
    "it lasts longer": rows(HandLicense, expires_on=DAY + dt.timedelta(days=900)),
}
OF_PAPER: Changes = {
    **OF_RECORDS,
    "the field has an address": rows(Field, road_address="1 Pond Road"),
    "the farm is renamed": of_farm(name="Long Slough"),
}
OF_INCIDENTS: Changes = {
    "a tire goes flat": lambda yard: make_puncture(
        yard.field, hand=yard.hand, machine=Machine.objects.get(), implement=Implement.objects.get()
    ),
    "its place is told": lambda yard: place_incident(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        incident=the_incident(),
        latitude_deg=Decimal("31.6030"),
        longitude_deg=Decimal("-83.5195"),
        placed_by="tapped",
        now=NOON,
    ),
    "it is mended": lambda yard: mend_incident(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        incident=the_incident(),
        mending="repair",
        lost_min=90,
        now=NOON,
    ),
    "it is billed": lambda yard: bill(yard, "T 1", category="tires", season=None, incident=the_incident()),
    "its bill is reversed": lambda yard: reverse_entry(
        entry=Entry.objects.get(bill__incident=the_incident()), why="not so", now=NOON
    ),
    "the field is renamed": rows(Field, name="Low pond"),
    "the machine is renamed": rows(Machine, name="Red tractor"),
    "the implement is renamed": rows(Implement, name="Old disk"),
    "the hand is renamed": rows(Hand, name="Rosa Mae"),
    "there is another machine": lambda yard: make_machine(yard.farm, "tractor-9"),
    "and another implement": lambda yard: make_implement(yard.farm, "disk-9"),
    "and another hand": lambda yard: make_hand(yard.farm, "ada", name="Ada"),
    "the farm's clock is another": of_farm(zone="Pacific/Kiritimati"),
}


def mail(state: str, **facts: Any) -> Callable[[Yard], object]:
    return lambda yard: OutboxRow.objects.filter(kind=SheetKind.HAND).update(state=state, **facts)


OF_MAIL: Changes = {
    "a sheet is due": lambda yard: OutboxRow.objects.create(
        farm=yard.farm,
        kind=SheetKind.HAND,
        hand=yard.hand,
        local_day=DAY,
        due_at=NOON,
        not_before_at=NOON,
        give_up_at=NOON,
        created_at=NOON,
        message_id="<one@heron.example>",
    ),
    "it goes out": mail(RowState.SENT, sent_at=NOON),
    "the hand is renamed": rows(Hand, name="Rosa Mae"),
    "somebody reads who is not of the farm": lambda yard: OutboxRow.objects.create(
        farm=yard.farm,
        kind=SheetKind.DIGEST,
        user=User.objects.create_user("ines", password="x" * 12),
        local_day=DAY,
        due_at=NOON,
        not_before_at=NOON,
        give_up_at=NOON,
        created_at=NOON,
        message_id="<two@heron.example>",
    ),
    "she has a name": lambda yard: User.objects.filter(username="ines").update(first_name="Ines"),
    "the manager has a name": lambda yard: User.objects.filter(username="mona").update(first_name="Mona"),
    "the bookkeeper manages": lambda yard: Membership.objects.filter(user__username="bo").update(
        role="manager"
    ),
    "and leaves": lambda yard: Membership.objects.filter(user__username="bo").delete(),
    "a sheet is refused": mail(RowState.DEAD, sent_at=None, smtp_reply="550 no such user"),
    "a hand works no more": rows(Hand, works=False),
    "the farm's clock is another": of_farm(zone="America/Chicago"),
    "mail came back": lambda yard: MailTrouble.objects.create(
        farm=yard.farm, kind=TroubleKind.BOUNCED, key=str(suppressed(yard).pk), raised_at=NOON
    ),
    "of another address": lambda yard: SuppressedAddress.objects.update(address="b@heron.example"),
    "a mail is given up": lambda yard: MailTrouble.objects.create(
        farm=yard.farm,
        kind=TroubleKind.DEAD,
        key=str(OutboxRow.objects.get(kind=SheetKind.HAND).pk),
        raised_at=NOON,
    ),
    "the hand has an address": rows(Hand, email="rosa@heron.example"),
}


@pytest.mark.parametrize(
    ("changes", "path", "user"),
    [
        (OF_SPRAYS, "sprays/", "mona"),
        (OF_PAPER, "sprays/paper/", "mona"),
        (OF_INCIDENTS, "incidents/", "mona"),
        (OF_MAIL, "mail/", "mona"),
    ],
)
def test_whatever_changes_is_shown_at_once(yard: Yard, changes: Changes, path: str, user: str) -> None:
    unseen = unseen_changes(yard, changes, look(path, user))
    assert not unseen


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        (OF_SPRAYS, "sprays/"),
        (OF_PAPER, "sprays/paper/"),
        (OF_INCIDENTS, "incidents/"),
        (OF_MAIL, "mail/"),
    ],
)
def test_each_table_that_is_read_is_in_the_mark(
    yard: Yard, changes: Changes, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for change in changes.values():
        change(yard)
    unmarked = unmarked_reads(monkeypatch, look(path))
    assert not any(unmarked.values()), unmarked


@pytest.mark.parametrize(
    ("changes", "path"), [(OF_SPRAYS, "sprays/"), (OF_PAPER, "sprays/paper/"), (OF_INCIDENTS, "incidents/")]
)
def test_days_later_the_page_is_of_that_day(yard: Yard, changes: Changes, path: str) -> None:
    for change in changes.values():
        change(yard)
    assert not stale_later(NOON, look(path))


@pytest.mark.parametrize("path", ["sprays/", "incidents/", "landlords/", "bills/", "share-outs/"])
def test_each_answer_has_tokens_and_ids_of_its_own(yard: Yard, path: str) -> None:
    spray(yard)
    bill(yard, "A 1", category="repairs", season=None, machine=Machine.objects.get())
    client = signed_in("mona")
    first, second = (
        set(OF_ONE_ANSWER.findall(client.get(AT + path).content.decode())) for _twice in range(2)
    )
    assert len(first) == len(second) > 1
    assert not first & second


def test_what_was_typed_is_of_one_answer(yard: Yard) -> None:
    client = signed_in("mona")
    page = client.post(
        f"{AT}incidents/add/", {"kind": "stuck", "day": "", "hour": "07:00", "note": "by the creek"}
    )
    assert page.status_code == 422
    assert "by the creek" in page.content.decode()
    assert "by the creek" not in client.get(f"{AT}incidents/").content.decode()


def test_who_may_not_write_is_offered_no_form_that_another_may(yard: Yard) -> None:
    spray(yard)
    for path, form in (("sprays/", "take back"), ("incidents/", 'id="add"')):
        assert form in look(path, "mona")()
        assert form not in look(path, "bo")()
        assert form in look(path, "mona")()
