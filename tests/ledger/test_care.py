"""Service that was done on the farm, in the books: the hand's time and parts, on the pool of the machine."""

import datetime as dt
import uuid
from typing import Any

import pytest

from farmops.farms.models import CareRule, Hand, Season
from ledger.models import Account, Category, Entry, Line, SourceKind
from ledger.selectors.lines import lines_of_field
from ledger.selectors.pools import ledger_totals, pool_costs
from ledger.services.posting import post_pending
from ledger.services.verify import verify_ledger
from scheduling.models import CareDone
from tests.ledger.makers import NOON, Place, make_bill, make_place, make_work
from tests.scheduling.care_facts import make_pivot, make_rule

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    return make_place()


def make_care(rule: CareRule, hand: Hand | None, **facts: Any) -> CareDone:
    """Record care by default: 50 minutes and parts for 86.40 dollars."""
    defaults: dict[str, Any] = {"hand_min": 50, "parts": "4 gal oil, filter", "parts_cents": 86_40}
    return CareDone.objects.create(
        farm=rule.farm,
        client_id=uuid.uuid4(),
        rule=rule,
        hand=hand,
        done_at=NOON,
        recorded_at=NOON,
        **{**defaults, **facts},
    )


def lines_of(care: CareDone) -> list[tuple[Account, str, int]]:
    entry = Entry.objects.get(care_done=care)
    return [(Account(line.account), line.category, line.cents) for line in entry.lines.all()]


def test_a_service_puts_its_hours_and_parts_into_the_machines_pool(place: Place) -> None:
    """50 minutes at 18 dollars an hour are 15.00; by hand."""
    care = make_care(make_rule(place.machine), place.hand)
    report = post_pending(now=NOON)
    assert (report.posted, report.waiting) == (1, [])
    assert lines_of(care) == [
        (Account.MACHINE_POOL, Category.LABOR, 15_00),
        (Account.WAGES_OWED, Category.LABOR, -15_00),
        (Account.MACHINE_POOL, Category.REPAIRS, 86_40),
        (Account.OVERHEAD, Category.REPAIRS, -86_40),
    ]
    entry = Entry.objects.get(care_done=care)
    assert (entry.source_kind, entry.source_key) == (SourceKind.CARE_DONE, str(care.client_id))
    assert entry.happened_on == dt.date(2026, 4, 20)
    labor = Line.objects.get(entry=entry, line_no=1)
    assert (labor.unit, labor.quantity, labor.says) == (
        "min",
        50,
        "Imani: change engine oil and filter, tractor-1",
    )
    assert verify_ledger(farm=place.farm).faults == []
    assert post_pending(now=NOON).posted == 0


def test_the_pool_counts_a_service_with_the_bills_and_not_with_the_hours_charged(place: Place) -> None:
    """4.5 h of the tractor at 40 dollars are 180.00 charged, and 15 % of the fuel of 114.05 for oil is 17.11."""
    make_care(make_rule(place.machine), place.hand)
    make_bill(place, "200.00", machine=place.machine, category="repairs")
    make_work(place)
    post_pending(now=NOON)
    pool = next(one for one in pool_costs(farm=place.farm) if one.code == place.machine.code)
    assert pool.bills_cents == 200_00 + 15_00 + 86_40
    assert pool.charged_cents == 180_00 + 17_11
    assert ledger_totals(farm=place.farm, crop_year=2026).difference_cents == 0


def test_a_service_of_an_implement_ends_in_its_own_pool(place: Place) -> None:
    make_care(make_rule(place.implement, "grease"), place.hand, parts_cents=None)
    post_pending(now=NOON)
    [pool] = pool_costs(farm=place.farm)
    assert (pool.code, pool.bills_cents) == (place.implement.code, 15_00)


def test_the_owners_time_on_a_service_is_owed_to_nobody(place: Place) -> None:
    Hand.objects.filter(pk=place.hand.pk).update(is_owner=True)
    place.hand.refresh_from_db()
    care = make_care(make_rule(place.machine), place.hand, parts_cents=None)
    post_pending(now=NOON)
    assert lines_of(care) == [
        (Account.MACHINE_POOL, Category.OWNER_TIME, 15_00),
        (Account.OWNER_TIME, Category.OWNER_TIME, -15_00),
    ]


def test_a_pivots_service_ends_on_the_seasons_of_its_field_by_acres(place: Place) -> None:
    """15.00 and 86.40 dollars on 40 and 20 acres: 10.00 and 5.00, 57.60 and 28.80."""
    pivot = make_pivot(place.season.field)
    other = Season.objects.create(
        farm=place.farm,
        field=place.season.field,
        crop_year=place.season.crop_year,
        crop=place.season.crop,
        part="north",
        area_ac=20,
    )
    care = make_care(make_rule(pivot, "gearboxes"), place.hand)
    post_pending(now=NOON)
    on_field = Line.objects.filter(entry__care_done=care, account=Account.SEASON)
    assert sorted(on_field.values_list("season_id", "category", "cents")) == sorted(
        [
            (place.season.pk, "labor", 10_00),
            (other.pk, "labor", 5_00),
            (place.season.pk, "repairs", 57_60),
            (other.pk, "repairs", 28_80),
        ]
    )
    assert verify_ledger(farm=place.farm).faults == []
    told = lines_of_field(farm=place.farm, field=place.season.field, crop_year=place.season.crop_year)
    assert told[0].source_says == f"Imani: change engine oil and filter, {pivot}"


def test_a_pivots_service_without_a_season_is_the_farms(place: Place) -> None:
    pivot = make_pivot(place.season.field)
    place.field_pass.delete()
    Season.objects.all().delete()
    care = make_care(make_rule(pivot, "gearboxes"), place.hand)
    post_pending(now=NOON)
    assert lines_of(care) == [
        (Account.OVERHEAD, Category.LABOR, 15_00),
        (Account.WAGES_OWED, Category.LABOR, -15_00),
    ]


def test_a_service_taken_back_is_reversed_and_books_nothing(place: Place) -> None:
    rule = make_rule(place.machine)
    care = make_care(rule, place.hand)
    post_pending(now=NOON)
    back = make_care(rule, place.hand, supersedes=care, is_taken_back=True)
    report = post_pending(now=NOON)
    assert (report.posted, report.reversed) == (1, 1)
    assert lines_of(back) == []
    assert [pool.bills_cents for pool in pool_costs(farm=place.farm)] == [0]
    assert "the service was taken back on 2026-04-20" in Entry.objects.get(purpose="reverse").why
    assert verify_ledger(farm=place.farm).faults == []


def test_a_corrected_service_is_booked_anew_and_one_corrected_before_is_never_posted(place: Place) -> None:
    rule = make_rule(place.machine)
    first = make_care(rule, place.hand)
    make_care(rule, place.hand, supersedes=first, hand_min=100, parts_cents=None)
    assert post_pending(now=NOON).posted == 1
    assert not Entry.objects.filter(care_done=first).exists()
    [pool] = pool_costs(farm=place.farm)
    assert pool.bills_cents == 30_00


def test_a_service_whose_wage_is_missing_waits_with_a_sentence() -> None:
    place = make_place(rated=False)
    make_care(make_rule(place.machine), place.hand)
    report = post_pending(now=NOON)
    assert report.posted == 0
    assert report.waiting[0].says.startswith("No wage of Imani holds on 2026-04-20")
    assert report.waiting[0].source_kind == "care_done"
