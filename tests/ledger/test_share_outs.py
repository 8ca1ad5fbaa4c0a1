"""Pools shared out over seasons: exact, refused where nothing can be told apart, and undone to the cent."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farmops.farms.models import Pivot, Pump, Season
from ledger.models import Account, Entry, Line, PeriodMark, SharedBy, ShareOut, ShareOutPart
from ledger.selectors.pools import Pool, PoolKind, pool_balances, pool_costs
from ledger.selectors.share_weights import ShareOutRefused, weights
from ledger.services.journal import ReversalRefused
from ledger.services.periods import PeriodClosedError
from ledger.services.posting import post_pending
from ledger.services.share_outs import ShareOutDiffers, ShareOutOutcome, reverse_share_out, share_out_pool
from ledger.services.verify import verify_ledger
from scheduling.models import Watering
from tests.factories import make_field, make_machine, make_pass, make_season
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_work
from tests.scheduling.care_facts import make_pivot

NEW_YEAR = dt.date(2026, 1, 1)


@pytest.fixture
def fields(place: Place) -> list[Season]:
    """Three seasons of 40, 30 and 10 acres; the first is that of the place."""
    more = [
        make_season(make_field(place.farm, code, planted_ac=Decimal(acres)))
        for code, acres in (("ridge-30", 30), ("slip-10", 10))
    ]
    return [place.season, *more]


def overhead() -> Pool:
    return Pool(PoolKind.OVERHEAD, None, {})


def of_machine(place: Place) -> Pool:
    return Pool(PoolKind.MACHINE, place.machine, {})


def share(place: Place, pool: Pool, by: str = "acres", **facts: Any) -> ShareOutOutcome:
    asked: dict[str, Any] = {
        "client_id": uuid.uuid4(),
        "crop_year": 2026,
        "first_on": NEW_YEAR,
        "last_on": DAY,
        "why": "end of the year",
        "now": NOON,
    }
    return share_out_pool(farm=place.farm, pool=pool, shared_by=by, **{**asked, **facts})


def got(outcome: ShareOutOutcome) -> dict[tuple[str, str], int]:
    return {(part.season.field.code, part.category): part.cents for part in outcome.parts}


def test_overhead_by_acres_is_exact_in_every_category_with_its_reason(
    place: Place, fields: list[Season]
) -> None:
    """By hand: 100.01 over 40, 30 and 10 of 80 acres is 50.005, 37.503 75 and 12.501 25; the whole cents are 50.00,
    37.50 and 12.50, and the one cent left goes to the biggest fraction, the first. 7.00 is 3.50, 2.62(5), 0.87(5): the
    tie for the one cent goes to the first name."""
    make_bill(place, "100.01", category="insurance")
    make_bill(place, "7.00", category="other")
    outcome = share(place, overhead())
    assert got(outcome) == {
        ("pond-40", "insurance"): 50_01,
        ("ridge-30", "insurance"): 37_50,
        ("slip-10", "insurance"): 12_50,
        ("pond-40", "other"): 3_50,
        ("ridge-30", "other"): 2_63,
        ("slip-10", "other"): 87,
    }
    assert outcome.entry is not None
    assert outcome.total_cents == 107_01
    says = {line.says for line in outcome.entry.lines.filter(season=fields[2])}
    assert says == {"share of the farm as a whole: 10.0 of 80.0 ac"}
    assert pool_balances(farm=place.farm, through=DAY) == []
    assert [(part.weight_e4, part.unit) for part in outcome.parts if part.category == "other"] == [
        (40_0000, "ac"),
        (30_0000, "ac"),
        (10_0000, "ac"),
    ]
    assert verify_ledger(farm=place.farm).faults == []


def test_a_machines_rest_goes_by_its_hours_and_names_the_machine(place: Place, fields: list[Season]) -> None:
    """Hours 4.5 on one field and 1.5 on the next: three quarters and one quarter. The pool was billed 500.00 and charged
    6 h at 40 dollars and 22.81 of oil (7.92 gal/h x 6 h x 3.20 x 15 %)."""
    make_bill(place, "500.00", machine=place.machine, category="repairs")
    make_work(place, implement=None)
    make_work(place, implement=None, field_pass=make_pass(fields[1]), machine_min=90, hand_min=90)
    other = make_machine(place.farm, "tractor-2")
    make_work(place, implement=None, machine=other, field_pass=make_pass(fields[2]))
    outcome = share(place, of_machine(place), "hours")
    assert got(outcome) == {
        ("pond-40", "lubricants"): -17_11,
        ("ridge-30", "lubricants"): -5_70,
        ("pond-40", "machine"): -180_00,
        ("ridge-30", "machine"): -60_00,
        ("pond-40", "repairs"): 375_00,
        ("ridge-30", "repairs"): 125_00,
    }
    assert outcome.entry is not None
    lines = list(outcome.entry.lines.all())
    assert {line.machine for line in lines} == {place.machine}
    assert {line.outfit for line in lines if line.account == Account.SEASON} == {"tractor-1"}
    pool, _of_other = pool_costs(farm=place.farm)
    assert (pool.bills_cents, pool.charged_cents, pool.shared_cents, pool.left_cents) == (
        500_00,
        262_81,
        237_19,
        0,
    )
    assert [(w.season, w.says) for w in outcome.weights.values()][1:] == [
        (fields[1], "1.5 of 6.0 h"),
        (fields[2], "0.0 of 6.0 h"),
    ]


def test_water_is_shared_by_inches_times_acres_of_the_pumps_own_fields(
    place: Place, fields: list[Season]
) -> None:
    """By hand: 1.20 and 0.80 in on 40 acres are 80 ac-in, 2.00 in on 10 acres 20: of 250.00, 200.00 and 50.00. The field
    on the other pump got 1 in of that one."""
    pivot = make_pivot(place.season.field)
    make_pivot(fields[2].field)
    other = Pump.objects.create(farm=place.farm, code="creek", name="creek", flow_gpm=400)
    Pivot.objects.filter(pk=make_pivot(fields[1].field).pk).update(pump=other)
    for season, day, depth in (
        (fields[0], 3, "1.20"),
        (fields[0], 9, "0.80"),
        (fields[2], 9, "2.00"),
        (fields[1], 9, "1.00"),
        (fields[0], 25, "5.00"),
    ):
        Watering.objects.create(
            farm=place.farm,
            client_id=uuid.uuid4(),
            field=season.field,
            water_on=dt.date(2026, 4, day),
            depth_in=Decimal(depth),
            recorded_at=NOON,
        )
    found = weights(
        farm=place.farm,
        shared_by=SharedBy.ACRE_INCHES,
        crop_year=2026,
        first_on=NEW_YEAR,
        last_on=DAY,
        thing=pivot.pump,
    )
    make_bill(place, "250.00", category="irrigation_power", pump=pivot.pump)
    outcome = share(place, Pool(PoolKind.PUMP, pivot.pump, {}), "acre_inches")
    assert got(outcome) == {
        ("pond-40", "irrigation_power"): 200_00,
        ("slip-10", "irrigation_power"): 50_00,
    }
    assert outcome.entry is not None
    assert [line.pump for line in outcome.entry.lines.filter(account=Account.IRRIGATION)] == [pivot.pump]
    assert verify_ledger(farm=place.farm).faults == []
    assert [(w.amount, w.says) for w in found.values()] == [
        (Decimal(80), "80.0 of 100.0 ac-in"),
        (Decimal(0), "0.0 of 100.0 ac-in"),
        (Decimal(20), "20.0 of 100.0 ac-in"),
    ]


def test_equal_parts_of_one_hundred_dollars_in_three_are_33_34_and_twice_33_33(
    place: Place, fields: list[Season]
) -> None:
    make_bill(place, "100.00", category="insurance")
    outcome = share(place, overhead(), "equal")
    assert list(got(outcome).values()) == [33_34, 33_33, 33_33]
    assert {w.says for w in outcome.weights.values()} == {"1 of 3 equal parts"}


def test_a_pool_below_zero_is_given_back(place: Place, fields: list[Season]) -> None:
    make_work(place)
    outcome = share(place, Pool(PoolKind.IMPLEMENT, place.implement, {}), "acres")
    assert got(outcome) == {
        ("pond-40", "implement"): -27_00,
        ("ridge-30", "implement"): -20_25,
        ("slip-10", "implement"): -6_75,
    }


def test_a_trial_books_nothing(place: Place, fields: list[Season]) -> None:
    make_bill(place, "100.00", category="insurance")
    outcome = share(place, overhead(), dry_run=True)
    assert (outcome.share_out, outcome.entry, outcome.total_cents) == (None, None, 100_00)
    assert sum(got(outcome).values()) == 100_00
    assert not ShareOut.objects.exists()
    assert pool_balances(farm=place.farm, through=DAY)[0].left_cents == 100_00


def test_sent_twice_it_is_one_share_out_and_with_other_facts_it_is_refused(
    place: Place, fields: list[Season]
) -> None:
    make_bill(place, "100.00", category="insurance")
    key = uuid.uuid4()
    first, again = share(place, overhead(), client_id=key), share(place, overhead(), client_id=key)
    assert (first.is_new, again.is_new) == (True, False)
    assert again.entry == first.entry
    assert got(again) == got(first)
    with pytest.raises(ShareOutDiffers, match="another shared_by; another share-out needs another id"):
        share(place, overhead(), "equal", client_id=key)


def test_reversed_the_pool_holds_it_again_and_it_is_shared_anew(place: Place, fields: list[Season]) -> None:
    make_bill(place, "100.00", category="insurance")
    first = share(place, overhead()).share_out
    assert first is not None
    with pytest.raises(ReversalRefused, match="needs a reason"):
        reverse_share_out(share_out=first, why=" ", now=NOON)
    reverse_share_out(share_out=first, why="by hours instead", now=NOON)
    [pool] = pool_balances(farm=place.farm, through=DAY)
    assert dict(pool.by_category) == {"insurance": 100_00}
    on_fields = Line.objects.filter(account=Account.SEASON).aggregate(cents=Sum("cents"))["cents"]
    assert on_fields == 0
    with pytest.raises(ReversalRefused, match="reversed before"):
        reverse_share_out(share_out=first, why="again", now=NOON)
    assert list(got(share(place, overhead(), "equal")).values()) == [33_34, 33_33, 33_33]
    assert verify_ledger(farm=place.farm).faults == []


def test_what_a_share_out_took_is_not_taken_again_by_one_of_an_earlier_day(
    place: Place, fields: list[Season]
) -> None:
    """Common practice, no source. By hand: 100.00 of 2 April went to the fields on the 20th; seen from the 15th the pool
    still holds it. Pools of others are no matter, nor one that was reversed."""
    early = dt.date(2026, 4, 15)
    make_bill(place, "100.00", category="insurance", bill_on=dt.date(2026, 4, 2))
    make_bill(place, "80.00", machine=place.machine, category="repairs", bill_on=dt.date(2026, 4, 2))
    first = share(place, overhead())
    assert first.share_out is not None
    assert first.entry is not None
    for tried in (True, False):
        with pytest.raises(
            ShareOutRefused,
            match=f"shared out through 2026-04-20 already, by entry {first.entry.number}. Take that day or a later",
        ):
            share(place, overhead(), last_on=early, dry_run=tried)
    assert share(place, of_machine(place), "equal", last_on=early).total_cents == 80_00
    reverse_share_out(share_out=first.share_out, why="one day too late", now=NOON)
    assert share(place, overhead(), last_on=early).total_cents == 100_00
    assert pool_balances(farm=place.farm, through=DAY) == []


def test_only_what_was_booked_by_its_last_day_is_shared(place: Place, fields: list[Season]) -> None:
    make_bill(place, "100.00", category="insurance", bill_on=dt.date(2026, 3, 2))
    make_bill(place, "50.00", category="insurance", bill_on=dt.date(2026, 4, 2))
    assert share(place, overhead(), last_on=dt.date(2026, 3, 31)).total_cents == 100_00
    assert pool_balances(farm=place.farm, through=DAY)[0].left_cents == 50_00


@pytest.mark.parametrize(
    ("by", "says"),
    [
        (
            "hours",
            "Nothing ran in these days: no hour of tractor-1 is recorded for crop year 2026 between 2026-01-01 and "
            "2026-04-20, so no share can be told from another. Take other days, or share it out by acres or equal parts.",
        ),
        ("acre_inches", "tractor-1 puts no water on; share it out by hours, acres or equal parts."),
        ("moon", "'moon' is nothing to share out by; known: acres, hours, acre_inches, equal, used."),
    ],
)
def test_weights_that_tell_nothing_are_refused(
    place: Place, fields: list[Season], by: str, says: str
) -> None:
    make_bill(place, "100.00", machine=place.machine, category="repairs")
    with pytest.raises(ShareOutRefused) as refused:
        share(place, of_machine(place), by)
    assert refused.value.says == says
    assert not ShareOutPart.objects.exists()
    assert not Entry.objects.filter(share_out__isnull=False).exists()


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"why": "  "}, "A share-out needs a reason in words, of 200 letters at most."),
        ({"first_on": dt.date(2026, 4, 21)}, "The days end on 2026-04-20, before they begin on 2026-04-21."),
        (
            {"last_on": dt.date(2026, 4, 21)},
            "2026-04-21 has not come yet; what will be worked until then is not known.",
        ),
        ({"crop_year": 2031}, "Heron Slough has no season of crop year 2031 to share anything out to."),
        (
            {"last_on": dt.date(2026, 4, 19)},
            "The pool of the farm as a whole holds nothing through 2026-04-19.",
        ),
    ],
)
def test_what_makes_no_sense_is_refused_with_a_sentence(
    place: Place, fields: list[Season], facts: dict[str, Any], says: str
) -> None:
    make_bill(place, "100.00", category="insurance")
    with pytest.raises(ShareOutRefused) as refused:
        share(place, overhead(), **facts)
    assert refused.value.says == says
    assert not ShareOut.objects.exists()


def test_the_hours_of_a_pump_are_refused(place: Place, fields: list[Season]) -> None:
    pump = make_pivot(place.season.field).pump
    with pytest.raises(ShareOutRefused, match="machine hours of a pump are not recorded"):
        weights(
            farm=place.farm,
            shared_by=SharedBy.HOURS,
            crop_year=2026,
            first_on=NEW_YEAR,
            last_on=DAY,
            thing=pump,
        )


def test_no_share_out_is_booked_into_a_closed_month(place: Place, fields: list[Season]) -> None:
    make_bill(place, "100.00", category="insurance", bill_on=dt.date(2026, 3, 2))
    post_pending(farm=place.farm, now=NOON)
    PeriodMark.objects.create(farm=place.farm, month=dt.date(2026, 3, 1), turn=1, is_close=True, made_at=NOON)
    with pytest.raises(PeriodClosedError, match="2026-03-31 is in a closed month"):
        share(place, overhead(), last_on=dt.date(2026, 3, 31))
    assert not ShareOut.objects.exists()


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    cents=st.lists(st.integers(-99_999, 99_999).filter(bool), min_size=1, max_size=4),
    by=st.sampled_from(["acres", "equal"]),
)
def test_whatever_the_pool_held_the_fields_get_and_a_reversal_gives_back(
    place: Place, fields: list[Season], cents: list[int], by: str
) -> None:
    names = ("insurance", "other", "scouting", "interest")
    for category, amount in zip(names, cents, strict=False):
        make_bill(place, f"{Decimal(amount) / 100:.2f}", category=category)
    post_pending(farm=place.farm, now=NOON)
    before = pool_balances(farm=place.farm, through=DAY)
    if not before:
        return
    outcome = share(place, overhead(), by)
    for category, held in before[0].by_category.items():
        assert sum(part.cents for part in outcome.parts if part.category == category) == held
    assert pool_balances(farm=place.farm, through=DAY) == []
    assert outcome.share_out is not None
    reverse_share_out(share_out=outcome.share_out, why="to try again", now=NOON)
    assert pool_balances(farm=place.farm, through=DAY) == before


def test_only_hours_of_the_thing_in_the_days_and_of_the_crop_year_count(
    place: Place, fields: list[Season]
) -> None:
    """By hand: 4.5 h on the day; the day before, another machine and a season of the next crop year do not count."""
    next_year = make_season(place.season.field, crop_year=2027)
    make_work(place)
    make_work(place, work_on=DAY - dt.timedelta(days=1))
    make_work(place, machine=make_machine(place.farm, "tractor-2"), implement=None)
    make_work(place, field_pass=make_pass(next_year))
    wrong = make_work(place, field_pass=make_pass(fields[1], "plant"))
    make_work(place, field_pass=wrong.field_pass, machine_min=0, supersedes=wrong)
    for thing in (place.machine, place.implement):
        found = weights(
            farm=place.farm,
            shared_by=SharedBy.HOURS,
            crop_year=2026,
            first_on=DAY,
            last_on=DAY,
            thing=thing,
        )
        assert [w.amount for w in found.values()] == [Decimal("4.5"), 0, 0]
