"""Rates hold from a date on, are never changed, and say so when they clash."""

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from farmops.core.appendonly import AppendOnlyRefused
from ledger.models import MachineCostFacts, Rate
from ledger.selectors.prices import missing_rates, plan_prices
from ledger.selectors.rates import NoRateOnDate, rate_book
from ledger.services.rate_files import RatesFileRefused, load_machine_costs, load_rates
from ledger.services.rates import RateDiffers, RateRefused, set_rate
from tests.factories import make_hand, make_implement, make_machine, make_pass
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_place, set_rates

RATES = """kind,subject,unit,usd_per_unit,valid_from
wage,,h,17.50,2026-01-01
wage,imani,h,19.25,2026-01-01
fuel,,gal,3.1499,2026-01-01
implement,disk-1,h,14,2026-01-01
input,cotton-seed,bag,275.50,2026-01-01
"""
COSTS = """subject,cost_class,list_price_usd,paid_usd,bought_on,life_h,annual_h,interest_pct,insurance_housing_pct
tractor-1,tractor_2wd,150000,130000,2020-03-01,6000,400,8,1
"""


@pytest.fixture
def bare(db: None) -> Place:
    return make_place(rated=False)


def write(folder: Path, text: str, name: str = "rates.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_the_newest_rate_from_that_day_or_earlier_holds(bare: Place) -> None:
    for usd, day in (("18", NEW_YEAR), ("20", DAY)):
        set_rate(farm=bare.farm, kind="wage", usd_per_unit=usd, valid_from=day, now=NOON)
    book = rate_book(farm=bare.farm)
    assert book.wage(hand=bare.hand, day=DAY - dt.timedelta(days=1)).price_e4 == 180_000
    assert book.wage(hand=bare.hand, day=DAY).price_e4 == 200_000
    with pytest.raises(NoRateOnDate, match="wage of Imani holds on 2025-12-31"):
        book.wage(hand=bare.hand, day=NEW_YEAR - dt.timedelta(days=1))


def test_a_rate_of_its_own_outranks_a_newer_one_for_all(bare: Place) -> None:
    set_rate(farm=bare.farm, kind="wage", subject="imani", usd_per_unit="22", valid_from=NEW_YEAR, now=NOON)
    set_rate(farm=bare.farm, kind="wage", usd_per_unit="18", valid_from=DAY, now=NOON)
    book = rate_book(farm=bare.farm)
    assert book.wage(hand=bare.hand, day=DAY).price_e4 == 220_000
    assert book.wage(hand=make_hand(bare.farm, "odell"), day=DAY).price_e4 == 180_000


def test_the_same_rate_again_changes_nothing_and_another_needs_to_be_a_correction(bare: Place) -> None:
    first, _ = set_rate(farm=bare.farm, kind="fuel", usd_per_unit="3.20", valid_from=NEW_YEAR, now=NOON)
    again, is_new = set_rate(
        farm=bare.farm, kind="fuel", usd_per_unit=Decimal("3.2"), valid_from=NEW_YEAR, now=NOON
    )
    assert (again, is_new) == (first, False)
    with pytest.raises(RateDiffers, match=r"set before at 3\.2000 dollars a gal"):
        set_rate(farm=bare.farm, kind="fuel", usd_per_unit="3.25", valid_from=NEW_YEAR, now=NOON)
    right, _ = set_rate(
        farm=bare.farm, kind="fuel", usd_per_unit="3.25", valid_from=NEW_YEAR, corrects=True, now=NOON
    )
    assert rate_book(farm=bare.farm).fuel(day=DAY) == right
    assert Rate.objects.count() == 2


def test_a_rate_is_never_changed(place: Place) -> None:
    rate = Rate.objects.filter(farm=place.farm).first()
    assert rate is not None
    with pytest.raises(AppendOnlyRefused):
        rate.save()
    with pytest.raises(IntegrityError), transaction.atomic():
        Rate.objects.create(
            farm=place.farm,
            kind=rate.kind,
            unit=rate.unit,
            price_e4=1,
            valid_from=rate.valid_from,
            entered_at=NOON,
        )


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"kind": "rent"}, "'rent' is not a kind of rate"),
        ({"kind": "wage", "subject": "nobody"}, "no hand with the code 'nobody'; known: imani"),
        ({"kind": "machine", "subject": "disk-1"}, "no machine with the code 'disk-1'"),
        ({"kind": "wage", "unit": "day"}, "is for one h, not 'day'"),
        ({"kind": "fuel", "subject": "tractor-1"}, "one price for all"),
        ({"kind": "input", "unit": "lb"}, "names the input"),
        ({"kind": "input", "subject": "urea"}, "a unit such as lb"),
        ({"kind": "input", "subject": "urea", "unit": "lb", "category": "hats"}, "'hats' is not a category"),
        ({"kind": "input", "subject": "=cmd|' /C calc'!A0", "unit": "lb"}, "is no code of an input"),
        ({"kind": "input", "subject": "x" * 41, "unit": "lb"}, "is no code of an input"),
        ({"kind": "input", "subject": "urea\0", "unit": "lb"}, "is no code of an input"),
        ({"kind": "input", "subject": "urea", "unit": "thirteen sign"}, "'thirteen sign' is no unit"),
        ({"kind": "input", "subject": "urea", "unit": "=1+1"}, "'=1\\+1' is no unit"),
        ({"kind": "wage", "usd_per_unit": "1.23456"}, "more than four decimals"),
        ({"kind": "wage", "usd_per_unit": "-1"}, "negative"),
        ({"kind": "wage", "holds_fuel": True}, "Only the rate of a machine"),
    ],
)
def test_a_rate_that_makes_no_sense_is_refused(bare: Place, facts: dict[str, str], says: str) -> None:
    with pytest.raises(RateRefused, match=says):
        set_rate(farm=bare.farm, **{"usd_per_unit": "1", "valid_from": NEW_YEAR, "now": NOON, **facts})  # type: ignore[arg-type]
    assert Rate.objects.count() == 0


