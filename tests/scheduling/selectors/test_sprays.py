"""What a spray record lacks, when it is late, and who may be offered what.

Source of the parts and the days: 7 CFR 110.3 (a) (c) (d): within 14 days, kept two years.
"""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Field, Hand, HandLicense
from scheduling.models import Spraying
from scheduling.selectors.sprays import (
    SprayRecord,
    products_offered,
    spray_records,
    unwritten_sprayings,
    valid_license,
)
from scheduling.services.spray_details import ProductFacts, SprayFacts
from scheduling.services.sprayings import record_spraying, take_back_spraying
from scheduling.services.work import record_work
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season
from tests.scheduling.ground import NEW_YORK
from tests.scheduling.work import worked

pytestmark = pytest.mark.django_db
DAY = dt.date(2026, 6, 15)
MORNING = dt.datetime(2026, 6, 15, 7, 30, tzinfo=NEW_YORK)
ENDED = MORNING + dt.timedelta(hours=2)


@pytest.fixture
def field() -> Field:
    return make_field(make_farm())


@pytest.fixture
def farm(field: Field) -> Farm:
    return field.farm


@pytest.fixture
def hand(farm: Farm) -> Hand:
    hand = make_hand(farm)
    HandLicense.objects.create(farm=farm, hand=hand, number="PA-100", expires_on=dt.date(2027, 1, 1))
    return hand


def product(name: str = "Row Insecticide B", **facts: Any) -> ProductFacts:
    defaults: dict[str, Any] = {
        "registration_no": "99999-345",
        "rate": Decimal("3.2"),
        "total": Decimal(128),
        "unit": "oz",
        "is_restricted": True,
    }
    return ProductFacts(name=name, **{**defaults, **facts})


def spray(field: Field, hand: Hand, *products: ProductFacts, days_after: int = 0, **facts: Any) -> Spraying:
    """Record a spraying of 15 June, so many days later."""
    detail = SprayFacts(
        started_at=MORNING, treated_ac=Decimal(40), crop="cotton", products=products or (product(),)
    )
    row, _ = record_spraying(
        **{
            "farm": field.farm,
            "client_id": uuid.uuid4(),
            "field": field,
            "ended_at": ENDED,
            "reentry_h": Decimal("24.5"),
            "sprayed_by": hand,
            "detail": detail,
            "recorded_by": None,
            "now": ENDED + dt.timedelta(days=days_after),
            **facts,
        }
    )
    return row


def only(farm: Farm) -> SprayRecord:
    (record,) = spray_records(farm=farm)
    return record


def test_a_whole_record_lacks_nothing(farm: Farm, field: Field, hand: Hand) -> None:
    spray(field, hand)
    record = only(farm)
    assert (record.missing, record.odd, record.is_restricted) == ((), (), True)
    assert (record.sprayed_on, record.written_on) == (DAY, DAY)
    assert (record.write_by, record.keep_to) == (dt.date(2026, 6, 29), dt.date(2028, 6, 15))
    assert record.reentry_ends_at == ENDED + dt.timedelta(hours=24, minutes=30)
    assert record.days_late == 0
    assert not record.is_overdue(dt.date(2027, 1, 1))


@pytest.mark.parametrize(("days_after", "late"), [(14, 0), (15, 1), (20, 6)])
def test_fourteen_days_are_in_time(days_after: int, late: int, farm: Farm, field: Field, hand: Hand) -> None:
    spray(field, hand, days_after=days_after)
    assert only(farm).days_late == late


def test_a_registration_number_that_is_missing_is_named(farm: Farm, field: Field, hand: Hand) -> None:
    spray(field, hand, product(registration_no=""), product("Field Herbicide A", is_restricted=False))
    record = only(farm)
    assert record.missing == ("registration number of Row Insecticide B",)
    assert record.written_on is None
    assert not record.is_overdue(dt.date(2026, 6, 29))
    assert record.is_overdue(dt.date(2026, 6, 30))


def test_a_record_that_was_completed_late_was_written_late(farm: Farm, field: Field, hand: Hand) -> None:
    first = spray(field, hand, product(registration_no=""))
    spray(field, hand, days_after=16, supersedes=first)
    record = only(farm)
    assert (record.written_on, record.days_late) == (dt.date(2026, 7, 1), 2)


def test_a_slip_put_right_later_leaves_a_whole_record_in_time(farm: Farm, field: Field, hand: Hand) -> None:
    first = spray(field, hand)
    spray(field, hand, product(total=Decimal(127)), days_after=40, supersedes=first)
    assert (only(farm).written_on, only(farm).days_late) == (DAY, 0)


def test_a_spraying_without_its_parts_lacks_all_of_them(farm: Farm, field: Field, hand: Hand) -> None:
    spray(field, hand, detail=None, products="field herbicide A")
    record = only(farm)
    assert record.missing == (
        "start",
        "acres",
        "crop",
        "applicator",
        "products with their rates and totals",
        "whether one is restricted-use",
    )
    assert (record.is_restricted, record.write_by, record.keep_to) == (False, None, None)


