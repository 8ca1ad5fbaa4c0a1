"""The kept pages of debris: whatever changes of what it says, the next look shows it."""

import datetime as dt
import re
import uuid
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farmops.desk import debris_marks
from farmops.farms.models import Farm, Field, Hand, HandSkill, ImplementOperation, Machine
from farmops.pages.debris_page import farm_facts, field_facts
from ledger.models import Entry
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from scheduling.models import DebrisNumbers, FieldPass, PassLink, PassState, WorkRecord
from scheduling.services.debris import propose_walk
from scheduling.services.incidents import mend_incident
from tests.factories import make_field, make_hand, make_implement, make_machine, make_pass, make_season
from tests.farmops.pages.conftest import Yard, signed_in
from tests.ledger.makers import make_bill
from tests.scheduling.incident_makers import NOON, cover, make_puncture

PAGES = ("/farms/heron-slough/debris/", "/farms/heron-slough/debris/pond-40/")
OF_ONE_ANSWER = re.compile(r'name="csrfmiddlewaretoken" value="[^"]+"')
TABLE = re.compile(r'(?:FROM|JOIN) "(\w+)"')
ASKED_EACH_TIME = {"weather_dailyweather", "farms_farm"}
"""What says which day the page is about, and the farm itself, which is in the mark as it was read."""
pytestmark = pytest.mark.usefixtures("_at_noon")


@pytest.fixture
def _at_noon() -> Any:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def worked(yard: Yard) -> Yard:
    """Planting is done on the field whose disking waits, tires went flat there, and everything has its price."""
    plant = make_pass(yard.field_pass.season, "plant", state=PassState.FINISHED)
    make_hand(yard.farm, "walker", operations=("debris_walk",))
    cover(plant, yard.hand, make_machine(yard.farm, "tractor-7"), "300")
    for _number in range(8):
        make_puncture(yard.field)
    rate(yard.farm, "wage", "15.25", "walker")
    rate(yard.farm, "wage", "14.00", "rosa")
    FieldPass.objects.filter(pk=yard.field_pass.pk).update(due_on=NOON.date(), late_cents_per_day=9000)
    return yard


def rate(farm: Farm, kind: str, usd: str, subject: str) -> None:
    set_rate(
        farm=farm,
        kind=kind,
        subject=subject,
        usd_per_unit=usd,
        valid_from=dt.date(2026, 1, 1),
        corrects=True,
        now=NOON,
    )


def seen() -> list[str]:
    client, pages = signed_in("mona"), []
    for address in PAGES:
        answer = client.get(address)
        assert answer.status_code == 200
        pages.append(OF_ONE_ANSWER.sub("", answer.content.decode()))
    return pages


def passes(yard: Yard, **facts: Any) -> None:
    FieldPass.objects.filter(pk=yard.field_pass.pk).update(**facts)


def walks(**facts: Any) -> None:
    FieldPass.objects.filter(operation="debris_walk").update(**facts)


def mended(yard: Yard, mending: str) -> None:
    incident = make_puncture(yard.field, lost_min=30)
    facts = {"mending": mending, "lost_min": 600, "now": NOON}
    mend_incident(farm=yard.farm, client_id=uuid.uuid4(), incident=incident, **facts)


def another_machine(yard: Yard) -> None:
    rate(yard.farm, "machine", "120.00", make_machine(yard.farm, "tractor-8").code)


def bill_reversed() -> None:
    post_pending(now=NOON)
    reverse_entry(entry=Entry.objects.get(bill__incident__isnull=False), why="not so", now=NOON)


