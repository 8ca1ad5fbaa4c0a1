"""Curves of what planting late takes, held against printed trials and rules."""

import datetime as dt
import itertools
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from farmops.farms.lateness import (
    Curve,
    LatenessError,
    curve_of_region,
    losses_from,
    lost,
    lost_cents_per_ac,
    next_loss_after,
    shipped_curves,
)
from farmops.farms.models import Crop, Region


def day(month: int, number: int, year: int = 2026) -> dt.date:
    return dt.date(year, month, number)


@pytest.mark.parametrize(("on", "printed_pct"), [((5, 10), 8), ((5, 20), 15), ((5, 30), 24)])
def test_illinois_corn_loses_what_is_printed_by_three_days_of_may(
    on: tuple[int, int], printed_pct: int
) -> None:
    """Nafziger 2013 (University of Illinois): 8, 15 and 24 % by May 10, 20 and 30."""
    assert lost(shipped_curves()["il-corn"], day(*on)) == printed_pct


def test_two_trials_of_north_carolina_cotton_lose_what_is_printed() -> None:
    """Carolina Cotton Notes 01-3: .25 lb a day from May 13 to June 12, 1998, then 40 lb to June 25; 19.8 lb in 2000."""
    trial = shipped_curves()["nc-cotton-1998"]
    assert lost(trial, day(5, 13, 1998)) == 0
    assert lost(trial, day(6, 12, 1998)) == Fraction("7.5")
    assert lost(trial, day(6, 25, 1998)) == Fraction("7.5") + 13 * 40
    assert lost(trial, day(7, 20, 1998)) == lost(trial, day(6, 25, 1998))
    assert lost(shipped_curves()["nc-cotton-2000"], day(6, 26, 2000)) == 40 * Fraction("19.8")


def test_the_linear_rule_of_cotton_takes_twelve_pounds_a_day_after_the_first_of_may() -> None:
    """Carolina Cotton Notes 01-3; in Georgia little is lost from April 1 to May 20 (University of Georgia's guide)."""
    rule, georgia = shipped_curves()["linear-cotton"], shipped_curves()["ga-cotton"]
    assert [lost(rule, day(5, number)) for number in (1, 2, 31)] == [0, 12, 360]
    assert lost(georgia, day(5, 20)) == 0
    assert lost(georgia, day(5, 21)) > 0
    before, after = lost(georgia, day(5, 31)), lost(georgia, day(6, 1))
    assert after - before == 12 + 10, "the day's rate and the step at once"
    daily = [lost(georgia, day(5, 20) + dt.timedelta(days=n)) for n in range(40)]
    assert next(b - a for a, b in itertools.pairwise(daily)) < daily[-1] - daily[-2], "it rises"


def test_an_acre_loses_its_share_in_dollars_and_never_more_than_it_yields() -> None:
    """By hand: 180 bu x 4.50 = 810 dollars; 8 % of it is 64.80. 30 lb at .75 are 22.50."""
    corn = shipped_curves()["il-corn"]
    asked = {"yield_per_ac": Decimal(180), "price_usd": Decimal("4.50")}
    assert lost_cents_per_ac(corn, day(5, 10), **asked) == 6_480
    georgia = {"yield_per_ac": Decimal(1_100), "price_usd": Decimal("0.75")}
    assert lost_cents_per_ac(shipped_curves()["ga-cotton"], day(5, 25), **georgia) == 2_250
    assert (
        lost_cents_per_ac(
            shipped_curves()["nc-cotton-1998"],
            day(12, 31),
            yield_per_ac=Decimal(20),
            **{"price_usd": Decimal("0.75")},
        )
        == 1_500
    )
    assert lost_cents_per_ac(corn, day(12, 31), **asked) == 81_000


def test_the_next_loss_is_told_before_it_begins() -> None:
    georgia = shipped_curves()["ga-cotton"]
    assert next_loss_after(georgia, day(4, 20)) == 6
    assert next_loss_after(georgia, day(5, 25)) == 12
    assert next_loss_after(shipped_curves()["nc-cotton-2000"], day(7, 1)) == 0


def test_every_crop_of_the_southeast_has_one_curve_that_ships_and_every_loss_its_source() -> None:
    for crop in Crop.values:
        assert curve_of_region(crop, Region.SOUTHEAST) is not None
        assert curve_of_region(crop, Region.FAO) is None
    for curve in shipped_curves().values():
        assert curve.crop in Crop.values
        assert all(loss.source for loss in curve.losses)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([], "1 to 24 losses"),
        ("05-20", "1 to 24 losses"),
        ([{"after": "05-20"}], "loss 1 has the keys"),
        ([{"after": "05-20", "per_day": 1, "speed": 2}], "loss 1 has the keys"),
        ([{"after": "5/20", "per_day": 1}], "no day such as 05-20"),
        ([{"after": "02-30", "per_day": 1}], "no day such as 05-20"),
        ([{"after": "02-29", "per_day": 1}], "not every year"),
        ([{"after": "05-20", "per_day": -1}], "it is 0 to 1000"),
        ([{"after": "05-20", "per_day": "NaN"}], "it is 0 to 1000"),
        ([{"after": "05-20", "per_day": True}], "no number|it is 0 to"),
        ([{"after": "05-20", "per_day": "0.1234"}], "three decimals"),
        ([{"after": "05-20", "per_day": 1, "at_once": 10_001}], "at_once is 10001"),
        ([{"after": "05-20", "per_day": 1, "source": 7}], "source is a text"),
        ([{"after": "05-20", "per_day": 1}, {"after": "05-20", "per_day": 2}], "does not come after"),
        ([7], "loss 1 has the keys"),
    ],
)
def test_a_curve_that_makes_no_sense_is_refused(rows: object, says: str) -> None:
    with pytest.raises(LatenessError, match=says):
        losses_from(rows)  # type: ignore[arg-type]


def test_a_file_of_curves_is_refused_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "own.csv"
    path.write_text("key,crop\n")
    with pytest.raises(LatenessError, match="line 1: the columns are key, crop, region"):
        shipped_curves(path)
    head = "key,crop,region,unit,after,per_day,at_once,source\n"
    other = tmp_path / "two.csv"
    other.write_text(head + "a,corn,,pct,05-01,1,0,here\na,corn,,lb,05-02,1,0,here\n")
    with pytest.raises(LatenessError, match="line 3: a curve has one crop"):
        shipped_curves(other)
    third = tmp_path / "three.csv"
    third.write_text(head + "a,corn,,pct,05-01,x,0,here\n")
    with pytest.raises(LatenessError, match="line 2: a: loss 1: per_day is 'x', no number"):
        shipped_curves(third)


def test_a_loss_of_all_stops_at_all() -> None:
    curve = Curve("a", "corn", "", "pct", losses_from([{"after": "01-01", "per_day": 1}]))
    assert lost(curve, day(12, 31)) == 100
