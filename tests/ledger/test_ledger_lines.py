"""Lines of a year as a file: streamed by the database, and what Python would have written to the byte."""

import csv
import datetime as dt
import hashlib
import io
import json
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from ledger.costing.money import usd_text
from ledger.exports.about import manifest_path
from ledger.exports.csv_forms import PLAIN, SEMICOLON, SPREADSHEET, CsvForm
from ledger.exports.ledger_files import write_lines
from ledger.exports.ledger_lines import COLUMNS, line_text
from ledger.exports.whole import ExportRefused
from ledger.models import Entry, Line, Rate
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from scheduling.models import InputUse
from tests.ledger.makers import NEW_YEAR, NOON, Place, make_bill, make_place, make_work, use_input

HOSTILE = ('=1+1;"a",b', "'quoted", "@cmd", "plain, with comma", "＝wide", "ends in space ", "+", "ñandú é")


@pytest.fixture
def worked(place: Place) -> Place:
    """Work, an input of a unit only older versions let in, bills of every sort, another year and another farm."""
    use_input(make_work(place, overtime_min=45), "cotton-seed", "8.125", "bag", usd="275.50", category="seed")
    Rate.objects.create(
        farm=place.farm,
        kind="input",
        input_code="lime",
        unit="=1+1",
        price_e4=20_000,
        valid_from=NEW_YEAR,
        entered_at=NOON,
    )
    lime = make_work(place)
    InputUse.objects.create(
        farm=place.farm, work_record=lime, input_code="lime", quantity=Decimal("3.125"), unit="=1+1"
    )
    for number, name in enumerate(HOSTILE):
        make_bill(place, f"{number}.0{number + 1}", category="freight", season=place.season, payee=name)
    make_bill(place, "-0.05", category="chemicals", season=place.season)
    make_bill(place, "5.00", category="scouting", season=place.season, bill_on=dt.date(2025, 12, 31))
    make_work(make_place("other-bend"))
    post_pending(now=NOON)
    for entry, why in zip(
        Entry.objects.filter(farm=place.farm, booked_on__year=2026)[:8], HOSTILE, strict=True
    ):
        reverse_entry(entry=entry, why=f"{why}\r\nand more", now=NOON)
    return place


def by_hand(place: Place, form: CsvForm) -> bytes:
    """Return the file as Python writes it from rows of the ORM."""
    file = io.StringIO(newline="")
    if form.has_bom:
        file.write("\ufeff")
    writer = csv.writer(file, delimiter=form.delimiter, lineterminator="\r\n")
    writer.writerow(column.name for column in COLUMNS)
    lines = Line.objects.filter(farm=place.farm, entry__booked_on__year=2026).select_related("entry")

    def number(scaled: int | None, places: int) -> str:
        return (
            ""
            if scaled is None
            else f"{Decimal(scaled).scaleb(-places):.{places}f}".replace(".", form.decimal_mark)
        )

    for line in lines.order_by("entry__number", "line_no"):
        entry = line.entry
        assert number(line.cents, 2) == usd_text(line.cents).replace(".", form.decimal_mark)
        writer.writerow(
            [
                entry.number,
                line.line_no,
                entry.happened_on.isoformat(),
                entry.booked_on.isoformat(),
                entry.source_kind,
                line_text(entry.source_key),
                line_text(entry.why),
                line.account,
                line_text(line.subject),
                line_text(line.outfit),
                line_text(line.operation),
                line_text(line.category),
                line_text(line.item),
                line_text(line.lot),
                number(line.quantity_e4, 4),
                line_text(line.unit),
                number(line.price_e4, 4),
                number(line.cents, 2),
                line_text(line.says),
            ]
        )
    return file.getvalue().encode()


