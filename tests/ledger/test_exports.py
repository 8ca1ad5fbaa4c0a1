"""Files that a bookkeeper takes away: the rows of the ledger, to the cent, the same bytes each time."""

import csv
import io
import zipfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.db.models import Sum
from hypothesis import given
from hypothesis import strategies as st

from ledger.exports.cells import FORMULA_STARTS, text_cell, text_from_cell
from ledger.exports.field_costs import COLUMNS, write_csv, write_field_costs, write_xlsx
from ledger.exports.whole import ExportRefused
from ledger.models import Account, Entry, Line, Rate
from ledger.selectors.costs import costs_by_field, crop_years, field_costs
from ledger.selectors.lines import lines_of_field
from ledger.selectors.pools import ledger_totals, pool_costs
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from scheduling.models import InputUse
from tests.factories import make_field, make_hand, make_pass, make_season
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_bill, make_place, make_work, use_input

HEADER = "crop_year,field,crop,area_ac,category,quantity,unit,amount_usd,usd_per_ac"


@pytest.fixture
def worked(place: Place) -> Place:
    """A farm with two fields, an owner, inputs, a puncture's bill, a credit and another farm beside it."""
    record = make_work(place, overtime_min=45, hand_min=317, machine_min=281)
    use_input(record, "cotton-seed", "8.125", "bag", usd="275.50", category="seed")
    second = make_season(make_field(place.farm, "sand-60", planted_ac=Decimal("61.30")), crop="peanuts")
    owner = make_hand(place.farm, "marlene", is_owner=True)
    make_work(place, field_pass=make_pass(second), hand=owner)
    make_bill(place, "412.37", category="tires", season=second)
    make_bill(place, "-18.40", category="chemicals", season=second)
    make_bill(place, "950.00", category="repairs", machine=place.machine)
    make_bill(place, "77.00", category="insurance")
    old = make_season(place.season.field, crop_year=2025, crop="corn")
    make_bill(place, "5.00", category="scouting", season=old)
    other = make_place("other-bend")
    make_work(other)
    post_pending(now=NOON)
    return place


def read_csv(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_bytes().decode("utf-8"), newline="")))


def ledger_cents(place: Place, crop_year: int = 2026) -> int:
    lines = Line.objects.filter(farm=place.farm, account=Account.SEASON, season__crop_year=crop_year)
    return int(lines.aggregate(cents=Sum("cents"))["cents"])


def test_the_csv_holds_the_ledger_to_the_cent(worked: Place, tmp_path: Path) -> None:
    path = tmp_path / "costs.csv"
    write_csv(farm=worked.farm, crop_year=2026, path=path)
    text = path.read_bytes()
    assert text.splitlines()[0].decode() == HEADER == ",".join(COLUMNS)
    assert text.count(b"\r\n") == text.count(b"\n")
    assert not text.startswith(b"\xef\xbb\xbf")
    rows = read_csv(path)
    assert sum(Decimal(row["amount_usd"]) for row in rows) * 100 == ledger_cents(worked)
    for row in rows:
        per_acre = Decimal(row["amount_usd"]) / Decimal(row["area_ac"])
        assert abs(per_acre - Decimal(row["usd_per_ac"])) <= Decimal("0.005")
    seed = next(row for row in rows if row["category"] == "seed")
    assert seed == {
        "crop_year": "2026",
        "field": "pond-40",
        "crop": "cotton",
        "area_ac": "40.00",
        "category": "seed",
        "quantity": "8.125",
        "unit": "bag",
        "amount_usd": "2238.44",
        "usd_per_ac": "55.96",
    }
    labor = next(row for row in rows if row["category"] == "labor")
    assert (labor["quantity"], labor["unit"], labor["amount_usd"]) == ("5.283", "h", "95.10")
    credit = next(row for row in rows if row["category"] == "chemicals")
    assert (credit["amount_usd"], credit["usd_per_ac"], credit["quantity"]) == ("-18.40", "-0.30", "")


def test_the_workbook_has_typed_cells_and_totals_that_equal_the_rows(worked: Place, tmp_path: Path) -> None:
    path = tmp_path / "costs.xlsx"
    rows = write_xlsx(farm=worked.farm, crop_year=2026, path=path)
    book = openpyxl.load_workbook(path)
    costs = list(book["Costs"].iter_rows(values_only=True))
    assert costs[0] == COLUMNS
    assert len(costs) - 1 == len(rows) > 8
    cents = 0
    for cells, row in zip(costs[1:], rows, strict=True):
        assert isinstance(cells[0], int)
        assert isinstance(cells[7], int | float)
        assert (cells[1], cells[2], cells[4]) == (row.field, row.crop, row.category)
        cents += round(Decimal(str(cells[7])) * 100)
    assert cents == ledger_cents(worked)

    totals = {(row[0], row[1]): row for row in book["Totals"].iter_rows(values_only=True)}
    assert cents_in(totals["all fields", None][3]) == cents
    by_field = [cents_in(row[3]) for row in totals.values() if isinstance(row[2], int | float)][:-1]
    assert len(by_field) == 2
    assert sum(by_field) == cents
    by_name = {row[0]: row[1] for row in book["Totals"].iter_rows(values_only=True)}
    assert cents_in(by_name["tires"]) == 41_237
    about = dict(book["About"].iter_rows(values_only=True))
    last = Entry.objects.filter(farm=worked.farm).latest("number")
    assert about["digest of the last entry"] == last.hash
    assert about["entries in the books"] == str(last.number)
    assert about["rows"] == str(len(rows))
    assert Decimal(about["sum_usd"]) * 100 == cents
    assert (about["farm"], about["zone"], about["period"]) == (
        "heron-slough",
        worked.farm.zone,
        "crop year 2026",
    )


