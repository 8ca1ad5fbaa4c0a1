"""Bills from a file: all or nothing, unless the rest is wanted alone; what is wrong is named by line and column."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from ledger.models import Bill, BillItem, BillPayment, Payee
from ledger.services.bill_files import import_bills
from ledger.services.bill_rows import MOST_BYTES, BillsFileRefused
from ledger.services.entities import add_entity
from ledger.services.posting import post_pending
from ledger.services.verify import verify_ledger
from tests.ledger.makers import NOON, Place, make_place

HEAD = "payee,number,bill_on,amount_usd,category"
GOOD = f"""{HEAD}
Cane Road Tire,A-1,2026-04-20,212.60,tires
Palmetto Supply,,2026-04-20,10.00,supplies
Palmetto Supply,,2026-04-20,10.00,supplies
"""


def written(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "bills.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def test_a_file_enters_its_bills_once(place: Place, tmp_path: Path) -> None:
    path = written(tmp_path, GOOD)
    assert str(import_bills(farm=place.farm, path=path, now=NOON)) == "3 new, 0 known before, 0 refused"
    assert str(import_bills(farm=place.farm, path=path, now=NOON)) == "0 new, 3 known before, 0 refused"
    assert sorted(Bill.objects.values_list("cents", flat=True)) == [1_000, 1_000, 21_260]
    post_pending(now=NOON)
    assert verify_ledger().faults == []


def test_rows_of_one_invoice_are_lines_of_one_bill(place: Place, tmp_path: Path) -> None:
    add_entity(farm=place.farm, code="home", name="Home Place LLC")
    head = "payee,number,bill_on,amount_usd,category,item,lot,quantity,unit,machine,field,paid_on,check_no,entity,sales_tax_usd"
    text = f"""\ufeff{head}
