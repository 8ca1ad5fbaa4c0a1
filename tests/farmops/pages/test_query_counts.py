"""Every page asks the database as often on a farm that has grown as it did before."""

import datetime as dt
import uuid
from collections.abc import Iterator
from decimal import Decimal

import pytest
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from farmops.core import clock
from farmops.digests.models import OutboxRow, RowState, SheetKind
from farmops.farms.models import Hand, Machine
from farmops.pages.urls import urlpatterns
from farmops.weather.models import Station
from ledger.models import Bill, ShareOut
from ledger.selectors.pools import pool_named
from ledger.services.posting import post_pending
from ledger.services.share_outs import share_out_pool
from scheduling.models import Incident, PassLink, PassState
from scheduling.selectors import plan_documents
from tests.factories import make_field, make_hand, make_implement, make_machine, make_pass, make_season
from tests.farmops.pages.conftest import MONDAY, Yard, signed_in
from tests.ledger.makers import make_bill, set_rates
from tests.scheduling.care_facts import make_pivot, make_reading, make_rule, make_seen, make_work
from tests.scheduling.ground import make_dry_spring
from tests.scheduling.incident_makers import make_puncture

GROWN = 4
NOW = MONDAY + dt.timedelta(hours=5)
EXEMPT: dict[str, str] = {}
"""Pages whose number of queries may grow with the farm, each with why; it is empty, and is meant to stay so."""


@pytest.fixture
def spring(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm)
    set_rates(yard.farm)
    monkeypatch.setattr(clock, "now", lambda: NOW)
    grow(yard, "first", 2)
    return yard


def grow(yard: Yard, name: str, count: int) -> None:
    """Add fields with seasons, passes, work and pivots, and machines and hands with what is kept of each."""
    for at in range(count):
        hand = make_hand(yard.farm, f"{name}-hand-{at}", name=f"{name} hand {at}")
        tractor = make_machine(yard.farm, f"{name}-tractor-{at}")
        disk = make_implement(yard.farm, f"{name}-disk-{at}")
        make_rule(tractor, f"{name}-oil-{at}", hand)
        make_rule(disk, f"{name}-grease-{at}")
        make_reading(tractor, "2500")
        field = make_field(yard.farm, f"{name}-{at}")
        make_seen(make_pivot(field, name=f"{name} pivot {at}"), MONDAY, is_running=at % 2 == 0)
        old = make_season(field, crop="corn", crop_year=2025)
        done = make_pass(old, "disk", state=PassState.FINISHED, done_ac=Decimal(40))
        make_work(done, hand, dt.date(2026, 4, 10), machine=tractor, implement=disk, done_ac=Decimal(20))
        season = make_season(field)
        before, after = make_pass(season, "disk"), make_pass(season, "plant", due_on=dt.date(2026, 4, 18))
        PassLink.objects.create(farm=yard.farm, before=before, after=after)
        make_puncture(field)
        bought = {"payee": f"{name} supply {at}", "bill_on": dt.date(2026, 4, 10 + 5 * (name != "first"))}
        make_bill(yard, "120.00", season=season, **bought)
        make_bill(yard, "30.00", category="repairs", **bought)
        make_mail(yard, hand)
    post_pending(farm=yard.farm, now=NOW)
    share_out_pool(
        farm=yard.farm,
        client_id=uuid.uuid4(),
        pool=pool_named(farm=yard.farm, key="overhead"),
        shared_by="acres",
        crop_year=2026,
        first_on=dt.date(2026, 4, 10),
        last_on=dt.date(2026, 4, 12 + 5 * (name != "first")),
        why="office and shop",
        now=NOW,
    )


def make_mail(yard: Yard, hand: Hand) -> OutboxRow:
    """Return the sheet of a hand that went out this morning."""
    return OutboxRow.objects.create(
        farm=yard.farm,
        hand=hand,
        kind=SheetKind.HAND,
        local_day=MONDAY.date(),
        state=RowState.SENT,
        due_at=NOW,
        not_before_at=NOW,
        give_up_at=NOW + dt.timedelta(hours=8),
        address=f"{hand.code}@heron.example",
        message_id=f"<{hand.code}@heron.example>",
        content=b"Subject: First: disk\r\n\r\nDisk first.\r\n",
        sent_at=NOW,
        created_at=NOW,
    )


def pages(yard: Yard) -> Iterator[tuple[str, str]]:
    """Yield each address that the farm of the tests has, with its name."""
    known = {
        "farm_code": yard.farm.code,
        "code": yard.field.code,
        "hand_id": yard.hand.pk,
        "pass_id": yard.field_pass.pk,
        "number": 1,
        "kind": "machine",
        "row_id": Machine.objects.order_by("id")[0].pk,
        "station_id": Station.objects.order_by("id")[0].pk,
        "incident_id": Incident.objects.order_by("id")[0].pk,
        "bill_id": Bill.objects.order_by("id")[0].pk,
        "share_out_id": ShareOut.objects.order_by("id")[0].pk,
    }
    mailed = OutboxRow.objects.order_by("id")[0].pk
    for pattern in urlpatterns:
        wanted = list(pattern.pattern.converters)
        if "farm_code" in wanted and all(name in known for name in wanted):
            row_id = {"row_id": mailed} if "/mail/" in str(pattern.pattern) else {}
            address = reverse(
                f"pages:{pattern.name}", kwargs={name: (known | row_id)[name] for name in wanted}
            )
            yield str(pattern.name), address


def counts(yard: Yard, clients: list[Client]) -> dict[str, int]:
    """Return how often each page asks the database that answers one of the people with 200: once the ground is
    kept, and before anything else is at hand.
    """
    cache.clear()
    plan_documents.forget()
    clients[0].get(reverse("pages:fields", args=[yard.farm.code]))
    found = {}
    for name, address in pages(yard):
        for client in clients:
            with CaptureQueriesContext(connection) as asked:
                answer = client.get(address)
                answer.getvalue()
            status = answer.status_code
            if status != 403:
                break
        if status == 200:
            found[name] = len(asked)
    return found


@pytest.mark.long
def test_no_page_asks_the_database_more_often_on_a_larger_farm(spring: Yard) -> None:
    people = [signed_in("mona"), signed_in("rosa")]
    small = counts(spring, people)
    grow(spring, "more", GROWN)
    large = counts(spring, people)
    grew = {
        name: (asked, large.get(name))
        for name, asked in small.items()
        if large.get(name) != asked and name not in EXEMPT
    }
    assert grew == {}
    assert len(small) > 40
    assert {"bill", "share_out", "mail_row"} <= small.keys()
    assert Hand.objects.count() == 1 + 2 + GROWN
