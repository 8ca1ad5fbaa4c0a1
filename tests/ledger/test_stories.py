"""Any order of recording, correcting, billing, reversing, pricing and posting leaves whole books."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.db import transaction
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger.models import Account, Entry, Line
from ledger.services.journal import ReversalRefused, reverse_entry
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.source_types import pending_keys
from ledger.services.verify import verify_ledger
from scheduling.models import WorkRecord
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_bill, make_place, make_work

pytestmark = pytest.mark.django_db

STEPS = st.lists(
    st.tuples(
        st.sampled_from(
            ["work", "early work", "correct", "bill", "credit", "reverse", "post", "post", "price"]
        ),
        st.integers(0, 10**6),
    ),
    min_size=1,
    max_size=14,
)


class RollBack(Exception):
    """Ends an example and takes back what it wrote."""


def correct(place: Place, pick: int) -> None:
    open_ones = WorkRecord.objects.filter(superseded_by__isnull=True)
    if open_ones:
        make_work(place, hand_min=pick % 600, supersedes=open_ones[pick % len(open_ones)])


def reverse(place: Place, pick: int) -> None:
    entries = Entry.objects.all()
    if entries:
        try:
            reverse_entry(entry=entries[pick % len(entries)], why="told to", now=NOON)
        except ReversalRefused:
            # only a reversal, or what was reversed before, is refused
            entry = entries[pick % len(entries)]
            assert entry.reverses_id is not None or Entry.objects.filter(reverses=entry).exists()


def price(place: Place, pick: int) -> None:
    set_rate(
        farm=place.farm,
        kind="wage",
        usd_per_unit=f"{pick % 40}.{pick % 100:02d}",
        valid_from=NEW_YEAR - dt.timedelta(days=pick % 3),
        corrects=True,
        now=NOON,
    )


ACTIONS: dict[str, Callable[[Place, int], object]] = {
    "work": lambda place, pick: make_work(place, hand_min=pick % 1441, machine_min=pick % 700),
    "early work": lambda place, pick: make_work(place, work_on=NEW_YEAR - dt.timedelta(days=1)),
    "correct": correct,
    "bill": lambda place, pick: make_bill(place, f"{pick % 5000 + 1}.{pick % 100:02d}", season=place.season),
    "credit": lambda place, pick: make_bill(place, f"-{pick % 50 + 1}", category="seed", paid_on=DAY),
    "reverse": reverse,
    "post": lambda place, pick: post_pending(now=NOON),
    "price": price,
}


def check(place: Place) -> None:
    """Hold what must hold after any story: nothing lost, nothing twice, everything in balance."""
    post_pending(now=NOON)
    assert verify_ledger().faults == []
    total = Line.objects.aggregate(cents=Sum("cents", default=0))["cents"]
    assert total == 0
    waiting = pending_keys(farm=place.farm)
    assert all(kind == "work_record" for kind, _pk in waiting)
    for record in WorkRecord.objects.all():
        standing = record.entries.filter(reversed_by__isnull=True).count()
        superseded = WorkRecord.objects.filter(supersedes=record).exists()
        posted_after = any(later.entries.exists() for later in WorkRecord.objects.filter(supersedes=record))
        assert record.entries.count() <= 1
        if not superseded:
            assert record.entries.exists() or ("work_record", record.pk) in waiting
        if posted_after:
            assert standing == 0
    labor = Line.objects.filter(account=Account.SEASON, category="labor", quantity_e4__isnull=False)
    for line in labor:
        assert (line.cents > 0) == (line.quantity_e4 > 0)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(STEPS)
def test_any_story_leaves_whole_books(steps: list[tuple[str, int]]) -> None:
    def tell() -> None:
        with transaction.atomic():
            place = make_place()
            for name, pick in steps:
                ACTIONS[name](place, pick)
            check(place)
            raise RollBack

    with pytest.raises(RollBack):
        tell()
