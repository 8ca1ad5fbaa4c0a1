"""Budgets, yields and break-even: what a crop was meant to cost beside what it cost."""

import csv
import datetime as dt
import io
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from farmops.farms.models import Farm, LatePlantingFacts
from ledger.models import BudgetLine, SeasonYield
from ledger.selectors.break_even_facts import break_evens
from ledger.selectors.budgets import (
    StandingBudgets,
    budget_rows,
    budget_totals,
    season_budgets,
    standing_budgets,
)
from ledger.selectors.cost_cells import CostWhere
from ledger.selectors.cost_tables import CostTables
from ledger.selectors.yields import season_yields
from ledger.services.budget_files import BudgetFileRefused, load_budgets
from ledger.services.budgets import BudgetDiffers, BudgetRefused, set_budget
from ledger.services.posting import post_pending
from ledger.services.yields import YieldDiffers, YieldRefused, enter_yield
from tests.factories import make_field, make_season
from tests.ledger.makers import NOON, Place, make_bill

HEADER = "crop_year,crop,category,usd_per_ac"


def of_year(farm: Farm) -> tuple[CostTables, StandingBudgets]:
    return CostTables(farm=farm, crop_year=2026), standing_budgets(farm=farm, crop_year=2026)


def budget(place: Place, category: str, usd_per_ac: str, **more: object) -> BudgetLine:
    given = {"crop_year": 2026, "crop": "cotton", **more}
    row, _new = set_budget(
        farm=place.farm,
        category=category,
        usd_per_ac=usd_per_ac,
        now=NOON,
        **given,  # type: ignore[arg-type]
    )
    return row


def test_budget_stands_beside_actual_with_the_difference(place: Place) -> None:
    """40 acres at 62.50 are 2,500.00, and 2,238.44 were spent: 261.56 under. Worked by hand."""
    budget(place, "seed", "62.50")
    budget(place, "scouting", "9")
    make_bill(place, "2238.44", category="seed", season=place.season)
    make_bill(place, "412.37", category="tires", season=place.season)
    post_pending(now=NOON)
    rows = {row.category: row for row in budget_rows(farm=place.farm, crop_year=2026)}
    assert "seed" in rows
    stock_or_field = rows["seed"]
    assert stock_or_field.budget_cents == 250_000
    assert (stock_or_field.actual_cents, stock_or_field.difference_cents) == (223_844, -26_156)
    assert (rows["scouting"].actual_cents, rows["scouting"].budget_cents) == (0, 36_000)
    assert (rows["tires"].budget_cents, rows["tires"].difference_cents) == (None, None)
    assert list(rows) == ["seed", "scouting", "tires"] or list(rows) == ["tires", "seed", "scouting"]
    assert budget_totals(rows.values()) == (223_844 + 41_237, 286_000)
    assert budget_totals([rows["tires"]]) == (41_237, None)


def test_a_seasons_own_budget_outranks_its_crops(place: Place) -> None:
    sand = make_season(make_field(place.farm, "sand-60"), area_ac=Decimal("61.30"))
    budget(place, "seed", "10.01")
    budget(place, "seed", "0.55", season=sand)
    assert season_budgets(*of_year(place.farm)) == {
        ("pond-40", "cotton"): 40_040,
        ("sand-60", "cotton"): 3_372,  # 61.30 x 0.55 = 33.715, half to even
    }
    only = budget_rows(farm=place.farm, crop_year=2026, where=CostWhere(field="sand-60"))
    assert [row.budget_cents for row in only] == [3_372]