@pytest.mark.parametrize("form", [PLAIN, SPREADSHEET, SEMICOLON], ids=["plain", "spreadsheet", "semicolon"])
def test_the_database_writes_what_python_would_to_the_byte(
    worked: Place, tmp_path: Path, form: CsvForm
) -> None:
    path = tmp_path / "lines.csv"
    about = write_lines(farm=worked.farm, year=2026, path=path, form=form)
    assert path.read_bytes() == by_hand(worked, form)
    text = path.read_bytes().decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text, newline=""), delimiter=form.delimiter))
    amounts = [Decimal(row["amount_usd"].replace(form.decimal_mark, ".")) for row in rows]
    assert len(rows) == about.row_count > 40
    assert sum(amounts) == Decimal(about.sum_usd) == 0
    assert "-0.05".replace(".", form.decimal_mark) in {row["amount_usd"] for row in rows}
    assert {row["why"][:2] for row in rows} >= {"'=", "''", "'@", "'＝", "'+"}
    assert {row["unit"] for row in rows} >= {"'=1+1", "min", "bag"}
    assert not any(row["happened_on"].startswith("2025") for row in rows)


def test_the_year_before_has_its_own_file(worked: Place, tmp_path: Path) -> None:
    path = tmp_path / "lines.csv"
    about = write_lines(farm=worked.farm, year=2025, path=path)
    assert about.row_count == path.read_text().count("\n") - 1 == 2
    assert write_lines(farm=worked.farm, year=2031, path=path).row_count == 0
    assert path.read_text() == ",".join(column.name for column in COLUMNS) + "\n"


def test_the_workbook_of_lines_is_typed_and_its_totals_are_the_ledgers(worked: Place, tmp_path: Path) -> None:
    path, again = tmp_path / "lines.xlsx", tmp_path / "again.xlsx"
    about = write_lines(farm=worked.farm, year=2026, path=path)
    write_lines(farm=worked.farm, year=2026, path=again)
    assert path.read_bytes() == again.read_bytes()
    book = openpyxl.load_workbook(path)
    names, *rows = book["Lines"].iter_rows(values_only=True)
    assert names == tuple(column.name for column in COLUMNS)
    assert len(rows) == about.row_count
    cells = [dict(zip(names, row, strict=True)) for row in rows]
    assert {type(cell["happened_on"]) for cell in cells} == {dt.datetime}
    sums: dict[str, Decimal] = {}
    for cell in cells:
        account = str(cell["account"])
        sums[account] = sums.get(account, Decimal(0)) + Decimal(str(cell["amount_usd"]))
    totals = {row[0]: Decimal(str(row[1])) for row in book["Totals"].iter_rows(values_only=True)}
    assert totals == sums
    assert sum(totals.values()) == 0
    assert dict(book["About"].iter_rows(values_only=True))["rows"] == str(len(rows))