def test_files_load_once_and_again(bare: Place, tmp_path: Path) -> None:
    rates, costs = write(tmp_path, RATES), write(tmp_path, COSTS, "machine_costs.csv")
    assert str(load_rates(farm=bare.farm, path=rates, now=NOON)) == "5 new, 0 known before"
    assert str(load_rates(farm=bare.farm, path=rates, now=NOON)) == "0 new, 5 known before"
    assert str(load_machine_costs(farm=bare.farm, path=costs, now=NOON)) == "1 new, 0 known before"
    assert str(load_machine_costs(farm=bare.farm, path=costs, now=NOON)) == "0 new, 1 known before"
    with pytest.raises(RatesFileRefused, match=r"machine_costs.csv, line 2: .* another paid_cents"):
        load_machine_costs(
            farm=bare.farm,
            path=write(tmp_path, COSTS.replace("130000", "131000"), "machine_costs.csv"),
            now=NOON,
        )


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("17.50", "17,50", r"rates.csv, line 2: 6 cells where the header has 5"),
        ("19.25", "19.25001", r"rates.csv, line 3, column usd_per_unit: .* more than four decimals"),
        ("imani", "nobody", r"rates.csv, line 3, column subject: .* no hand with the code 'nobody'"),
        (
            "fuel,,gal,3.1499,2026-01-01",
            "fuel,,gal,3.1499,1/1/26",
            r"line 4, column valid_from: '1/1/26' is not a date",
        ),
        (
            "fuel,,gal,3.1499,2026-01-01",
            "fuel,,gal,3.1499,2026-W01-4",
            r"line 4, column valid_from: '2026-W01-4'",
        ),
        (
            "fuel,,gal,3.1499,2026-01-01",
            "fuel,,gal,3.1499,20260101",
            r"line 4, column valid_from: '20260101'",
        ),
        ("cotton-seed", "cotton\0seed", "holds zero bytes"),
        (
            "wage,imani,h",
            "wage,,h",
            r"line 3: line 2 says something else for the same kind, subject, valid_from",
        ),
        (RATES.partition("\n")[2], "\n,,,,\n", "rates.csv holds a header and no rows"),
        ("usd_per_unit", "price", r"line 1: .*missing usd_per_unit; not known 'price'"),
        ("bag,275.50", 'bag,"275.50', r"line 6"),
    ],
)
def test_a_faulty_file_names_its_line_and_stores_nothing(
    bare: Place, tmp_path: Path, old: str, new: str, says: str
) -> None:
    with pytest.raises(RatesFileRefused, match=says):
        load_rates(farm=bare.farm, path=write(tmp_path, RATES.replace(old, new)), now=NOON)
    assert Rate.objects.count() == 0


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("150000", "150000.005", "more than two decimals"),
        ("tractor_2wd", "combine", "'combine' is not a class of machine"),
        ("6000", "0", "no hour is left"),
        ("6000", "1" + "0" * 50, "age_years is"),
        (",8,1", ",8.125,1", "interest_pct is 8.125; its smallest step is 0.01"),
        (",400,", ",400.25,", "annual_h is 400.25; its smallest step is 0.1"),
        (",400,", ",1_000,", "column annual_h: '1_000' is not a plain number"),
        (",400,", ",1e3,", "column annual_h: '1e3' is not a plain number"),
        (
            "tractor-1",
            "tractor-9",
            "no machine or implement with the code 'tractor-9'; known: tractor-1, disk-1",
        ),
    ],
)
def test_cost_facts_without_a_cost_are_refused(
    bare: Place, tmp_path: Path, old: str, new: str, says: str
) -> None:
    with pytest.raises(RatesFileRefused, match=says):
        load_machine_costs(farm=bare.farm, path=write(tmp_path, COSTS.replace(old, new)), now=NOON)
    assert MachineCostFacts.objects.count() == 0


