"""Holding a pass to an outfit or an hour: what is kept, what the plan makes of it, what is refused."""

import datetime as dt
from decimal import Decimal

import pytest

from farmops.farms.models import Farm, Hand, HandAway, Machine
from scheduling.models import FieldPass, PassLink, PassState, SaySo
from scheduling.selectors.plans import tasks_of_plan
from scheduling.services.fixing import BadFixing, CannotBeFixed, fix_pass, let_go
from tests.factories import make_farm, make_field, make_hand, make_pass, make_season
from tests.scheduling.ground import MONDAY, SUNDAY, SUNDAY_EVENING
from tests.scheduling.weeks import made, working_farm

HOUR = dt.timedelta(hours=1)
OUTFIT = "tractor-2+disk-1+teo"
TUESDAY_9 = MONDAY + 33 * HOUR


@pytest.fixture
def farm(db: None) -> Farm:
    return working_farm()


@pytest.fixture
def disk(farm: Farm) -> FieldPass:
    return make_pass(make_season(make_field(farm)), area_ac=Decimal("40"), leave_cents=90_000)


def held(field_pass: FieldPass, outfit: str = "", starts_at: dt.datetime | None = None) -> FieldPass:
    return fix_pass(
        field_pass=field_pass, outfit=outfit, starts_at=starts_at, not_before=SUNDAY_EVENING, as_of=SUNDAY
    )


def test_a_plan_keeps_to_what_the_pass_is_held_to(farm: Farm, disk: FieldPass) -> None:
    held(disk, OUTFIT, TUESDAY_9)
    held(disk, OUTFIT, TUESDAY_9)
    (task,) = tasks_of_plan(plan=made(farm))
    assert (task.mode, task.starts_at) == (OUTFIT, TUESDAY_9)


def test_an_outfit_alone_leaves_the_hour_to_the_plan_and_an_hour_alone_the_outfit(
    farm: Farm, disk: FieldPass
) -> None:
    held(disk, OUTFIT)
    (task,) = tasks_of_plan(plan=made(farm))
    assert (task.mode, disk.fixed_from) == (OUTFIT, None)
    held(disk, "", TUESDAY_9)
    (task,) = tasks_of_plan(plan=made(farm))
    assert (task.starts_at, disk.fixed_outfit) == (TUESDAY_9, "")


def test_what_is_let_go_is_the_plans_to_choose_again(farm: Farm, disk: FieldPass) -> None:
    free = tasks_of_plan(plan=made(farm)).get()
    held(disk, OUTFIT, TUESDAY_9)
    for _ in range(2):
        let_go(field_pass=disk)
        assert (disk.fixed_from, disk.fixed_outfit) == (None, "")
    again = tasks_of_plan(plan=made(farm)).get()
    assert (again.mode, again.starts_at) == (free.mode, free.starts_at)


@pytest.mark.parametrize(
    ("outfit", "starts_at", "says"),
    [
        ("", None, "an outfit, an hour, or both"),
        ("tractor-9+disk-1+teo", None, "tractor-9.* cannot disk on Pond 40; these can: tractor-1"),
        ("tractor-1+bedder+teo", None, "cannot disk"),
        (OUTFIT, SUNDAY_EVENING - HOUR, "Sunday, April 19, 5:00 pm is over"),
        (OUTFIT, MONDAY + dt.timedelta(days=61), "more than 60 days ahead"),
        (OUTFIT, TUESDAY_9 + dt.timedelta(seconds=1), "whole minute"),
        (OUTFIT, MONDAY + 3 * HOUR, "Teo works .* on Monday, April 20"),
        (OUTFIT, MONDAY + dt.timedelta(days=6, hours=9), "Teo does not work on Sunday, April 26"),
        ("", MONDAY + 3 * HOUR, "No outfit can begin then"),
    ],
)
def test_what_cannot_stand_is_refused_and_nothing_is_kept(
    disk: FieldPass, outfit: str, starts_at: dt.datetime | None, says: str
) -> None:
    with pytest.raises(BadFixing, match=says):
        held(disk, outfit, starts_at)
    disk.refresh_from_db()
    assert (disk.fixed_from, disk.fixed_outfit) == (None, "")


