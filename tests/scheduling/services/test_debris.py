"""Numbers of a walk, and a walk before a pass."""

from decimal import Decimal
from typing import Any

import pytest

from farmops.farms.models import Farm, Hand, Season
from scheduling.models import DebrisNumbers, FieldPass, PassLink, PassState
from scheduling.selectors.debris import debris_numbers, walk_before
from scheduling.selectors.fleet import fleet_of
from scheduling.selectors.horizon import Horizon
from scheduling.selectors.outfits import Outfit, minutes_for
from scheduling.services.debris import call_walk_off, propose_walk, set_debris_numbers
from scheduling.services.refusals import BadRecord, NotThisFarm, PassIsFinished
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season
from tests.scheduling.incident_makers import NOON

pytestmark = pytest.mark.django_db
PLAIN: dict[str, Any] = {
    "found_share_pct": Decimal(60),
    "swath_ft": Decimal(30),
    "walk_mph": Decimal("2.5"),
}


@pytest.fixture
def season() -> Season:
    farm = make_farm()
    make_hand(farm, "walker", operations=("debris_walk",))
    return make_season(make_field(farm))


@pytest.fixture
def farm(season: Season) -> Farm:
    return season.farm


def link(before: FieldPass, after: FieldPass) -> None:
    PassLink.objects.create(farm=before.farm, before=before, after=after)


def test_a_farm_without_numbers_has_the_defaults_and_keeps_none(farm: Farm) -> None:
    found = debris_numbers(farm=farm)
    assert (found.found_share_pct, found.swath_ft, found.walk_mph) == (60, 30, Decimal("2.5"))
    assert not DebrisNumbers.objects.exists()


def test_numbers_are_kept_and_taken_from_the_rates_again(farm: Farm) -> None:
    set_debris_numbers(farm=farm, **PLAIN, wage_cents_per_h=1500, lost_h=Decimal("2.5"))
    set_debris_numbers(farm=farm, **{**PLAIN, "swath_ft": Decimal(40)}, puncture_cents=90_000)
    found = debris_numbers(farm=farm)
    assert (found.swath_ft, found.wage_cents_per_h, found.lost_h, found.puncture_cents) == (
        40,
        None,
        None,
        90_000,
    )
    assert DebrisNumbers.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("found_share_pct", Decimal("100.1")),
        ("found_share_pct", Decimal("33.33")),
        ("swath_ft", Decimal(0)),
        ("walk_mph", Decimal(-1)),
        ("walk_mph", Decimal("NaN")),
        ("wage_cents_per_h", -1),
        ("puncture_cents", 10_000_001),
        ("lost_h", Decimal(1000)),
        ("lost_cents_per_h", -5),
    ],
)
def test_numbers_that_make_no_sense_are_refused_by_name(farm: Farm, name: str, value: Any) -> None:
    with pytest.raises(BadRecord) as refused:
        set_debris_numbers(farm=farm, **{**PLAIN, name: value})
    assert name in refused.value.fields
    assert not DebrisNumbers.objects.exists()


def test_a_walk_comes_between_the_work_before_and_the_pass(farm: Farm, season: Season) -> None:
    """The pass waits for a pivot that waits for shredding: the walk waits for the shredding, not for the pivot."""
    shred = make_pass(season, "shred")
    start, stop = make_pass(season, "pivot_start", area_ac=0), make_pass(season, "pivot_stop", area_ac=0)
    disk = make_pass(season, "disk", area_ac=Decimal("38.5"))
    for before, after in ((shred, start), (start, stop), (stop, disk)):
        link(before, after)
    walk, is_new = propose_walk(farm=farm, field_pass=disk, leave_cents=12_300)
    assert is_new
    assert (walk.operation, walk.turn, walk.area_ac, walk.leave_cents, walk.state) == (
        "debris_walk",
        1,
        Decimal("38.5"),
        12_300,
        PassState.WAITING,
    )
    assert {one.before_id for one in walk.links_before.all()} == {shred.pk}
    assert {one.after_id for one in walk.links_after.all()} == {disk.pk}
    assert walk_before(field_pass=disk) == walk


def test_asked_twice_it_is_one_walk_and_called_off_a_new_one(farm: Farm, season: Season) -> None:
    disk = make_pass(season, "disk")
    first, _is_new = propose_walk(farm=farm, field_pass=disk, leave_cents=100)
    assert propose_walk(farm=farm, field_pass=disk, leave_cents=900) == (first, False)
    FieldPass.objects.filter(pk=first.pk).update(state=PassState.CALLED_OFF)
    second, is_new = propose_walk(farm=farm, field_pass=disk, leave_cents=900)
    assert (is_new, second.turn) == (True, 2)


def test_no_walk_comes_before_what_is_begun_or_has_no_tires(farm: Farm, season: Season) -> None:
    begun = make_pass(season, "disk", state=PassState.UNDER_WAY)
    with pytest.raises(PassIsFinished, match="too late"):
        propose_walk(farm=farm, field_pass=begun, leave_cents=0)
    for operation in ("irrigate", "debris_walk"):
        with pytest.raises(BadRecord, match="no tire"):
            propose_walk(farm=farm, field_pass=make_pass(season, operation), leave_cents=0)
    with pytest.raises(BadRecord):
        propose_walk(farm=farm, field_pass=make_pass(season, "plant"), leave_cents=-1)
    assert not PassLink.objects.exists()


def test_where_nobody_may_walk_no_work_is_made_to_wait_for_it(farm: Farm, season: Season) -> None:
    Hand.objects.filter(farm=farm).update(works=False)
    disk = make_pass(season, "disk")
    with pytest.raises(BadRecord, match="Nobody"):
        propose_walk(farm=farm, field_pass=disk, leave_cents=100)
    assert not FieldPass.objects.filter(operation="debris_walk").exists()


def test_a_walk_is_called_off_and_other_work_is_not(farm: Farm, season: Season) -> None:
    disk = make_pass(season, "disk")
    walk, _is_new = propose_walk(farm=farm, field_pass=disk, leave_cents=100)
    assert call_walk_off(walk=walk, now=NOON).state == PassState.CALLED_OFF
    assert walk_before(field_pass=disk) is None
    with pytest.raises(BadRecord, match="no debris walk"):
        call_walk_off(walk=disk, now=NOON)


def test_the_plan_walks_at_the_farms_own_pace(farm: Farm, season: Season) -> None:
    """By hand: 40 acres at 9 an hour are 267 minutes; at 60 ft and 2.7 mph, 19.6 an hour, they are 123."""
    walk, _is_new = propose_walk(farm=farm, field_pass=make_pass(season, "disk"), leave_cents=100)
    walker = Hand.objects.get(farm=farm)

    def minutes() -> int:
        fleet = fleet_of(farm=farm, horizon=Horizon(NOON, farm.zone, 7))
        outfit = Outfit(id="walker", resources=("walker",), hand=walker)
        return minutes_for(field_pass=walk, outfit=outfit, area_ac=walk.area_ac, fleet=fleet)

    assert minutes() == 267
    set_debris_numbers(farm=farm, **{**PLAIN, "swath_ft": Decimal(60), "walk_mph": Decimal("2.7")})
    assert minutes() == 123  # by hand: 60 × 2.7 / 8.25 = 19.636; 40 / 19.636 × 60 = 122.2


def test_another_farms_pass_is_not_there(season: Season) -> None:
    disk = make_pass(season, "disk")
    with pytest.raises(NotThisFarm):
        propose_walk(farm=make_farm("other-farm"), field_pass=disk, leave_cents=0)
