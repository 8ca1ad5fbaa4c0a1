"""Punctures against acres covered: what counts on both sides, and which pass a walk would come before."""

import datetime as dt
from decimal import Decimal

import pytest

from farmops.farms.models import Field, Hand, Season
from scheduling.debris.rates import Counted, field_rates
from scheduling.models import DebrisNumbers, FieldPass, PassState
from scheduling.selectors.debris import (
    farm_debris,
    field_debris,
    keep_ends,
    outfits_able,
    passes_to_walk_before,
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
    """By hand: of the season's passes burndown, disk and plant roll on the farm's own tires, and two from the disk on."""
    make_pass(season, "pivot_start", area_ac=0)
    burndown = make_pass(season, "burndown", state=PassState.SENT)
    hired = make_pass(season, "spread", custom_ac_per_h=Decimal(30))
    make_pass(season, "rip_bed", part="strip")
    make_pass(season, "rip_bed", area_ac=Decimal(40), done_ac=Decimal(40))
    make_pass(season, "debris_walk")
    disk = make_pass(season, "disk", turn=2)
    plant = make_pass(season, "plant")
    later = make_season(season.field, crop_year=season.crop_year + 1)
    make_pass(later, "disk")
    farm, field = season.farm, season.field
    assert passes_to_walk_before(farm=farm) == {field.pk: (disk, 2)}
    assert passes_to_walk_before(farm=farm, field=field) == {field.pk: (disk, 2)}
    FieldPass.objects.filter(season=later).delete()
    FieldPass.objects.filter(pk=disk.pk).update(state=PassState.UNDER_WAY)
    assert passes_to_walk_before(farm=farm)[field.pk] == (burndown, 3), "no tillage is left: the first work"
    FieldPass.objects.filter(pk__in=(burndown.pk, plant.pk)).update(state=PassState.UNDER_WAY)
    assert passes_to_walk_before(farm=farm) == {}, "all that rolls is begun"
    FieldPass.objects.filter(pk=hired.pk).update(custom_ac_per_h=None)
    assert passes_to_walk_before(farm=farm)[field.pk] == (hired, 3)
    other = make_field(farm, "levee-10")
    assert passes_to_walk_before(farm=farm, field=other) == {}


def test_outfits_and_walkers_are_those_who_may(season: Season) -> None:
    farm = season.farm
    strong, _weak = make_machine(farm), make_machine(farm, "tractor-2", power_hp=Decimal(100))
    implement = make_implement(farm)
    driver = make_hand(farm, "odell", operations=("disk",))
    assert outfits_able(farm=farm, operation="disk") == ([(strong, implement)], [driver])
    assert outfits_able(farm=farm, operation="pick") == ([], [])
    owner = make_hand(farm, "boss", operations=(), is_owner=True)
    assert owner not in walkers(farm=farm)
    named = make_hand(farm, "rosa", operations=("debris_walk",))
    assert walkers(farm=farm) == [named]


def told(season: Season) -> tuple[Decimal, int, float, float, float]:
    """Return acres, punctures, likely rate, and the interval of the season's field, as a page has them."""
    pond = field_debris(field=season.field)
    all_fields = farm_debris(farm=season.farm).fields
    alike = next(one for one in all_fields if one.field == season.field)
    assert (pond.covered_ac, pond.counted, pond.walked) == (alike.covered_ac, alike.counted, alike.walked)
    assert pond.rate is not None
    assert alike.rate is not None
    keep_ends([pond.rate])
    assert pond.rate.ends == alike.rate.ends
    return pond.covered_ac, len(pond.punctures), pond.rate.mean, *pond.rate.ends


def test_what_was_worked_out_before_shows_no_longer_when_anything_changes(season: Season, hand: Hand) -> None:
    """Acres, a correction of them, a puncture, one of another field, a walk, and what a walk finds."""
    machine = make_machine(season.farm)
    disk = make_pass(season, "disk", area_ac=Decimal(40))
    walk = make_pass(
        season, "debris_walk", area_ac=Decimal(40), state=PassState.FINISHED, done_ac=Decimal(40)
    )
    make_pass(make_season(Field.objects.get(code="gin-20")), "disk")
    first = cover(disk, hand, machine, "40")
    before = [told(season)]
    assert told(season) == before[0]

    def changes() -> None:
        assert told(season) not in before
        before.append(told(season))

    cover(disk, hand, machine, "39", supersedes=first)
    changes()
    make_puncture(season.field)
    changes()
    make_puncture(Field.objects.get(code="gin-20"))
    cover(FieldPass.objects.get(season__field__code="gin-20"), hand, machine, "500")
    changes()
    cover(walk, hand, None, "40", work_on=DAY - dt.timedelta(days=1))
    changes()
    FieldPass.objects.filter(pk=walk.pk).update(done_ac=10)
    changes()
    DebrisNumbers.objects.create(farm=season.farm, found_share_pct=90)
    changes()