def test_a_file_of_corrections_corrects_once(bare: Place, tmp_path: Path) -> None:
    load_rates(farm=bare.farm, path=write(tmp_path, RATES), now=NOON)
    right = write(tmp_path, RATES.replace("17.50", "17.75") + "\n,,,,\n")
    assert str(load_rates(farm=bare.farm, path=right, corrects=True, now=NOON)) == "1 new, 4 known before"
    assert str(load_rates(farm=bare.farm, path=right, corrects=True, now=NOON)) == "0 new, 5 known before"
    twice = write(tmp_path, RATES.replace("17.50", "17.80") + "wage,,h,17.90,2026-01-01\n")
    with pytest.raises(RatesFileRefused, match=r"line 7: line 2 says something else"):
        load_rates(farm=bare.farm, path=twice, corrects=True, now=NOON)
    assert Rate.objects.count() == 6


def test_a_file_that_is_no_text_or_not_there_is_refused(bare: Place, tmp_path: Path) -> None:
    path = tmp_path / "rates.csv"
    with pytest.raises(RatesFileRefused, match="cannot be read"):
        load_rates(farm=bare.farm, path=path, now=NOON)
    with path.open("wb") as file:
        file.truncate(20_000_001)
    with pytest.raises(RatesFileRefused, match=r"rates\.csv has more than 20 MB"):
        load_rates(farm=bare.farm, path=path, now=NOON)
    path.write_bytes(RATES.encode("utf-16"))
    with pytest.raises(RatesFileRefused, match="not UTF-8"):
        load_rates(farm=bare.farm, path=path, now=NOON)


