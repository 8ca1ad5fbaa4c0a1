"""What the tables of the mail refuse by themselves, whatever the code above them does."""

import datetime as dt
import re
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.db.models import Model, QuerySet

from farmops.core.appendonly import AppendOnlyRefused
from farmops.core.models import User
from farmops.digests.models import (
    BounceReport,
    MailChoice,
    MailTimes,
    MailTrouble,
    OutboxRow,
    PersonLink,
    Purpose,
    SendTry,
    SheetKind,
    SuppressedAddress,
    TroubleKind,
)
from farmops.digests.selectors.choices import choice_of, choices_of_kind, mail_times, reader_of
from farmops.digests.selectors.people import users_with_role
from farmops.digests.selectors.troubles import standing_halt, suppressed_addresses
from farmops.farms.models import Farm, Hand, Membership, Role, SignInLink
from tests.factories import make_farm, make_hand
from tests.farmops.digests.planned import MONDAY, at

pytestmark = pytest.mark.django_db
NOW = at(MONDAY, 5)


@pytest.fixture
def farm() -> Farm:
    return make_farm()


@pytest.fixture
def hand(farm: Farm) -> Hand:
    return make_hand(farm, "imani", email="imani@farm.example")


@pytest.fixture
def manager(farm: Farm) -> User:
    user = User.objects.create(username="odessa", email="odessa@farm.example")
    Membership.objects.create(farm=farm, user=user, role=Role.MANAGER)
    return user


def row(farm: Farm, **facts: Any) -> OutboxRow:
    whole: dict[str, Any] = {
        "local_day": MONDAY,
        "due_at": NOW,
        "not_before_at": NOW,
        "give_up_at": NOW + dt.timedelta(hours=6),
        "message_id": f"<{uuid.uuid4()}@farm.example>",
        "created_at": NOW,
    }
    return OutboxRow.objects.create(farm=farm, **{**whole, **facts})