CHANGES: dict[str, Callable[[Yard], object]] = {
    "a tire goes flat": lambda yard: make_puncture(yard.field),
    "a tire meets a stub": lambda yard: make_puncture(yard.field, met="stalk stub"),
    "its place is told": lambda yard: make_puncture(yard.field, at=("31.6030", "-83.5195")),
    "hours are told of one": lambda yard: mended(yard, "repair"),
    "acres are worked": lambda yard: cover(
        FieldPass.objects.get(operation="plant"), yard.hand, Machine.objects.get(code="tractor-7"), "13"
    ),
    "a tire is billed": lambda yard: make_bill(yard, "950.00", incident=make_puncture(yard.field)),
    "its bill is reversed": lambda yard: bill_reversed(),
    "a wage is another": lambda yard: rate(yard.farm, "wage", "19.75", "walker"),
    "a machine has a price": another_machine,
    "a hand may walk": lambda yard: HandSkill.objects.create(
        farm=yard.farm, hand=yard.hand, operation="debris_walk"
    ),
    "a hand works no more": lambda yard: Hand.objects.filter(code="walker").update(works=False),
    "the pass is due later": lambda yard: passes(yard, due_on=NOON.date() + dt.timedelta(days=40)),
    "an implement does no such work": lambda yard: ImplementOperation.objects.filter(
        operation="disk"
    ).delete(),
    "another implement does": lambda yard: make_implement(yard.farm, "disk-9"),
    "a machine is weak": lambda yard: Machine.objects.filter(farm=yard.farm).update(power_hp=1),
    "a part of the pass is done": lambda yard: passes(yard, done_ac=Decimal("7.5")),
    "the work is another": lambda yard: passes(yard, operation="rip_bed"),
    "a walk is proposed": lambda yard: propose_walk(
        farm=yard.farm, field_pass=FieldPass.objects.get(pk=yard.field_pass.pk), leave_cents=5
    ),
    "the walk is under way": lambda yard: walks(state=PassState.UNDER_WAY, done_ac=Decimal(9)),
    "the walk is reported": lambda yard: cover(
        FieldPass.objects.get(operation="debris_walk"), yard.hand, None, "9"
    ),
    "the walk is done": lambda yard: walks(state=PassState.FINISHED, done_ac=Decimal(40)),
    "nothing waits for the walk": lambda yard: PassLink.objects.all().delete(),
    "the pass is done": lambda yard: passes(yard, state=PassState.FINISHED),
    "the farm has its own numbers": lambda yard: DebrisNumbers.objects.create(
        farm=yard.farm, wage_cents_per_h=1000
    ),
    "a number is another": lambda yard: DebrisNumbers.objects.update(swath_ft=41),
    "there is another field": lambda yard: make_pass(make_season(make_field(yard.farm, "sand-60"))),
    "a field is renamed": lambda yard: Field.objects.filter(pk=yard.field.pk).update(name="Low pond"),
    "the farm is renamed": lambda yard: Farm.objects.filter(pk=yard.farm.pk).update(name="Long Slough"),
}


@pytest.mark.long
def test_whatever_changes_is_shown_at_once(worked: Yard) -> None:
    before = seen()
    for name, change in CHANGES.items():
        change(worked)
        now = seen()
        cache.clear()
        assert now == seen(), name
        assert now != before, name
        before = now


def test_a_day_later_the_page_is_about_that_day(worked: Yard) -> None:
    passes(worked, due_on=NOON.date() + dt.timedelta(days=12))
    before = seen()
    with time_machine.travel(NOON + dt.timedelta(days=3), tick=False):
        now = seen()
        cache.clear()
        assert now == seen() != before


def test_each_table_that_the_page_reads_is_in_its_mark(worked: Yard) -> None:
    propose_walk(farm=worked.farm, field_pass=worked.field_pass, leave_cents=5)
    walks(state=PassState.FINISHED)
    cover(FieldPass.objects.get(operation="debris_walk"), worked.hand, None, "40")
    mended(worked, "repair")
    cache.clear()
    with CaptureQueriesContext(connection) as asked:
        farm_facts(farm=worked.farm, now=NOON)
        field_facts(farm=worked.farm, field=worked.field, now=NOON)
    read = {table for one in asked for table in TABLE.findall(one["sql"])}
    with CaptureQueriesContext(connection) as marked:
        debris_marks.debris_mark(farm=worked.farm)
    assert len(marked) == 1
    assert read - ASKED_EACH_TIME <= set(TABLE.findall(marked[0]["sql"]))
    assert WorkRecord._meta.db_table in read