def test_a_machine_without_a_rate_is_worked_out_from_its_facts(bare: Place, tmp_path: Path) -> None:
    """The worked example of A3-29 (see the printed values): about 36.8 ownership and 6.30 repairs an hour."""
    load_machine_costs(farm=bare.farm, path=write(tmp_path, COSTS), now=NOON)
    book = rate_book(farm=bare.farm)
    hour = book.machine_hour(machine=bare.machine, day=DAY)
    assert [part.category.value for part in hour.parts] == ["machine", "repairs"]
    assert 36.7 < hour.parts[0].price_e4 / 10_000 < 37.0
    assert hour.parts[1].price_e4 == 63_000
    assert not hour.holds_fuel
    with pytest.raises(NoRateOnDate, match="no cost facts"):
        book.machine_hour(machine=bare.machine, day=dt.date(2020, 2, 29))
    set_rate(farm=bare.farm, kind="machine", usd_per_unit="1", valid_from=NEW_YEAR, now=NOON)
    assert len(rate_book(farm=bare.farm).machine_hour(machine=bare.machine, day=DAY).parts) == 2
    set_rate(
        farm=bare.farm, kind="machine", subject="tractor-1", usd_per_unit="45", valid_from=NEW_YEAR, now=NOON
    )
    own = rate_book(farm=bare.farm).machine_hour(machine=bare.machine, day=DAY)
    assert [(part.category.value, part.price_e4) for part in own.parts] == [("machine", 450_000)]


def test_the_planner_is_told_whole_cents_with_fuel_in_the_machines_hour(place: Place) -> None:
    """By hand: 40 + 0.044 x 180 x 3.20 x 1.15 = 69.1456."""
    owner = make_hand(place.farm, "marlene", is_owner=True)
    prices = plan_prices(farm=place.farm, on=DAY)
    assert prices.machine_cents_per_h == {place.machine.pk: 6_915}
    assert prices.implement_cents_per_h == {place.implement.pk: 1_200}
    assert prices.hand_cents_per_h == {place.hand.pk: 1_800, owner.pk: 1_800}
    assert prices.overtime_extra_cents_per_h == {place.hand.pk: 900, owner.pk: 0}
    assert missing_rates(farm=place.farm, on=DAY) == []


def test_a_plan_without_prices_counts_nothing_and_names_them(bare: Place) -> None:
    other = make_place("other-bend", rated=False)
    set_rates(other.farm)
    make_machine(bare.farm, "tractor-2")
    make_implement(bare.farm, "disk-2")
    prices = plan_prices(farm=bare.farm, on=DAY)
    assert set(prices.machine_cents_per_h.values()) == {0}
    assert other.machine.pk not in prices.machine_cents_per_h
    says = missing_rates(farm=bare.farm, on=DAY)
    assert len(says) == 5
    assert "No hourly rate of tractor-2 holds on 2026-04-20" in " ".join(says)


def test_hired_work_has_a_price_by_the_acre_and_its_lack_is_told(place: Place) -> None:
    asked: dict[str, Any] = {"farm": place.farm, "kind": "custom", "valid_from": NEW_YEAR, "now": NOON}
    season = place.field_pass.season
    make_pass(season, "spread", custom_ac_per_h=Decimal(30))
    assert missing_rates(farm=place.farm, on=DAY) == [
        f"No price of hired work (spread) holds on {DAY}; set one from that day or earlier (0 is allowed)."
    ]
    rate, is_new = set_rate(subject="spread", usd_per_unit="8.25", **asked)
    assert (rate.unit, is_new) == ("ac", True)
    set_rate(subject="pick", usd_per_unit="99", **asked)
    assert plan_prices(farm=place.farm, on=DAY).custom_cents_per_ac == {"spread": 825}
    assert missing_rates(farm=place.farm, on=DAY) == []


@pytest.mark.parametrize(
    ("subject", "unit", "says"),
    [("", "", "'' is no work that is hired"), ("irrigate", "", "no work"), ("spread", "h", "for one ac")],
)
def test_hired_work_that_nobody_is_hired_for_is_refused(
    place: Place, subject: str, unit: str, says: str
) -> None:
    with pytest.raises(RateRefused, match=says):
        set_rate(
            farm=place.farm,
            kind="custom",
            subject=subject,
            unit=unit,
            usd_per_unit="8",
            valid_from=NEW_YEAR,
            now=NOON,
        )
    assert not Rate.objects.filter(kind="custom").exists()