def refuses(make: Callable[[], object]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        make()


def test_a_hand_and_a_user_each_are_owed_one_mail_of_a_kind_and_day(
    farm: Farm, hand: Hand, manager: User
) -> None:
    for facts in ({"hand": hand}, {"user": manager, "kind": SheetKind.DIGEST}):
        row(farm, **facts)
        refuses(lambda facts=facts: row(farm, **facts))  # type: ignore[misc]
        row(farm, **facts, local_day=MONDAY + dt.timedelta(days=1))
    assert OutboxRow.objects.count() == 4


def test_a_second_mail_of_a_day_is_a_change_or_was_asked_for(farm: Farm, hand: Hand) -> None:
    refuses(lambda: row(farm, hand=hand, number=2))
    refuses(lambda: row(farm, hand=hand, number=0, asked_at=NOW))
    row(farm, hand=hand, number=2, asked_at=NOW)
    row(farm, hand=hand, kind=SheetKind.CHANGE, number=2)


def test_a_mail_is_for_one_person_and_of_a_kind_that_fits(farm: Farm, hand: Hand, manager: User) -> None:
    refuses(lambda: row(farm))
    refuses(lambda: row(farm, hand=hand, user=manager))
    refuses(lambda: row(farm, hand=hand, kind=SheetKind.COSTS))
    refuses(lambda: row(farm, user=manager, kind=SheetKind.CHANGE))


def test_a_hand_of_another_farm_is_owed_nothing(farm: Farm) -> None:
    stranger = make_hand(make_farm("other-slough"), "odell")
    with pytest.raises(DatabaseError), transaction.atomic():
        row(farm, hand=stranger)


def test_no_mail_is_set_to_an_hour_that_a_change_of_clocks_takes_or_doubles(farm: Farm, hand: Hand) -> None:
    early = dt.time(2, 30)
    refuses(lambda: MailTimes.objects.create(farm=farm, digest_at=early, changed_at=NOW))
    refuses(
        lambda: MailChoice.objects.create(farm=farm, hand=hand, kind="hand", send_at=early, changed_at=NOW)
    )
    MailChoice.objects.create(farm=farm, hand=hand, kind="hand", send_at=dt.time(3, 30), changed_at=NOW)


def test_what_nobody_set_is_the_default(farm: Farm, hand: Hand, manager: User) -> None:
    assert mail_times(farm=farm).notice_at == dt.time(18)
    assert choice_of(farm=farm, person=hand, kind=SheetKind.HAND).is_wanted
    assert reader_of(farm=farm, person=manager).wants_calendar_file
    assert choices_of_kind(farm=farm, kind=SheetKind.HAND) == {}
    kept = MailChoice.objects.create(
        farm=farm, user=manager, kind=SheetKind.DIGEST, is_wanted=False, changed_at=NOW
    )
    assert choices_of_kind(farm=farm, kind=SheetKind.DIGEST) == {manager.pk: kept}
    assert not choice_of(farm=farm, person=manager, kind=SheetKind.DIGEST).is_wanted
    assert users_with_role(farm=farm, role=Role.MANAGER) == [manager]


def test_tries_and_bounces_are_written_once(farm: Farm, hand: Hand) -> None:
    owed = row(farm, hand=hand)
    tried = SendTry.objects.create(farm=farm, row=owed, tried_at=NOW, attempt=1, outcome="retry")
    with pytest.raises(AppendOnlyRefused):
        tried.save()
    report = {"farm": farm, "row": owed, "address": hand.email, "status": "5.1.1", "received_at": NOW}
    BounceReport.objects.create(**report)
    refuses(lambda: BounceReport.objects.create(**report))


def test_an_address_is_suppressed_once_until_that_is_lifted(farm: Farm) -> None:
    first = SuppressedAddress.objects.create(farm=farm, address="imani@farm.example", since_at=NOW)
    refuses(lambda: SuppressedAddress.objects.create(farm=farm, address="imani@farm.example", since_at=NOW))
    assert suppressed_addresses(farm=farm) == {"imani@farm.example"}
    SuppressedAddress.objects.filter(pk=first.pk).update(lifted_at=NOW)
    assert suppressed_addresses(farm=farm) == frozenset()
    SuppressedAddress.objects.create(farm=farm, address="imani@farm.example", since_at=NOW)


def test_the_queue_is_stopped_by_one_trouble_and_a_farm_keeps_each_of_its_own_once(farm: Farm) -> None:
    facts: dict[str, Any] = {"key": "smtp", "says": "535 no", "raised_at": NOW}
    halt = MailTrouble.objects.create(kind=TroubleKind.HALTED, **facts)
    refuses(lambda: MailTrouble.objects.create(kind=TroubleKind.HALTED, **facts))
    assert standing_halt() == halt
    MailTrouble.objects.filter(pk=halt.pk).update(ended_at=NOW)
    assert standing_halt() is None
    MailTrouble.objects.create(kind=TroubleKind.HALTED, **facts)
    of_farm: dict[str, Any] = {**facts, "farm": farm, "kind": TroubleKind.SKIPPED, "key": "2026-04-20"}
    MailTrouble.objects.create(**of_farm, ended_at=NOW)
    refuses(lambda: MailTrouble.objects.create(**of_farm))


def test_a_person_has_one_open_link_of_a_kind_and_a_new_one_after_it_is_revoked(
    farm: Farm, hand: Hand
) -> None:
    def link(nonce: str, **facts: Any) -> PersonLink:
        return PersonLink.objects.create(
            farm=farm, hand=hand, nonce=nonce, made_at=NOW, **{"purpose": Purpose.CALENDAR, **facts}
        )

    first = link("a")
    refuses(lambda: link("b"))
    link("c", purpose=Purpose.STOP, kind=SheetKind.HAND)
    refuses(lambda: link("d", purpose=Purpose.STOP))
    PersonLink.objects.filter(pk=first.pk).update(revoked_at=NOW)
    link("b")


@pytest.mark.parametrize(
    "rows",
    [
        OutboxRow.objects.filter(asked_by__in=[1, 2]),
        OutboxRow.objects.filter(user__in=[1, 2]),
        OutboxRow.objects.filter(bounce_token__in=["a", "b"]),
        SignInLink.objects.filter(revoked_by=1),
        SignInLink.objects.filter(secret_hash="a"),
    ],
    ids=["asked by", "user", "bounce token", "revoked by", "secret"],
)
def test_what_few_rows_hold_is_found_by_an_index(rows: QuerySet[Model]) -> None:
    """Also where rows that hold nothing there do not stand in it."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
    plan = rows.order_by().explain()
    assert re.search("(?i)index", plan), plan
    assert not re.search("Seq Scan|SCAN ", plan), plan