def test_an_hour_before_the_pass_may_start_is_refused(disk: FieldPass) -> None:
    FieldPass.objects.filter(pk=disk.pk).update(earliest_on=dt.date(2026, 4, 22))
    with pytest.raises(BadFixing, match="not start before Wednesday, April 22") as refused:
        held(disk, OUTFIT, TUESDAY_9)
    assert list(refused.value.fields) == ["starts_at"]


def test_a_machine_that_is_down_and_a_hand_who_is_away_are_not_held_to_an_hour(
    farm: Farm, disk: FieldPass
) -> None:
    Machine.objects.filter(code="tractor-2").update(down_until=TUESDAY_9 + 3 * HOUR)
    with pytest.raises(BadFixing, match="down until about Tuesday, April 21, 12:00 pm"):
        held(disk, OUTFIT, TUESDAY_9)
    held(disk, OUTFIT, TUESDAY_9 + 4 * HOUR)
    HandAway.objects.create(
        farm=farm,
        hand=Hand.objects.get(code="teo"),
        first_on=dt.date(2026, 4, 22),
        last_on=dt.date(2026, 4, 22),
    )
    with pytest.raises(BadFixing, match="Teo does not work on Wednesday, April 22"):
        held(disk, OUTFIT, TUESDAY_9 + 24 * HOUR)


def test_a_field_that_is_shut_at_that_hour_is_refused_with_what_shuts_it(farm: Farm, disk: FieldPass) -> None:
    SaySo.objects.create(
        farm=farm,
        field=disk.season.field,
        day=dt.date(2026, 4, 21),
        word="not_today",
        said_at=SUNDAY_EVENING,
    )
    with pytest.raises(BadFixing, match="Pond 40 is shut for it at Tuesday, April 21, 9:00 am: ") as refused:
        held(disk, OUTFIT, TUESDAY_9)
    assert ".." not in refused.value.says
    held(disk, OUTFIT, TUESDAY_9 + 24 * HOUR)


def test_two_fixed_passes_do_not_hold_one_tractor_or_hand_at_once(farm: Farm, disk: FieldPass) -> None:
    other = make_pass(make_season(make_field(farm, "hill-20")), area_ac=Decimal("40"))
    held(disk, OUTFIT, TUESDAY_9)
    for starts_at in (TUESDAY_9 - HOUR, TUESDAY_9 + HOUR):
        with pytest.raises(BadFixing, match="is held then by disk on Pond 40, fixed from Tuesday, April 21"):
            held(other, "tractor-1+disk-1+teo", starts_at)
    held(other, "tractor-1+disk-1+teo", TUESDAY_9 + dt.timedelta(days=1))


def test_a_pass_is_not_fixed_before_one_that_it_waits_for(farm: Farm, disk: FieldPass) -> None:
    bed = make_pass(disk.season, "rip_bed", area_ac=Decimal("40"))
    PassLink.objects.create(farm=farm, before=disk, after=bed)
    held(disk, OUTFIT, TUESDAY_9)
    with pytest.raises(BadFixing, match="It waits for disk on Pond 40, which is itself fixed"):
        held(bed, "tractor-1+bedder+teo", TUESDAY_9 - HOUR)
    let_go(field_pass=disk)
    held(bed, "tractor-1+bedder+teo", TUESDAY_9)
    with pytest.raises(BadFixing, match="Rip and bed on Pond 40 waits for it"):
        held(disk, "tractor-2+disk-1+teo", TUESDAY_9 + 24 * HOUR)


@pytest.mark.parametrize("state", [PassState.FINISHED, PassState.CALLED_OFF])
def test_a_pass_that_is_over_has_nothing_to_hold(disk: FieldPass, state: str) -> None:
    FieldPass.objects.filter(pk=disk.pk).update(state=state)
    with pytest.raises(CannotBeFixed, match="nothing left to hold"):
        held(disk, OUTFIT)


def test_an_outfit_that_only_other_farms_have_is_none_of_ours(disk: FieldPass) -> None:
    make_hand(make_farm("other-bend"), "eve")
    with pytest.raises(BadFixing, match="cannot disk"):
        held(disk, "tractor-1+disk-1+eve")
