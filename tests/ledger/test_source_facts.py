"""Every kind of source says what it is: no line ends at a number alone."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from ledger.models import SOURCES, Entry, MachineCostFacts, SourceKind
from ledger.selectors.pools import Pool, PoolKind
from ledger.selectors.source_facts import SourceFacts, source_facts
from ledger.services.bill_items import NewBillItem
from ledger.services.books import choose_year
from ledger.services.journal import reverse_entry
from ledger.services.machine_years import book_machine_year
from ledger.services.opening import enter_opening_stock
from ledger.services.periods import close_period
from ledger.services.posting import post_pending
from ledger.services.share_outs import share_out_pool
from scheduling.models import CareDone, FuelFill, HourReading
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_bill, make_work, use_input
from tests.scheduling.care_facts import make_rule
from tests.scheduling.incident_makers import make_puncture

NEXT_YEAR = dt.datetime(2027, 1, 20, 16, tzinfo=dt.UTC)
NIGHT = NOON + dt.timedelta(hours=9)


def told(place: Place, kind: SourceKind) -> SourceFacts:
    entry = Entry.objects.filter(farm=place.farm, source_kind=kind).earliest("number")
    found = source_facts(farm=place.farm, number=entry.number)
    assert found is not None
    assert found.kind == kind.label
    assert found.facts[0] == ("date", entry.happened_on.isoformat())
    assert all(name and value for name, value in found.facts)
    assert all(len(row) == len(found.heads) for row in found.rows)
    return found


@pytest.fixture
def every_kind(place: Place) -> Place:
    """A year in which every kind of source was booked."""
    farm = place.farm
    choose_year(farm=farm, year=2026, stock_cost="average", fuel_by="fill_ups", now=NOON)
    HourReading.objects.create(
        farm=farm,
        client_id=uuid.uuid4(),
        machine=place.machine,
        reading_h=Decimal("2400.0"),
        read_at=NOON - dt.timedelta(days=2),
        recorded_at=NOON,
    )
    enter_opening_stock(
        farm=farm,
        client_id=uuid.uuid4(),
        item="diesel",
        category="fuel",
        lot="T-7",
        quantity="500",
        unit="gal",
        amount_usd="1600.00",
        on=DAY,
        now=NOON,
    )
    use_input(make_work(place), "cotton-seed", "8.125", "bag", usd="275.50", category="seed")
    FuelFill.objects.create(
        farm=farm,
        client_id=uuid.uuid4(),
        machine=place.machine,
        filled_at=NIGHT,
        gallons=Decimal("36.0"),
        recorded_at=NIGHT,
    )
    HourReading.objects.create(
        farm=farm,
        client_id=uuid.uuid4(),
        machine=place.machine,
        reading_h=Decimal("2410.0"),
        read_at=NIGHT,
        recorded_at=NIGHT,
    )
    CareDone.objects.create(
        farm=farm,
        client_id=uuid.uuid4(),
        rule=make_rule(place.machine),
        hand=place.hand,
        done_at=NOON,
        hand_min=50,
        parts="4 gal oil, filter",
        parts_cents=86_40,
        recorded_at=NOON,
    )
    make_puncture(
        place.season.field, machine=place.machine, hand=place.hand, season=place.season, lost_min=60
    )
    items = (NewBillItem(category="seed", amount_usd="500.00", says="cleaning"),)
    make_bill(
        place, "500.00", category="seed", season=place.season, items=items, paid_on=DAY, check_no="1042"
    )
    make_bill(place, "120.00", category="insurance")
    MachineCostFacts.objects.create(
        farm=farm,
        machine=place.machine,
        cost_class="tractor_2wd",
        list_price_cents=150_000_00,
        paid_cents=130_000_00,
        bought_on=dt.date(2022, 1, 1),
        bought_at_h=0,
        life_h=6_000,
        annual_h=400,
        interest_pct=8,
        insurance_housing_pct=1,
        repair_rf1_factor=Decimal("0.007"),
        repair_rf2_factor=2,
        entered_at=NOON,
    )
    post_pending(now=NIGHT)
    share_out_pool(
        farm=farm,
        client_id=uuid.uuid4(),
        pool=Pool(PoolKind.OVERHEAD, None, {}),
        shared_by="acres",
        crop_year=2026,
        first_on=NEW_YEAR,
        last_on=DAY,
        why="insurance of the year",
        now=NIGHT,
    )
    reverse_entry(entry=Entry.objects.get(care_done__isnull=False), why="typed twice", now=NIGHT)
    close_period(farm=farm, month=DAY.replace(day=1), now=NEXT_YEAR)
    book_machine_year(farm=farm, thing=place.machine, year=2026, now=NEXT_YEAR)
    return place


def test_every_kind_says_its_facts_and_its_parts(every_kind: Place) -> None:
    place = every_kind
    kinds = set(Entry.objects.filter(farm=place.farm).values_list("source_kind", flat=True))
    assert kinds == {*SOURCES, SourceKind.REVERSAL}
    wanted: dict[SourceKind, tuple[str, str]] = {
        SourceKind.WORK_RECORD: ("hours of the engine", "4 h 30 min"),
        SourceKind.BILL: ("payee", "Three Rivers Supply"),
        SourceKind.PAYMENT: ("check", "1042"),
        SourceKind.CARE_DONE: ("parts cost", "$86.40"),
        SourceKind.INCIDENT: ("hours lost", "1 h 0 min"),
        SourceKind.FUEL_FILL: ("gallons", "36.0"),
        SourceKind.HOUR_READING: ("hour meter", "2410.0 h"),
        SourceKind.OPENING: ("lot", "T-7"),
        SourceKind.SHARE_OUT: ("why", "insurance of the year"),
        SourceKind.MACHINE_YEAR: ("year", "2026"),
        SourceKind.PERIOD: ("month", "2026-04"),
    }
    assert set(wanted) == set(SOURCES)
    for kind, fact in wanted.items():
        assert fact in told(place, kind).facts, kind
    assert ("cotton-seed", "8.125 bag", "") in told(place, SourceKind.WORK_RECORD).rows
    assert ("seed", "cleaning", "", "", "as the bill", "$500.00") in told(place, SourceKind.BILL).rows
    shares = told(place, SourceKind.SHARE_OUT).rows
    assert ("pond-40 cotton", "insurance premium", "40 ac", "$120.00") in shares


def test_a_reversal_says_what_was_reversed_and_why(every_kind: Place) -> None:
    reversal = Entry.objects.get(farm=every_kind.farm, source_kind=SourceKind.REVERSAL)
    found: Any = source_facts(farm=every_kind.farm, number=reversal.number)
    assert found.kind == SourceKind.CARE_DONE.label
    assert found.facts[-2:] == [("reversed by entry", str(reversal.number)), ("why", "typed twice")]


def test_an_entry_that_is_not_there_has_no_source(every_kind: Place) -> None:
    assert source_facts(farm=every_kind.farm, number=9_999) is None