def test_a_workbook_that_a_sheet_cannot_hold_is_refused(
    worked: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ledger.exports.ledger_lines_workbook.MOST_ROWS", 3)
    with pytest.raises(ExportRefused, match=r"2026 has [0-9]+ lines, a sheet holds 3; write it as \.csv"):
        write_lines(farm=worked.farm, year=2026, path=tmp_path / "lines.xlsx")
    assert list(tmp_path.iterdir()) == []


def test_what_is_booked_while_a_file_is_written_is_not_in_it(
    worked: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file ends at the head that it names."""
    before = by_hand(worked, PLAIN)
    import ledger.exports.ledger_lines as exported  # noqa: PLC0415  (to be changed for this test)

    named = exported.head_of

    def head_then_more(**given: object) -> object:
        head = named(**given)  # type: ignore[arg-type]
        make_bill(worked, "9.99", category="freight", season=worked.season)
        post_pending(now=NOON)
        return head

    monkeypatch.setattr(exported, "head_of", head_then_more)
    about = write_lines(farm=worked.farm, year=2026, path=tmp_path / "lines.csv")
    assert (tmp_path / "lines.csv").read_bytes() == before
    assert Entry.objects.filter(farm=worked.farm).latest("number").number > about.head.number


def test_the_command_writes_the_file_and_its_manifest(
    worked: Place, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "lines.csv"
    where = ["--farm", worked.farm.code, "--out", str(path)]
    call_command("export_costs", *where, "--what", "lines", "--year", "2026", "--spreadsheet")
    told = json.loads(manifest_path(path).read_text())
    body, last = path.read_bytes(), Entry.objects.filter(farm=worked.farm).latest("number")
    assert body.startswith(b"\xef\xbb\xbf")
    assert told["sha256"] == hashlib.sha256(body).hexdigest()
    assert told["bytes"] == str(len(body))
    assert told["digest_of_the_last_entry"] == last.hash
    assert told["posted_at_of_the_last_entry"] == "2026-04-20T16:00:00Z"
    assert (told["version"], told["period"], told["sum_usd"]) == ("lines/1", "2026", "0.00")
    assert f"{told['rows']} lines booked in 2026, together 0.00 dollars." in capsys.readouterr().out
    first = manifest_path(path).read_bytes()
    call_command("export_costs", *where, "--what", "lines", "--year", "2026", "--spreadsheet")
    assert manifest_path(path).read_bytes() == first


def test_costs_are_cut_as_the_command_is_told(worked: Place, tmp_path: Path) -> None:
    path = tmp_path / "cut.csv"
    where = ["--farm", worked.farm.code, "--crop-year", "2026"]
    call_command("export_costs", *where, "--by", "field,category,month", "--out", str(path))
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    season = Line.objects.filter(farm=worked.farm, account="season", season__crop_year=2026)
    assert sum(Decimal(row["amount_usd"]) for row in rows) * 100 == sum(line.cents for line in season)
    assert {row["month"] for row in rows} == {"2025-12", "2026-04"}
    assert list(rows[0])[:5] == ["crop_year", "field", "category", "month", "area_ac"]
    assert json.loads(manifest_path(path).read_text())["version"] == "cut-costs/1"
    call_command("export_costs", *where, "--by", "category", "--out", str(tmp_path / "cut.xlsx"))
    sheet = list(openpyxl.load_workbook(tmp_path / "cut.xlsx")["Costs"].iter_rows(values_only=True))
    assert sheet[-1][1] == "all together"
    assert sum(Decimal(str(row[3])) for row in sheet[1:-1]) == Decimal(str(sheet[-1][3]))
    semicolon = tmp_path / "semicolon.csv"
    call_command(
        "export_costs", *where, "--by", "field", "--spreadsheet", "--semicolon", "--out", str(semicolon)
    )
    name, row = semicolon.read_text(encoding="utf-8-sig").splitlines()
    assert name.startswith("crop_year;field;area_ac;amount_usd")
    assert row.startswith("2026;pond-40;40,00;")


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (["--what", "lines", "--out", "a.csv"], "Give --year: which year's lines."),
        (["--out", "a.csv"], "Give --crop-year: which year's costs."),
        (["--what", "lines", "--year", "26", "--out", "a.csv"], "The year 26 is not between 1990 and 2100."),
        (["--what", "lines", "--year", "2026", "--out", "a.ods"], "a.ods: the name ends in .csv or .xlsx"),
        (["--crop-year", "2026", "--by", "color", "--out", "a.csv"], "Costs are not told by 'color'"),
        (["--crop-year", "2026", "--by", "crop", "--out", "a.ods"], "a.ods: the name ends in .csv or .xlsx"),
        (["--crop-year", "2062", "--by", "crop", "--out", "a.csv"], "no season of the crop year 2062"),
        (["--crop-year", "2026", "--semicolon", "--out", "a.csv"], "--semicolon goes with --spreadsheet"),
    ],
)
def test_the_command_says_what_it_cannot_do(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, given: list[str], says: str
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(CommandError) as refused:
        call_command("export_costs", "--farm", place.farm.code, *given)
    assert says in str(refused.value)
    assert list(tmp_path.iterdir()) == []