def test_a_budget_is_kept_once_and_changed_only_by_a_correction(place: Place) -> None:
    first = budget(place, "seed", "62.50")
    assert budget(place, "seed", "62.5") == first
    with pytest.raises(BudgetDiffers, match=r"seed of cotton 2026 is budgeted at 62\.50 an acre already"):
        budget(place, "seed", "60")
    assert budget(place, "seed", "60", corrects=True).correction_no == 1
    assert budget_rows(farm=place.farm, crop_year=2026)[0].budget_cents == 240_000


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"category": "sed"}, "'sed' is no category of Heron Slough."),
        ({"crop": "hops"}, "'hops' is no crop; known: cotton"),
        ({"crop_year": 26}, "The crop year 26 is not between 1990 and 2100."),
        ({"usd_per_ac": "-1"}, "A budget of -1 an acre is below zero."),
        ({"usd_per_ac": "1,5"}, "The amount '1,5' is not a plain number"),
        ({"usd_per_ac": "10000000000000"}, "is more than 10,000,000,000"),
        ({"crop": "corn", "season": True}, "is not corn of 2026 on Heron Slough."),
    ],
)
def test_a_budget_that_makes_no_sense_is_refused(place: Place, given: dict[str, object], says: str) -> None:
    if given.pop("season", False):
        given = {**given, "season": place.season}
    with pytest.raises(BudgetRefused) as refused:
        budget(place, **{"category": "seed", "usd_per_ac": "1", **given})  # type: ignore[arg-type]
    assert says in refused.value.says
    assert len(refused.value.fields) == 1
    assert not BudgetLine.objects.exists()


def test_budgets_come_from_a_file_once(
    place: Place, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "budgets.csv"
    path.write_bytes(
        f"\ufeff{HEADER},field\r\n2026,cotton,seed,62.50,\r\n2026,cotton,seed,70,pond-40\r\n\r\n".encode()
    )
    call_command("load_budgets", "--farm", place.farm.code, "--file", str(path))
    call_command("load_budgets", "--farm", place.farm.code, "--file", str(path))
    assert capsys.readouterr().out.splitlines() == [
        "budgets.csv: 2 new, 0 known before.",
        "budgets.csv: 0 new, 2 known before.",
    ]
    assert season_budgets(*of_year(place.farm)) == {("pond-40", "cotton"): 280_000}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            f"{HEADER}\n2026,cotton,seed,1\n2026,cotton,sed,2\n",
            "line 3, column category: 'sed' is no category",
        ),
        (f"{HEADER}\n26,cotton,seed,1\n", "line 2, column crop_year: '26' is not a year such as 2026."),
        (
            f"{HEADER},field\n2026,cotton,seed,1,pond-9\n",
            "line 2, column field: 'pond-9' has no cotton in 2026.",
        ),
        (f"{HEADER}\n2026,cotton,seed\n", "line 2: 3 cells where the header has 4."),
        (
            f"{HEADER}\n2026,cotton,seed,1\n2026,cotton,seed,2\n",
            "line 3, column usd_per_ac: seed of cotton 2026",
        ),
        ("crop,category\ncotton,seed\n", "line 1: the header is crop_year,crop,category,usd_per_ac"),
        (f"{HEADER}\n", "holds a header and no rows."),
        (f'{HEADER}\n2026,cotton,"seed,1\n', "line 2: unexpected end of data."),
    ],
)
def test_a_faulty_file_is_named_by_its_line_and_nothing_is_kept(
    place: Place, tmp_path: Path, text: str, says: str
) -> None:
    path = tmp_path / "budgets.csv"
    path.write_text(text)
    with pytest.raises(BudgetFileRefused) as refused:
        load_budgets(farm=place.farm, path=path, now=NOON)
    assert says in refused.value.says
    assert refused.value.says.startswith("budgets.csv")
    assert not BudgetLine.objects.exists()


def test_a_file_that_is_no_text_is_refused(place: Place, tmp_path: Path) -> None:
    path = tmp_path / "budgets.csv"
    path.write_bytes(f"{HEADER}\n2026,cotton,s\xe9ed,1\n".encode("latin-1"))
    with pytest.raises(CommandError, match="is not UTF-8 text"):
        call_command("load_budgets", "--farm", place.farm.code, "--file", str(path))
    with pytest.raises(CommandError, match=r"cannot be read: No such file"):
        call_command("load_budgets", "--farm", place.farm.code, "--file", str(tmp_path / "no.csv"))


def test_a_yield_is_kept_once_and_changed_only_by_a_correction(place: Place) -> None:
    row, is_new = enter_yield(season=place.season, quantity="48200", unit="lb", now=NOON)
    assert is_new
    again = enter_yield(season=place.season, quantity=Decimal("48200.000"), unit="lb", now=NOON)
    assert again == (row, False)
    with pytest.raises(YieldDiffers, match="brought in 48200 lb, as was entered before"):
        enter_yield(season=place.season, quantity="50000", unit="lb", now=NOON)
    enter_yield(
        season=place.season, quantity="50000.5", unit="lb", corrects=True, now=NOON + dt.timedelta(days=1)
    )
    found = season_yields(farm=place.farm, seasons=[place.season])[place.season.pk]
    assert (found.quantity, found.unit, found.is_expected) == (Decimal("50000.5"), "lb", False)