def cents_in(cell: Any) -> int:
    return round(Decimal(str(cell)) * 100)


def test_what_is_not_on_these_fields_stands_beside_them_and_all_is_zero(
    worked: Place, tmp_path: Path
) -> None:
    path = tmp_path / "costs.xlsx"
    write_xlsx(farm=worked.farm, crop_year=2026, path=path)
    rest = {
        row[0]: row for row in openpyxl.load_workbook(path)["Rest of the ledger"].iter_rows(values_only=True)
    }
    assert cents_in(rest["fields, crop year 2026"][1]) == ledger_cents(worked)
    assert cents_in(rest["fields, other crop years"][1]) == 500
    assert cents_in(rest["the farm as a whole"][1]) == 7_700
    assert rest["all of it together"][1] == 0
    assert cents_in(rest["tractor-1"][2]) == 95_000

    totals = ledger_totals(farm=worked.farm, crop_year=2026)
    assert totals.difference_cents == 0
    assert totals.season_cents == ledger_cents(worked)
    pools = {pool.code: pool for pool in pool_costs(farm=worked.farm)}
    assert pools["tractor-1"].bills_cents == 95_000
    charged = Line.objects.filter(
        farm=worked.farm, account="season", category__in=["machine", "lubricants"]
    ).aggregate(cents=Sum("cents"))
    assert pools["tractor-1"].charged_cents == charged["cents"]
    assert sum(pool.left_cents for pool in pools.values()) == dict(totals.by_account)[Account.MACHINE_POOL]


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_the_same_books_give_the_same_bytes(worked: Place, tmp_path: Path, suffix: str) -> None:
    first, second = tmp_path / f"a.{suffix}", tmp_path / f"b.{suffix}"
    write_field_costs(farm=worked.farm, crop_year=2026, path=first)
    write_field_costs(farm=worked.farm, crop_year=2026, path=second)
    assert first.read_bytes() == second.read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == [first.name, second.name]


def test_the_workbook_names_no_user_and_no_clock(worked: Place, tmp_path: Path) -> None:
    path = tmp_path / "costs.xlsx"
    write_xlsx(farm=worked.farm, crop_year=2026, path=path)
    with zipfile.ZipFile(path) as packed:
        core = packed.read("docProps/core.xml").decode()
        assert {info.date_time[0] for info in packed.infolist()} == {1980}
    assert "<dc:creator></dc:creator>" in core
    assert core.count("2026-01-01T00:00:00Z") == 2


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_text_never_becomes_a_formula(start: str) -> None:
    """OWASP, CSV injection, with the full-width forms."""
    assert text_cell(f"{start}cmd") == f"'{start}cmd"
    assert text_cell(f"cmd{start}") == f"cmd{start}"


@given(st.text(alphabet="'=+-@ab\t＝", max_size=6))
def test_what_was_done_to_a_text_can_be_undone(text: str) -> None:
    assert text_from_cell(text_cell(text)) == text
    assert not text_cell(text).startswith(FORMULA_STARTS)


def test_a_field_with_a_formula_for_a_part_stays_text(place: Place, tmp_path: Path) -> None:
    """A unit that only an older version let in: entering one is refused now."""
    Rate.objects.create(
        farm=place.farm,
        kind="input",
        input_code="lime",
        unit="=1+1",
        price_e4=20_000,
        valid_from=NEW_YEAR,
        entered_at=NOON,
    )
    InputUse.objects.create(
        farm=place.farm, work_record=make_work(place), input_code="lime", quantity=Decimal(3), unit="=1+1"
    )
    post_pending(now=NOON)
    write_csv(farm=place.farm, crop_year=2026, path=tmp_path / "a.csv")
    assert [row["unit"] for row in read_csv(tmp_path / "a.csv") if row["category"] == "inputs"] == ["'=1+1"]
    write_xlsx(farm=place.farm, crop_year=2026, path=tmp_path / "a.xlsx")
    with zipfile.ZipFile(tmp_path / "a.xlsx") as packed:
        assert all(b"<f>" not in packed.read(name) for name in packed.namelist())