def test_no_days_are_set_for_products_of_general_use(farm: Farm, field: Field, hand: Hand) -> None:
    spray(field, hand, product(is_restricted=False), days_after=60)
    record = only(farm)
    assert (record.write_by, record.days_late, record.is_overdue(dt.date(2030, 1, 1))) == (None, 0, False)


def test_two_years_from_the_last_of_february_end_in_a_year_without_one(
    farm: Farm, field: Field, hand: Hand
) -> None:
    leap = dt.datetime(2024, 2, 29, 8, tzinfo=NEW_YORK)
    detail = SprayFacts(started_at=leap, treated_ac=Decimal(40), crop="cotton", products=(product(),))
    spray(field, hand, detail=detail, ended_at=leap + dt.timedelta(hours=1))
    assert only(farm).keep_to == dt.date(2026, 2, 28)


@pytest.mark.parametrize(
    ("total", "says"),
    [("128", ""), ("134.4", ""), ("121.6", ""), ("134.5", "128"), ("12.8", "128")],
)
def test_a_total_that_rate_and_acres_do_not_make_is_odd(
    total: str, says: str, farm: Farm, field: Field, hand: Hand
) -> None:
    """3.2 oz on 40 acres are 128 oz; a twentieth beside it still agrees."""
    spray(field, hand, product(total=Decimal(total)))
    odd = only(farm).odd
    assert len(odd) == bool(says)
    assert all(says in one for one in odd)


def test_what_was_taken_back_stands_no_more(farm: Farm, field: Field, hand: Hand) -> None:
    row = spray(field, hand)
    take_back_spraying(spraying=row, client_id=uuid.uuid4(), recorded_by=None, now=ENDED)
    assert spray_records(farm=farm) == []


def test_the_license_that_lasts_longest_counts(farm: Farm, hand: Hand) -> None:
    HandLicense.objects.create(farm=farm, hand=hand, number="PA-200", expires_on=dt.date(2028, 1, 1))
    held = valid_license(hand=hand, day=DAY)
    assert held is not None
    assert held.number == "PA-200"
    assert valid_license(hand=hand, day=dt.date(2028, 1, 2)) is None


def test_restricted_products_are_offered_to_who_may_use_them(farm: Farm, field: Field, hand: Hand) -> None:
    spray(field, hand, product(), product("Field Herbicide A", is_restricted=False))
    spray(field, hand, product("Row insecticide b", rate=Decimal(4), total=Decimal(160)))

    def names(who: Hand | None, day: dt.date = DAY) -> list[str]:
        return [one.name for one in products_offered(farm=farm, hand=who, day=day)]

    assert names(hand) == names(None) == ["Field Herbicide A", "Row insecticide b"]
    assert names(make_hand(farm, "odell")) == ["Field Herbicide A"]
    assert names(hand, dt.date(2027, 1, 2)) == ["Field Herbicide A"], "the license is over"


def test_a_pass_that_was_sprayed_and_not_written_down_is_told(farm: Farm, field: Field, hand: Hand) -> None:
    burndown = make_pass(make_season(field), "burndown")
    worked(burndown, hand, starts_at=MORNING, minutes=120)
    worked(make_pass(burndown.season, "disk"), hand, starts_at=MORNING, minutes=120)
    (told,) = unwritten_sprayings(farm=farm, since=DAY)
    assert (told.field_pass, told.worked_on, told.write_by) == (burndown, DAY, dt.date(2026, 6, 29))
    assert unwritten_sprayings(farm=farm, since=DAY + dt.timedelta(days=1)) == []
    spray(field, hand)
    assert len(unwritten_sprayings(farm=farm, since=DAY)) == 1, "another kind of spraying is not its record"
    spray(field, hand, operation="burndown")
    assert unwritten_sprayings(farm=farm, since=DAY) == []


def test_work_that_was_corrected_to_another_day_is_told_of_that_day(
    farm: Farm, field: Field, hand: Hand
) -> None:
    burndown = make_pass(make_season(field), "burndown")
    first = worked(burndown, hand, starts_at=MORNING, minutes=120)
    record_work(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=burndown,
        hand=hand,
        work_on=DAY - dt.timedelta(days=1),
        hand_min=120,
        done_ac=Decimal(10),
        is_finished=False,
        supersedes=first,
        recorded_by=None,
        now=MORNING + dt.timedelta(days=2),
    )
    (told,) = unwritten_sprayings(farm=farm, since=DAY - dt.timedelta(days=9))
    assert told.worked_on == DAY - dt.timedelta(days=1)


def test_the_records_of_another_farm_stay_there(farm: Farm, field: Field, hand: Hand) -> None:
    spray(field, hand)
    assert spray_records(farm=make_farm("other-farm")) == []