Seed House,S-1,2026-04-20,9000.00,seed,cotton-seed,L-7,30,bag,,,2026-04-21,1043,home,90
Seed House,S-1,2026-04-20,100.00,repairs,,,,,tractor-1,,2026-04-21,1043,home,
Seed House,S-1,2026-04-20,40.00,custom_work,,,,,,pond-40,2026-04-21,1043,home,
Seed House,S-2,2026-04-20,-300.00,seed,cotton-seed,L-7,1,bag,,,,,,
"""
    assert import_bills(farm=place.farm, path=written(tmp_path, text), now=NOON).new == 2
    bill, credit = Bill.objects.order_by("id")
    assert (bill.cents, bill.sales_tax_cents, str(bill.entity)) == (914_000, 9_000, "Home Place LLC")
    items = bill.items.values_list("category", "cents", "machine__code", "season__field__code", "lot")
    assert list(items) == [
        ("seed", 900_000, None, None, "L-7"),
        ("repairs", 10_000, "tractor-1", None, ""),
        ("custom_work", 4_000, None, "pond-40", ""),
    ]
    assert (credit.cents, credit.items.get().quantity_e4) == (-30_000, 10_000)
    assert BillPayment.objects.get().check_no == "1043"


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("X,B-1,2026-04-20,12.00,yachts", "bills.csv, line 3, column category: 'yachts' is not a category of bills"),
        ("X,B-1,2026-04-20,12.345,other", "bills.csv, line 3, column amount_usd: The amount 12.345 has more than two"),
        ('X,B-1,2026-04-20,"12,50",other', "line 3, column amount_usd: The amount '12,50' is not a plain number"),
        ("X,B-1,2026-04-20,10000000000000.00,other", "line 3, column amount_usd: .* which no single line holds"),
        ("X,B-1,2026-04-20,0.00,other", "line 3, column amount_usd: A bill of .0.00 asks for nothing"),
        ("X,B-1,4/20/2026,12.00,other", "line 3, column bill_on: '4/20/2026' is not a date such as 2026-01-31"),
        ("X,B-1,2026-02-30,12.00,other", "line 3, column bill_on: '2026-02-30' is not a date"),
        ("X,B-1,2062-04-20,12.00,other", "line 3, column bill_on: day of the bill: 2062-04-20 is not between"),
        (",B-1,2026-04-20,12.00,other", "line 3, column payee: A bill names who is to be paid"),
        ("X,B-1,2026-04-20,12.00", "bills.csv, line 3: 4 cells where the header has 5"),
        ("Cane Road Tire,A-1,2026-04-21,12.00,other", "line 3, column number: Invoice A-1 of Cane Road Tire was entered"),
    ],
)  # fmt: skip
def test_a_faulty_row_is_named_and_nothing_of_the_file_is_entered(
    place: Place, tmp_path: Path, row: str, says: str
) -> None:
    path = written(tmp_path, f"{HEAD}\nCane Road Tire,A-1,2026-04-20,212.60,tires\n{row}\n")
    with pytest.raises(BillsFileRefused, match=says):
        import_bills(farm=place.farm, path=path, now=NOON)
    assert Bill.objects.count() == Payee.objects.count() == 0


@pytest.mark.parametrize(
    ("columns", "cells", "says"),
    [
        ("currency", "CAD", "line 2, column currency: The books are in US dollars"),
        ("quantity,unit", "-3,bag", "line 2, column quantity: Item 1 of the bill: the quantity -3 is below zero"),
        ("machine", "tractor-9", "line 2, column machine: Heron Slough has no machine 'tractor-9'; it has tractor-1"),
        ("entity", "nobody", "line 2, column entity: Heron Slough has no entity 'nobody'; it has none"),
        ("field", "nowhere", "line 2, column field: 'nowhere' has not one season of crop year 2026"),
        ("crop_year", "26", "line 2, column crop_year: '26' is not a year such as 2026"),
        ("shared_by", "hours", "line 2, column shared_by: A bill is shared at once by acres or equal"),
        ("paid_on", "soon", "line 2, column paid_on: 'soon' is not a date"),
    ],
)  # fmt: skip
def test_what_else_a_row_says_is_held_to_the_same(
    place: Place, tmp_path: Path, columns: str, cells: str, says: str
) -> None:
    path = written(tmp_path, f"{HEAD},{columns}\nX,B-1,2026-04-20,12.00,seed,{cells}\n")
    with pytest.raises(BillsFileRefused, match=says):
        import_bills(farm=place.farm, path=path, now=NOON)
    assert Bill.objects.count() == BillItem.objects.count() == 0


def test_with_partial_what_is_right_is_entered_and_what_is_not_is_named(place: Place, tmp_path: Path) -> None:
    text = f"{GOOD}X,B-1,2026-04-20,12.00,yachts\nX,B-2,2026-04-20,12.00,other\n"
    path = written(tmp_path, text)
    report = import_bills(farm=place.farm, path=path, partial=True, now=NOON)
    assert str(report) == "4 new, 0 known before, 1 refused"
    assert report.refused[0].startswith("bills.csv, line 5, column category: 'yachts'")
    assert not Bill.objects.filter(number="B-1").exists()


def test_lines_of_one_bill_say_the_same_about_it(place: Place, tmp_path: Path) -> None:
    text = f"{HEAD},check_no\nX,B-1,2026-04-20,12.00,other,7\nX,B-1,2026-04-20,12.00,other,8\n"
    with pytest.raises(BillsFileRefused, match="line 3, column check_no: line 2 of the same bill says '7'"):
        import_bills(farm=place.farm, path=written(tmp_path, text), now=NOON)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (GOOD.encode("utf-16"), r"bills.csv is UTF-16 text; save it as CSV in UTF-8"),
        (
            GOOD.replace("Palmetto", "Peña").encode("cp1252"),
            r"is not UTF-8 text \(byte \d+\), maybe Windows-1252",
        ),
        (GOOD.replace(",", ";").encode(), "line 1: cells are set apart by semicolons"),
        (b"payee,bill_on\n", "line 1: the header does not fit .missing amount_usd, category"),
        (f"{HEAD},hue\n".encode(), "not known 'hue'"),
        (f"{HEAD},payee\n".encode(), "a column twice"),
        (f"{HEAD}\n".encode(), "holds a header and no rows"),
        (b"payee\0,", "holds zero bytes"),
        (f'{HEAD}\n"Cane'.encode(), "line 2: unexpected end of data"),
        (b"x" * (MOST_BYTES + 1), "has more than 20 MB"),
    ],
    ids=["utf-16", "windows", "semicolons", "short", "strange", "twice", "empty", "zero", "quote", "big"],
)
def test_a_file_that_cannot_be_read_is_refused_with_a_sentence(
    place: Place, tmp_path: Path, content: bytes, says: str
) -> None:
    with pytest.raises(BillsFileRefused, match=says):
        import_bills(farm=place.farm, path=written(tmp_path, content), partial=True, now=NOON)


def test_the_command_tells_what_it_entered_and_fails_where_something_was_refused(
    place: Place, tmp_path: Path
) -> None:
    out = StringIO()
    call_command("import_bills", str(written(tmp_path, GOOD)), "--farm", place.farm.code, stdout=out)
    assert out.getvalue() == "bills.csv: 3 new, 0 known before, 0 refused.\n"
    bad = written(tmp_path, f"{HEAD}\nX,B-1,2026-04-20,12.00,yachts\nX,B-2,2026-04-20,1.00,other\n")
    with pytest.raises(CommandError, match="line 2, column category"):
        call_command("import_bills", str(bad), "--farm", place.farm.code, "--partial", stdout=out)
    assert Bill.objects.filter(number="B-2").exists()
    for words, says in (
        ([str(tmp_path / "none.csv"), "--farm", place.farm.code], "cannot be read: No such file"),
        ([str(bad), "--farm", "nowhere"], "No farm has the code 'nowhere'"),
        ([str(bad)], "--farm"),
    ):
        with pytest.raises(CommandError, match=says):
            call_command("import_bills", *words)


def test_the_codes_of_a_file_are_those_of_its_farm(place: Place, tmp_path: Path) -> None:
    other = make_place("other-bend")
    other.machine.code = "only-there"
    other.machine.save()
    path = written(tmp_path, f"{HEAD},machine\nX,B-1,2026-04-20,12.00,repairs,only-there\n")
    with pytest.raises(BillsFileRefused, match="Heron Slough has no machine 'only-there'"):
        import_bills(farm=place.farm, path=path, now=NOON)
