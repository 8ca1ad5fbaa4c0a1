"""What is offered for holding a pass is what can hold it."""

import datetime as dt
from decimal import Decimal

import pytest

from farmops.farms.operations import Operation
from scheduling.selectors.holding import outfits_that_can, outfits_to_offer
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.scheduling.care_facts import make_pivot

pytestmark = pytest.mark.django_db
FIRST_ON = dt.date(2026, 4, 20)
ALL = tuple(one.value for one in Operation)


def test_the_outfits_that_are_offered_are_those_that_can_whatever_the_work() -> None:
    farm = make_farm()
    gone = dt.datetime(2026, 9, 1, tzinfo=dt.UTC)
    field, dry = make_field(farm), make_field(farm, "pond-80")
    make_pivot(field)
    for code in ("imani", "both", "teo"):
        make_hand(farm, code, operations=ALL)
    make_hand(farm, "rosa", operations=("disk",))
    make_machine(farm, "both")
    make_machine(farm, "tractor-2", down_until=gone)
    make_implement(farm, "disk-1", operations=("disk", "shred"))
    make_implement(farm, "disk-2", operations=("disk",), down_until=gone)
    wet, bare = make_season(field), make_season(dry)
    passes = [make_pass(season, operation) for season in (wet, bare) for operation in ALL]
    hired = make_pass(make_season(dry, crop="corn"), "disk", custom_ac_per_h=Decimal(9))
    named = {}
    for one in (*passes, hired):
        offered = outfits_to_offer(farm=farm, field_pass=one, first_on=FIRST_ON)
        assert offered == outfits_that_can(farm=farm, field_pass=one, first_on=FIRST_ON)[0]
        named[one.season_id, one.operation] = [outfit.id for outfit in offered]
    begins = "machine:both+disk-1+"
    assert named[wet.pk, "shred"] == [f"{begins}hand:both", f"{begins}imani", f"{begins}teo"]
    assert named[wet.pk, "debris_walk"] == ["hand:both", "imani", "teo"]
    assert named[wet.pk, "irrigate"] == ["pivot:pond-40+pump:well-1"]
    assert len(named[wet.pk, "pivot_start"]) == 3
    assert named[bare.pk, "irrigate"] == named[bare.pk, "plant"] == []
    assert named[hired.season_id, "disk"] == ["custom"]
