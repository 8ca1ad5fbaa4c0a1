"""Orders of work laid out as passes, with and without a center pivot."""

import datetime as dt
import itertools
from decimal import Decimal

import pytest

from scheduling.models import FieldPass, PassLink, PassState
from scheduling.selectors.passes import pass_key
from scheduling.services.passes import BadOrderOfWork, Step, lay_out, strip_ac
from tests.factories import make_farm, make_field, make_season
from tests.scheduling.ground import make_pivot

pytestmark = pytest.mark.django_db

ORDER = (
    Step("disk", leave_cents=90_000, late_cents_per_day=6_000, due_on=dt.date(2026, 4, 24)),
    Step("rip_bed", leave_cents=90_000, max_gap_min=14_400),
    Step("plant", leave_cents=300_000, min_gap_min=60),
)


def test_without_a_pivot_the_steps_are_a_plain_chain() -> None:
    season = make_season(make_field(make_farm()))
    passes = lay_out(season=season, steps=ORDER)
    assert [pass_key(one) for one in passes] == ["pond-40/disk", "pond-40/rip_bed", "pond-40/plant"]
    assert [one.area_ac for one in passes] == [Decimal("40.00")] * 3
    links = PassLink.objects.order_by("id").values_list("before_id", "after_id", "min_gap_min", "max_gap_min")
    disk, bed, plant = (one.pk for one in passes)
    assert list(links) == [(disk, bed, 0, 14_400), (bed, plant, 60, None)]


def test_a_second_disking_is_turn_two() -> None:
    season = make_season(make_field(make_farm()))
    passes = lay_out(season=season, steps=[Step("disk"), Step("disk"), Step("plant")])
    assert [pass_key(one) for one in passes] == ["pond-40/disk", "pond-40/disk-2", "pond-40/plant"]


def test_the_strip_under_a_parked_pivot_has_the_acres_of_its_rectangle() -> None:
    """60 ft by 1,210 ft is 72,600 sq ft; an acre is 43,560 sq ft (NIST Handbook 44, appendix C): 1.67 ac."""
    pivot = make_pivot(make_field(make_farm()))
    assert strip_ac(pivot) == Decimal("1.67")


def test_under_a_pivot_each_move_is_three_passes_and_the_strip_comes_after_the_short_move() -> None:
    field = make_field(make_farm(), planted_ac=Decimal("120"))
    make_pivot(field)
    passes = lay_out(season=make_season(field), steps=ORDER, pivot_stands_at_deg=Decimal(300))
    names = [pass_key(one).removeprefix("pond-40/") for one in passes]
    assert names == [
        *("pivot_start", "pivot_walk", "pivot_stop"),
        *("disk", "rip_bed", "plant"),
        *("pivot_start-2", "pivot_walk-2", "pivot_stop-2"),
        *("disk/strip", "rip_bed/strip", "plant/strip"),
        *("pivot_start-3", "pivot_walk-3", "pivot_stop-3"),
    ]
    walks = [one.pivot_degrees for one in passes if one.operation == "pivot_walk"]
    assert walks == [Decimal(150), Decimal(20), Decimal(20)], "from 300 back to 90 is 150 the shorter way"
    by_name = dict(zip(names, passes, strict=True))
    assert by_name["disk"].area_ac + by_name["disk/strip"].area_ac == Decimal("120")
    chain = set(PassLink.objects.values_list("before_id", "after_id"))
    assert chain == {(a.pk, b.pk) for a, b in itertools.pairwise(passes)}


def test_a_pivot_that_stands_on_its_parking_line_does_not_walk_there() -> None:
    field = make_field(make_farm(), planted_ac=Decimal("120"))
    make_pivot(field)
    passes = lay_out(season=make_season(field), steps=ORDER, pivot_stands_at_deg=Decimal(90))
    assert passes[0].operation == "disk"


def test_without_planting_the_pivot_stays_on_the_finished_ground() -> None:
    field = make_field(make_farm(), planted_ac=Decimal("120"))
    make_pivot(field)
    passes = lay_out(season=make_season(field), steps=ORDER[:1], pivot_stands_at_deg=Decimal(90))
    assert [one.operation for one in passes] == ["disk", "pivot_start", "pivot_walk", "pivot_stop", "disk"]


def test_the_price_of_being_late_goes_by_acres() -> None:
    field = make_field(make_farm(), planted_ac=Decimal("120"))
    make_pivot(field)
    passes = lay_out(season=make_season(field), steps=ORDER)
    disks = [one for one in passes if one.operation == "disk"]
    assert sum(one.late_cents_per_day for one in disks) == 6_000
    assert disks[1].late_cents_per_day == 84  # 6,000 x 1.67 / 120 = 83.5, half to even


def test_laying_out_twice_changes_nothing() -> None:
    field = make_field(make_farm(), planted_ac=Decimal("120"))
    make_pivot(field)
    season = make_season(field)
    first = lay_out(season=season, steps=ORDER)
    before = list(FieldPass.objects.order_by("id").values()), list(PassLink.objects.order_by("id").values())
    assert lay_out(season=season, steps=ORDER) == first
    after = list(FieldPass.objects.order_by("id").values()), list(PassLink.objects.order_by("id").values())
    assert after == before


def test_other_dates_reach_only_passes_that_still_wait() -> None:
    season = make_season(make_field(make_farm()))
    disk, bed, _ = lay_out(season=season, steps=ORDER)
    FieldPass.objects.filter(pk=disk.pk).update(state=PassState.FINISHED)
    later = dt.date(2026, 5, 1)
    lay_out(season=season, steps=[Step("disk", due_on=later), Step("rip_bed", due_on=later), ORDER[2]])
    disk.refresh_from_db()
    bed.refresh_from_db()
    assert (disk.due_on, bed.due_on) == (dt.date(2026, 4, 24), later)


@pytest.mark.parametrize(
    ("steps", "says"),
    [
        ([], "there is no step"),
        ([Step("mow")], "step 1: 'mow' is no kind of work"),
        ([Step("disk"), Step("pivot_walk")], "step 2: pivot moves are added by themselves"),
        ([Step("disk", area_ac=Decimal("40.01"))], "step 1: 40.01 acres; the season has 40"),
        ([Step("disk", min_gap_min=5)], "step 1: gaps count from the step before"),
        ([Step("disk"), Step("plant", min_gap_min=9, max_gap_min=8)], "step 2: the gaps"),
        ([Step("disk", late_cents_per_day=-1)], "step 1: a price cannot be negative"),
        (
            [Step("disk", earliest_on=dt.date(2026, 5, 2), due_on=dt.date(2026, 5, 1))],
            "step 1: due on 2026-05-01",
        ),
    ],
)
def test_a_bad_order_of_work_is_refused_with_its_step_and_leaves_nothing(
    steps: list[Step], says: str
) -> None:
    season = make_season(make_field(make_farm()))
    with pytest.raises(BadOrderOfWork, match=says):
        lay_out(season=season, steps=steps)
    assert not FieldPass.objects.exists()