def test_a_file_of_another_kind_or_place_is_refused(place: Place, tmp_path: Path) -> None:
    with pytest.raises(ExportRefused, match=r"ends in \.csv or \.xlsx"):
        write_field_costs(farm=place.farm, crop_year=2026, path=tmp_path / "costs.ods")
    with pytest.raises(ExportRefused, match="There is no folder"):
        write_field_costs(farm=place.farm, crop_year=2026, path=tmp_path / "no" / "costs.csv")
    with pytest.raises(ExportRefused, match=r"has no season of the crop year 2062; known: 2026\."):
        write_field_costs(farm=place.farm, crop_year=2062, path=tmp_path / "costs.csv")
    with pytest.raises(ExportRefused, match="cannot be written: File name too long"):
        write_field_costs(farm=place.farm, crop_year=2026, path=tmp_path / f"{'x' * 300}.csv")
    assert list(tmp_path.iterdir()) == []
    for name in ("folder.csv", "folder.xlsx"):
        (tmp_path / name).mkdir()
        with pytest.raises(ExportRefused, match=rf"{name} cannot be written: Is a directory"):
            write_field_costs(farm=place.farm, crop_year=2026, path=tmp_path / name)
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["folder.csv", "folder.xlsx"]


def test_an_export_that_fails_leaves_the_old_file(
    worked: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "costs.csv"
    path.write_text("yesterday's")
    monkeypatch.setattr("ledger.exports.field_costs.text_cell", lambda text: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        write_csv(farm=worked.farm, crop_year=2026, path=path)
    assert path.read_text() == "yesterday's"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_who_reads_the_old_file_meanwhile_reads_it_to_its_end(
    worked: Place, tmp_path: Path, suffix: str
) -> None:
    path = tmp_path / f"costs{suffix}"
    path.write_text("yesterday's")
    with path.open() as old:
        write_field_costs(farm=worked.farm, crop_year=2026, path=path)
        assert old.read() == "yesterday's"
    assert path.stat().st_size > 100


def test_a_farm_without_costs_gives_a_header(place: Place, tmp_path: Path) -> None:
    write_csv(farm=place.farm, crop_year=2031, path=tmp_path / "a.csv")
    assert (tmp_path / "a.csv").read_bytes() == f"{HEADER}\r\n".encode()
    write_xlsx(farm=place.farm, crop_year=2031, path=tmp_path / "a.xlsx")
    assert openpyxl.load_workbook(tmp_path / "a.xlsx")["Costs"].max_row == 1


def test_the_pages_see_each_field_with_total_and_categories(worked: Place) -> None:
    costs = costs_by_field(farm=worked.farm, crop_year=2026)
    assert [cost.field for cost in costs] == ["pond-40", "sand-60"]
    assert sum(cost.total_cents for cost in costs) == ledger_cents(worked)
    sand = costs[1]
    assert sand.owner_time_cents == 9_000
    assert sand.by_category[0][1] >= sand.by_category[-1][1] == -1_840
    assert sand.usd_per_ac == (sand.total_usd / Decimal("61.30")).quantize(Decimal("0.01"))
    assert crop_years(farm=worked.farm) == [2026, 2025]
    empty = costs_by_field(farm=worked.farm, crop_year=2025)[0]
    assert (empty.total_cents, empty.crop) == (500, "corn")


def test_every_amount_of_a_field_opens_to_its_lines_source_and_price(worked: Place) -> None:
    lines = lines_of_field(farm=worked.farm, field=worked.season.field, crop_year=2026)
    rows = field_costs(farm=worked.farm, crop_year=2026)
    assert sum(line.cents for line in lines) == sum(row.cents for row in rows if row.field == "pond-40")
    labor = next(line for line in lines if line.category == "labor")
    assert labor.source_says == "Imani: disk on 2026-04-20"
    assert labor.price_from == "wage of all from 2026-01-01"
    assert labor.price_usd == 18
    assert labor.happened_on == DAY
    tires = lines_of_field(farm=worked.farm, field=_field(worked, "sand-60"), crop_year=2026)
    assert "bill of Three Rivers Supply 2026-04-20" in {line.source_says for line in tires}


def test_a_line_that_was_undone_says_by_which_entry(place: Place) -> None:
    make_bill(place, "20.00", category="scouting", season=place.season)
    post_pending(now=NOON)
    reverse_entry(entry=Entry.objects.get(), why="another farm's", now=NOON)
    lines = lines_of_field(farm=place.farm, field=place.season.field, crop_year=2026)
    assert [(line.cents, line.reversed_by) for line in lines] == [(2_000, 2), (-2_000, None)]
    assert lines[1].source_says == "entry 1 reversed: another farm's"


def test_a_credit_lessens_the_bills_of_a_pool_and_an_undone_charge_what_was_charged(place: Place) -> None:
    make_bill(place, "100.00", category="repairs", machine=place.machine)
    make_bill(place, "-30.00", category="repairs", machine=place.machine)
    record = make_work(place)
    post_pending(now=NOON)
    reverse_entry(entry=Entry.objects.get(work_record=record), why="typed twice", now=NOON)
    pools = {pool.code: pool for pool in pool_costs(farm=place.farm)}
    assert (pools["tractor-1"].bills_cents, pools["tractor-1"].charged_cents) == (7_000, 0)


def _field(place: Place, code: str) -> Any:
    return next(
        cost.season.field for cost in costs_by_field(farm=place.farm, crop_year=2026) if cost.field == code
    )
