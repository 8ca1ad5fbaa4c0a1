"""Is a debris walk worth it? Rates, bills and reports put together, and the farm's own numbers instead."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest

from farmops.desk.debris_worth import LOST_H, PUNCTURE_CENTS, field_walk, propose
from farmops.farms.models import Hand
from ledger.services.rates import set_rate
from scheduling.debris.worth import Answer
from scheduling.models import FieldPass, PassState
from scheduling.services.debris import set_debris_numbers
from tests.factories import make_hand, make_pass
from tests.ledger.makers import NEW_YEAR, NOON, Place, make_bill, make_place
from tests.scheduling.incident_makers import cover, make_puncture

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    """The disking covered 40 acres; planting waits, with a planter that nobody has, and a second disking."""
    place = make_place()
    cover(place.field_pass, place.hand, place.machine, "40")
    FieldPass.objects.filter(pk=place.field_pass.pk).update(state=PassState.FINISHED, done_ac=40)
    make_pass(place.season, "disk", turn=2)
    make_pass(place.season, "plant")
    return place


def walker(place: Place, wage_usd: str) -> Hand:
    hand = make_hand(place.farm, "walker", operations=("debris_walk",))
    set_rate(
        farm=place.farm, kind="wage", subject=hand.code, usd_per_unit=wage_usd, valid_from=NEW_YEAR, now=NOON
    )
    return hand


def test_numbers_come_from_rates_bills_and_reports(place: Place) -> None:
    """By hand: wages 18 and machines 40 + 12 an hour stand at $70; bills of $300 and $500 are $400 on average; 90 and 150
    minutes are 2 h; the walker has $15.
    """
    walker(place, "15")
    first = make_puncture(place.season.field, lost_min=90)
    second = make_puncture(place.season.field, lost_min=150)
    make_puncture(place.season.field)
    make_bill(place, "250", category="tires", incident=first)
    make_bill(place, "50", category="tires", incident=first)
    make_bill(place, "500", category="tires", incident=second)
    found = field_walk(farm=place.farm, field=place.season.field, now=NOON)
    walk = found.inputs.walk
    assert (walk.wage_cents_per_h, walk.puncture_cents, walk.lost_h, walk.lost_cents_per_h) == (
        1500,
        40_000,
        Decimal("2.0"),
        7_000,
    )
    assert found.inputs.origins["puncture_cents"].says == "mean of 2 billed"
    assert found.before is not None
    assert (found.before.turn, found.passes) == (2, 2)
    assert found.worth is not None
    assert found.worth.walk_cents == 6_600  # by hand: 40 acres at 9.0909 are 4.4 h, at $15
    assert found.debris.rate is not None
    assert found.worth.pass_cents == pytest.approx(found.debris.rate.mean * 0.04 * 54_000, abs=2)


def test_guesses_are_told_where_nothing_is_known(place: Place) -> None:
    found = field_walk(farm=place.farm, field=place.season.field, now=NOON)
    assert (found.inputs.walk.puncture_cents, found.inputs.walk.lost_h) == (PUNCTURE_CENTS, LOST_H)
    assert "guess" in found.inputs.origins["puncture_cents"].says
    assert "guess" in found.inputs.origins["lost_h"].says
    assert found.worth is not None
    assert found.worth.answer == Answer.NO


def test_late_work_counts_where_the_pass_is_due_soon(place: Place) -> None:
    """By hand: $300 a day late is $30 an hour of ten."""
    disk = FieldPass.objects.filter(turn=2)
    disk.update(due_on=NOON.date() + dt.timedelta(days=11), late_cents_per_day=30_000)
    field = place.season.field
    assert field_walk(farm=place.farm, field=field, now=NOON).inputs.walk.lost_cents_per_h == 7_000
    disk.update(due_on=NOON.date() + dt.timedelta(days=10))
    assert field_walk(farm=place.farm, field=field, now=NOON).inputs.walk.lost_cents_per_h == 10_000


def test_the_farms_own_numbers_go_before_all(place: Place) -> None:
    set_debris_numbers(
        farm=place.farm,
        found_share_pct=Decimal(80),
        swath_ft=Decimal(60),
        walk_mph=Decimal("2.5"),
        wage_cents_per_h=1000,
        puncture_cents=100_000,
        lost_h=Decimal("4.5"),
        lost_cents_per_h=20_000,
    )
    walk = field_walk(farm=place.farm, field=place.season.field, now=NOON).inputs
    assert walk.walk.each_cents == 190_000
    assert all(origin.is_own for origin in walk.origins.values())
    assert walk.walk.found_share == Decimal("0.8")


def test_a_bad_field_is_worth_a_walk_and_a_yes_becomes_a_pass_that_costs_to_leave(place: Place) -> None:
    walker(place, "15")
    for _number in range(6):
        make_puncture(place.season.field)
    field = place.season.field
    found = field_walk(farm=place.farm, field=field, now=NOON)
    assert found.worth is not None
    assert found.worth.answer == Answer.YES
    assert found.chance_it_pays is not None
    assert found.chance_it_pays > 0.9
    assert found.before is not None
    walk, is_new = propose(farm=place.farm, field=field, field_pass=found.before, now=NOON)
    assert is_new
    assert walk.leave_cents == found.worth.saved_all_cents > 0
    again = field_walk(farm=place.farm, field=field, now=NOON)
    assert (again.walk, again.is_walked) == (walk, False)
    FieldPass.objects.filter(pk=walk.pk).update(state=PassState.FINISHED)
    assert field_walk(farm=place.farm, field=field, now=NOON).is_walked


def test_a_walk_done_lowers_what_the_next_pass_is_expected_to_cost(place: Place) -> None:
    """By hand: all 40 acres walked at 60 % found leave 40 % of the cost, for the walked pass and for the one after it."""
    hand = walker(place, "15")
    for _number in range(6):
        make_puncture(place.season.field)
    field = place.season.field
    first = field_walk(farm=place.farm, field=field, now=NOON)
    assert first.before is not None
    assert first.worth is not None
    walk, _is_new = propose(farm=place.farm, field=field, field_pass=first.before, now=NOON)
    proposed = field_walk(farm=place.farm, field=field, now=NOON)
    assert proposed.worth == first.worth, "a walk that is only proposed finds nothing"
    FieldPass.objects.filter(pk=walk.pk).update(state=PassState.FINISHED, done_ac=40)
    cover(walk, hand, None, "40", work_on=NOON.date() + dt.timedelta(days=1))
    walked = field_walk(farm=place.farm, field=field, now=NOON)
    assert walked.worth is not None
    assert walked.left == pytest.approx(0.4)
    assert walked.worth.pass_cents == pytest.approx(0.4 * first.worth.pass_cents, rel=0.001)
    FieldPass.objects.filter(pk=first.before.pk).update(state=PassState.FINISHED)
    after = field_walk(farm=place.farm, field=field, now=NOON)
    assert after.before is not None
    assert after.before.operation == "plant"
    assert after.worth is not None
    assert (after.walk, after.left) == (None, pytest.approx(0.4))
    assert after.worth.punctures_a_pass == walked.worth.punctures_a_pass


def test_a_count_beyond_all_reason_is_reckoned_with_the_most_that_a_rate_may_be() -> None:
    spot = make_place("garden")
    cover(spot.field_pass, spot.hand, spot.machine, "0.1")
    for _number in range(40):
        make_puncture(spot.season.field)
    found = field_walk(farm=spot.farm, field=spot.season.field, now=NOON)
    assert found.worth is not None
    assert found.worth.punctures_a_pass == 40  # by hand: 1,000 in 1,000 acres, on 40


def test_where_nothing_waits_or_is_known_there_is_no_answer(place: Place) -> None:
    other = make_place("other-farm")
    unknown = field_walk(farm=other.farm, field=other.season.field, now=NOON)
    assert unknown.before is not None
    assert (unknown.worth, unknown.debris.rate) == (None, None)
    FieldPass.objects.filter(farm=place.farm).update(state=PassState.FINISHED)
    idle = field_walk(farm=place.farm, field=place.season.field, now=NOON)
    assert (idle.before, idle.worth) == (None, None)


def test_ids_of_reports_do_not_matter(place: Place) -> None:
    one = make_puncture(place.season.field, client_id=uuid.UUID(int=1))
    again = make_puncture(place.season.field, client_id=uuid.UUID(int=1))
    assert one == again
    assert len(field_walk(farm=place.farm, field=place.season.field, now=NOON).debris.punctures) == 1
