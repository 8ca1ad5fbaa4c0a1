"""Punctures against acres covered: what counts on both sides, and which pass a walk would come before."""

import datetime as dt
from decimal import Decimal

import pytest

from farmops.farms.models import Hand, Season
from scheduling.debris.rates import Counted, field_rates
from scheduling.models import PassState
from scheduling.selectors.debris import (
    farm_debris,
    machine_passes,
    outfits_able,
    pass_to_walk_before,
    walkers,
)
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.scheduling.incident_makers import DAY, cover, make_puncture

pytestmark = pytest.mark.django_db


@pytest.fixture
def season() -> Season:
    farm = make_farm()
    make_field(farm, "gin-20")
    return make_season(make_field(farm, "pond-40"))


@pytest.fixture
def hand(season: Season) -> Hand:
    return make_hand(season.farm)


def test_acres_count_where_machines_of_the_farm_went_each_pass_anew(season: Season, hand: Hand) -> None:
    machine = make_machine(season.farm)
    disk, plant = make_pass(season, "disk"), make_pass(season, "plant")
    wrong = cover(disk, hand, machine, "39")
    cover(disk, hand, machine, "40", supersedes=wrong)
    cover(plant, hand, machine, "38.5")
    cover(make_pass(season, "debris_walk"), hand, None, "40")
    found = {one.field.code: one for one in farm_debris(farm=season.farm).fields}
    assert found["pond-40"].covered_ac == Decimal("78.5")
    assert found["gin-20"].covered_ac == 0
    assert found["gin-20"].rate is not None
    assert found["gin-20"].rate.own_share == 0


def test_punctures_by_stubs_are_no_debris_and_those_nowhere_are_told(season: Season, hand: Hand) -> None:
    cover(make_pass(season, "disk"), hand, make_machine(season.farm), "40")
    bone = make_puncture(season.field, met="bone")
    make_puncture(season.field, met="cotton stalk")
    make_puncture(season.field, kind="breakage")
    make_puncture(season.field).__class__.objects.create(
        farm=season.farm,
        client_id="00000000-0000-0000-0000-000000000009",
        kind="puncture",
        happened_at=bone.happened_at,
        recorded_at=bone.recorded_at,
    )
    found = farm_debris(farm=season.farm)
    pond = next(one for one in found.fields if one.field == season.field)
    assert (len(pond.punctures), pond.by_stubs, found.nowhere, found.punctures) == (2, 1, 1, 2)
    assert pond.rate is not None
    assert pond.rate.counted.punctures == 2


def test_after_a_walk_the_rate_falls_by_what_it_found_and_acres_speak_less(
    season: Season, hand: Hand
) -> None:
    """By hand: 100 acres before a walk of 30 of 40 acres at 60 % (the usual share) leave 1 - 0.75 x 0.6 = 0.55; 40 acres
    after it weigh 22, so the field's rate is that of a field with 122 acres, and on the walked ground 0.55 of it.
    """
    machine, sunday = make_machine(season.farm), DAY - dt.timedelta(days=1)
    disk = make_pass(season, "disk", area_ac=Decimal(40))
    walk = make_pass(
        season, "debris_walk", area_ac=Decimal(40), state=PassState.FINISHED, done_ac=Decimal(30)
    )
    cover(disk, hand, machine, "100", work_on=sunday)
    cover(disk, hand, machine, "40")
    for _number in range(3):
        make_puncture(season.field)
    before = next(one for one in farm_debris(farm=season.farm).fields if one.field == season.field)
    assert before.walked == ()
    cover(walk, hand, None, "30")
    pond = next(one for one in farm_debris(farm=season.farm).fields if one.field == season.field)
    assert (pond.covered_ac, pond.raw_per_1000_ac) == (140, pytest.approx(3 / 0.14))
    assert [(one.on, one.share) for one in pond.walked] == [(DAY, 0.75)]
    assert pond.left_on(season.pk) == pytest.approx(0.55)
    alike = field_rates({"gin-20": Counted(0, 0.0), "pond-40": Counted(3, 122.0)})["pond-40"]
    here = pond.rate_on(season.pk)
    assert pond.rate is not None
    assert here is not None
    assert pond.rate.mean == pytest.approx(alike.mean)
    assert here.mean == pytest.approx(0.55 * alike.mean)
    assert pond.left_on(0) == 1


def test_a_walk_called_off_counts_where_it_went_and_one_not_begun_not_at_all(
    season: Season, hand: Hand
) -> None:
    cover(make_pass(season, "disk"), hand, make_machine(season.farm), "40")
    part = make_pass(
        season, "debris_walk", area_ac=Decimal(40), state=PassState.CALLED_OFF, done_ac=Decimal(10)
    )
    cover(part, hand, None, "10")
    none = make_pass(season, "debris_walk", turn=2, area_ac=Decimal(40), state=PassState.UNDER_WAY)
    cover(none, hand, None, "0")
    done = make_pass(season, "debris_walk", turn=3, area_ac=Decimal(40), state=PassState.FINISHED)
    make_pass(season, "debris_walk", turn=4, area_ac=Decimal(40))
    cover(done, hand, None, "0", work_on=DAY + dt.timedelta(days=1))
    pond = next(one for one in farm_debris(farm=season.farm).fields if one.field == season.field)
    assert [one.share for one in pond.walked] == [0.25, 1.0], (
        "a walk told as finished without acres was of all"
    )


def test_where_nothing_was_covered_nothing_is_known(season: Season) -> None:
    make_puncture(season.field)
    assert [one.rate for one in farm_debris(farm=season.farm).fields] == [None, None]


def test_a_walk_comes_before_the_first_tillage_not_begun(season: Season) -> None:
    pivot = make_pass(season, "pivot_start", area_ac=0)
    make_pass(season, "burndown", state=PassState.SENT)
    hired = make_pass(season, "spread", custom_ac_per_h=Decimal(30))
    make_pass(season, "rip_bed", part="strip")
    disk = make_pass(season, "disk", turn=2)
    make_pass(season, "plant")
    passes = machine_passes(farm=season.farm)[season.field_id]
    assert [one.operation for one in passes] == ["burndown", "disk", "plant"]
    assert pivot not in passes
    assert hired not in passes
    assert pass_to_walk_before(passes) == disk
    assert pass_to_walk_before([one for one in passes if one.operation == "plant"]) is not None
    disk.state = PassState.UNDER_WAY
    assert pass_to_walk_before([disk]) is None


def test_outfits_and_walkers_are_those_who_may(season: Season) -> None:
    farm = season.farm
    strong, _weak = make_machine(farm), make_machine(farm, "tractor-2", power_hp=Decimal(100))
    make_implement(farm)
    driver = make_hand(farm, "odell", operations=("disk",))
    assert [(one[0], one[2]) for one in outfits_able(farm=farm, operation="disk")] == [(strong, driver)]
    assert outfits_able(farm=farm, operation="pick") == []
    owner = make_hand(farm, "boss", operations=(), is_owner=True)
    assert owner not in walkers(farm=farm)
    named = make_hand(farm, "rosa", operations=("debris_walk",))
    assert walkers(farm=farm) == [named]