@pytest.mark.parametrize(
    ("quantity", "unit", "says"),
    [
        ("-1", "lb", "The yield -1 is below zero."),
        ("1e3", "lb", "The yield '1e3' is not a plain number"),
        ("NaN", "lb", "The yield 'NaN' is not a plain number"),
        ("1000000000", "lb", "more than nine digits"),
        ("1.0001", "lb", "three after the point"),
        ("1", "kg", "'kg' is no unit of a yield; known: lb, bu, ton, bale, cwt."),
    ],
)
def test_a_yield_that_makes_no_sense_is_refused(place: Place, quantity: str, unit: str, says: str) -> None:
    with pytest.raises(YieldRefused) as refused:
        enter_yield(season=place.season, quantity=quantity, unit=unit, now=NOON)
    assert says in refused.value.says
    assert not SeasonYield.objects.exists()


def test_break_even_follows_cost_budget_yield_and_price(place: Place) -> None:
    """40 ac x 1,200 lb = 48,000 lb. 24,000.00 / 48,000 = 0.50 a lb; 24,000.00 / 0.80 = 30,000 lb = 750.0 an acre."""
    LatePlantingFacts.objects.create(
        farm=place.farm,
        crop="cotton",
        yield_per_ac=Decimal(1200),
        yield_unit="lb",
        price_usd=Decimal("0.80"),
    )
    make_bill(place, "24000.00", category="land_rent", season=place.season)
    budget(place, "land_rent", "500")
    post_pending(now=NOON)
    (even,) = break_evens(farm=place.farm, crop_year=2026)
    assert (even.even_price_usd, even.even_yield_per_ac) == (Decimal("0.5000"), Decimal("750.0"))
    assert even.budget_cents == 2_000_000
    assert (even.budget_price_usd, even.budget_yield_per_ac) == (Decimal("0.4167"), Decimal("625.0"))
    enter_yield(season=place.season, quantity="120", unit="bale", now=NOON)
    (even,) = break_evens(farm=place.farm, crop_year=2026)
    assert (even.price_usd, even.even_yield_per_ac) == (None, None)  # the price is for pounds
    assert even.even_price_usd == 200


def test_budgets_and_break_even_are_taken_away_as_files(place: Place, tmp_path: Path) -> None:
    LatePlantingFacts.objects.create(
        farm=place.farm, crop="cotton", yield_per_ac=1200, yield_unit="lb", price_usd=Decimal("0.80")
    )
    make_bill(place, "24000.00", category="land_rent", season=place.season)
    make_bill(place, "-3.00", category="tires", season=place.season)
    budget(place, "land_rent", "500")
    post_pending(now=NOON)
    where = ["--farm", place.farm.code, "--crop-year", "2026"]
    path = tmp_path / "budgets.csv"
    call_command("export_costs", *where, "--what", "budgets", "--out", str(path))
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    assert rows[0][3:] == ["area_ac", "category", "actual_usd", "budget_usd", "difference_usd"]
    assert sorted(row[4:] for row in rows[1:]) == [
        ["land_rent", "24000.00", "20000.00", "4000.00"],
        ["tires", "-3.00", "", ""],
    ]
    even = tmp_path / "even.xlsx"
    call_command("export_costs", *where, "--what", "break-even", "--out", str(even))
    names, values = openpyxl.load_workbook(even)["Costs"].iter_rows(values_only=True)
    told = dict(zip(names, values, strict=True))
    assert told["cost_usd"] == 23_997
    assert told["even_price_usd_per_unit"] == pytest.approx(0.4999)  # 23,997 / 48,000 = 0.49993...
    assert told["even_yield_per_ac"] == pytest.approx(749.9)  # 23,997 / 0.80 / 40 = 749.90...
    assert told["budget_even_yield_per_ac"] == 625
    with pytest.raises(CommandError, match="no season of the crop year 2031"):
        call_command(
            "export_costs", *where[:3], "2031", "--what", "budgets", "--out", str(tmp_path / "no.csv")
        )
