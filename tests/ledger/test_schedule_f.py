"""The file for the preparer: payments of bills by the lines of the form, and nothing else whatever is booked."""

import csv
import datetime as dt
import hashlib
import io
import json
import uuid
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger.exports.schedule_f import COLUMNS, export_form, write_form
from ledger.models import Account, Category, CategoryMap, CategoryMapLine, Entry, FarmCategory, Line
from ledger.selectors.categories import shipped_categories
from ledger.selectors.chain import chain_head
from ledger.selectors.form_lines import form_rows, form_totals
from ledger.selectors.form_maps import FOLDER, MapsError, NoSuchMap, form_map, shipped_map
from ledger.selectors.pools import Pool, PoolKind
from ledger.services.bills import NewBillItem, pay_bill
from ledger.services.journal import reverse_entry
from ledger.services.landlords import charge_landlord, set_landlord_term
from ledger.services.machine_years import book_machine_years
from ledger.services.opening import enter_opening_stock
from ledger.services.periods import close_period
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.share_outs import share_out_pool
from scheduling.models import CareDone
from tests.factories import make_hand
from tests.ledger.makers import DAY, NEW_YEAR, NOON, Place, make_bill, make_place, make_work, use_input
from tests.ledger.test_fuel_posting import fill_up
from tests.ledger.test_machine_years import make_facts
from tests.scheduling.care_facts import make_rule

NEXT_YEAR = dt.datetime(2027, 1, 15, 16, tzinfo=dt.UTC)
YEARS_END = dt.date(2026, 12, 31)


def told(place: Place, year: int = 2026, **asked: object) -> list[tuple[str, str, int]]:
    rows = form_rows(farm=place.farm, tax_year=year, **asked)  # type: ignore[arg-type]
    return [(row.line, row.payee, row.cents) for row in rows]


def test_payments_stand_on_their_lines_by_the_day_they_were_paid(place: Place) -> None:
    """Lines of the form since 2011 from memory, as the map is marked: 13 custom hire, 25 repairs, 26 seeds."""
    make_bill(place, "300.00", category="repairs", number="R 1", paid_on=DAY, check_no="1001")
    make_bill(place, "1000.00", category="seed", number="S 1", paid_on=dt.date(2027, 1, 4), now=NEXT_YEAR)
    make_bill(
        place, "500.00", category="custom_work", number="C 1", bill_on=dt.date(2025, 12, 20), paid_on=DAY
    )
    make_bill(place, "70.00", category="fuel", number="F 1")
    assert told(place) == [("13", "Three Rivers Supply", 500_00), ("25", "Three Rivers Supply", 300_00)]
    assert told(place, 2027) == [("26", "Three Rivers Supply", 1_000_00)]
    first = form_rows(farm=place.farm, tax_year=2026)[1]
    assert (first.paid_on, first.check_no, first.bill_number, first.entity) == (
        "2026-04-20",
        "1001",
        "R 1",
        "",
    )


def test_the_lines_were_two_higher_until_2010(place: Place) -> None:
    """Instructions for Schedule F of 2008 and 2009, as read: custom hire on 15; since 2011 on 13, from memory."""
    make_bill(place, "500.00", category="custom_work", paid_on=DAY)
    assert [told(place, form_year=year)[0][0] for year in (2008, 2010, 2011, 2026)] == [
        "15",
        "15",
        "13",
        "13",
    ]
    for category in shipped_categories():
        new = form_map(farm=place.farm, code="schedule_f", form_year=2026).lines.get(category)
        old = form_map(farm=place.farm, code="schedule_f", form_year=2009).lines.get(category)
        assert (new is None) == (old is None)
        if new is not None and old is not None:
            assert int(old.line.rstrip("ab")) == int(new.line.rstrip("ab")) + 2
            assert old.label == new.label


def test_items_split_a_payment_and_what_is_on_no_line_stands_at_the_end(place: Place) -> None:
    """110.00 with 10.00 of sales tax by largest remainder: 66.67 and 33.33 get 6.67 and 3.33."""
    items = [NewBillItem("supplies", "66.67"), NewBillItem("machine", "33.33")]
    make_bill(place, "110.00", sales_tax_usd="10.00", items=items, paid_on=DAY)
    rows = form_rows(farm=place.farm, tax_year=2026)
    assert [(row.line, row.category, row.cents) for row in rows] == [
        ("28", "supplies", 73_34),
        ("", "machine", 36_66),
    ]
    assert rows[-1].label == "on no line of this form: the preparer says where"
    totals = form_totals(rows)
    assert [(one.line, one.cents) for one in totals] == [("28", 73_34), ("", 36_66)]
    assert sum(one.cents for one in totals) == 110_00


def test_costs_that_are_no_payments_have_no_line(place: Place) -> None:
    lines = form_map(farm=place.farm, code="schedule_f", form_year=2026).lines
    never = {"owner_time", "ownership", "machine", "implement", "lost_time", "overtime", "inputs"}
    assert set(shipped_categories()) - set(lines) == never


def test_a_corrected_bill_counts_once_and_a_reversed_payment_not_at_all(place: Place) -> None:
    wrong = make_bill(place, "300.00", category="repairs", number="R 1", paid_on=DAY)
    make_bill(place, "320.00", category="tires", number="R 1", supersedes=wrong)
    make_bill(place, "40.00", category="dues", number="D 1", paid_on=DAY)
    post_pending(now=NOON)
    assert told(place) == [("25", "Three Rivers Supply", 320_00), ("32", "Three Rivers Supply", 40_00)]
    paid = Entry.objects.get(payment__bill__number="D 1")
    reverse_entry(entry=paid, why="the check came back", now=NOON)
    assert told(place) == [("25", "Three Rivers Supply", 320_00)]


def test_remarks_name_what_the_preparer_should_look_at(place: Place) -> None:
    make_bill(place, "900.00", category="seed", number="S 1", crop_year=2027, paid_on=DAY)
    make_bill(place, "900.00", category="insurance", number="I 1", crop_year=2027, paid_on=DAY)
    make_bill(place, "-50.00", category="dues", number="D 1", paid_on=DAY)
    post_pending(now=NOON)
    reverse_entry(entry=Entry.objects.get(bill__number="I 1"), why="wrong year", now=NOON)
    remarks = {row.category: row.remark for row in form_rows(farm=place.farm, tax_year=2026)}
    assert remarks == {
        "seed": "paid ahead, for crop year 2027: the preparer says how much of it counts",
        "insurance": "the bill was reversed in the books, its payment was not",
        "dues": "credit or refund",
    }


def _owner(place: Place) -> None:
    owner = make_hand(place.farm, f"owner-{uuid.uuid4().hex[:8]}", is_owner=True)
    make_work(place, hand=owner, machine=None, implement=None, machine_min=0)


def _seed_used(place: Place) -> None:
    use_input(make_work(place), f"seed-{uuid.uuid4().hex[:6]}", "10", "lb", usd="4", category="seed")


def _opening(place: Place) -> None:
    enter_opening_stock(
        farm=place.farm,
        client_id=uuid.uuid4(),
        item=f"urea-{uuid.uuid4().hex[:6]}",
        category="fertilizer",
        quantity="10",
        unit="lb",
        amount_usd="50.00",
        on=NEW_YEAR,
        now=NOON,
    )


def _care(place: Place) -> None:
    CareDone.objects.create(
        farm=place.farm,
        client_id=uuid.uuid4(),
        rule=make_rule(place.machine, f"oil-{uuid.uuid4().hex[:6]}"),
        hand=place.hand,
        hand_min=50,
        parts="filter",
        parts_cents=86_40,
        done_at=NOON,
        recorded_at=NOON,
    )


def _unpaid(place: Place) -> None:
    make_bill(place, "77.00", machine=place.machine, category="repairs", number=uuid.uuid4().hex)


def _share(place: Place) -> None:
    make_bill(place, "12.00", category="insurance", number=uuid.uuid4().hex)
    post_pending(now=NOON)
    share_out_pool(
        farm=place.farm,
        client_id=uuid.uuid4(),
        pool=Pool(PoolKind.OVERHEAD, None, {}),
        shared_by="acres",
        crop_year=2026,
        first_on=NEW_YEAR,
        last_on=DAY,
        why="end of the month",
        now=NOON,
    )


def _landlord(place: Place) -> None:
    make_bill(place, "12.00", category="scouting", season=place.season, number=uuid.uuid4().hex)
    asked = {"season": place.season, "landlord": "Estate of Quill", "share_pct": "25", "now": NOON}
    set_landlord_term(farm=place.farm, **asked)
    charge_landlord(
        farm=place.farm,
        client_id=uuid.uuid4(),
        landlord="Estate of Quill",
        crop_year=2026,
        last_on=DAY,
        why="half year",
        now=NOON,
    )


def _reversal(place: Place) -> None:
    record = make_work(place)
    post_pending(now=NOON)
    reverse_entry(entry=Entry.objects.get(work_record=record), why="another field", now=NOON)


SOURCES: dict[str, Callable[[Place], object]] = {
    "machine hours, wages, burden and overtime": lambda place: make_work(place, overtime_min=60),
    "the owner's time": _owner,
    "seed out of stock": _seed_used,
    "opening stock": _opening,
    "a service with parts": _care,
    "a fill-up": lambda place: fill_up(place, "20.0"),
    "a bill that is not paid": _unpaid,
    "a share-out": _share,
    "a reversal": _reversal,
    "a landlord's part": _landlord,
    "capital recovery": lambda place: book_machine_years(farm=place.farm, year=2026, now=NEXT_YEAR),
}


@pytest.fixture
def whole(tmp_path: Path, place: Place) -> Place:
    """A farm with everything and three paid bills."""
    set_rate(farm=place.farm, kind="payroll_burden", usd_per_unit="0.0765", valid_from=NEW_YEAR, now=NOON)
    make_facts(place, machine=place.machine)
    make_bill(place, "300.00", machine=place.machine, category="repairs", number="R 1", paid_on=DAY)
    make_bill(place, "1000.00", category="seed", number="S 1", paid_on=DAY, check_no="1002")
    make_bill(place, "55.00", category="land_rent", number="L 1", season=place.season, paid_on=DAY)
    post_pending(now=NOON)
    return place


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(names=st.lists(st.sampled_from(sorted(SOURCES)), min_size=1, max_size=5))
@pytest.mark.long
def test_whatever_else_is_booked_changes_no_byte_of_the_file(
    whole: Place, tmp_path: Path, names: list[str]
) -> None:
    with transaction.atomic():
        write_form(farm=whole.farm, tax_year=2026, path=tmp_path / "before.csv")
        entries = Entry.objects.count()
        for name in names:
            SOURCES[name](whole)
            post_pending(now=NEXT_YEAR)
        assert Entry.objects.count() > entries or names == ["a fill-up"]
        write_form(farm=whole.farm, tax_year=2026, path=tmp_path / "after.csv")
        assert (tmp_path / "after.csv").read_bytes() == (tmp_path / "before.csv").read_bytes()
        transaction.set_rollback(True)


def test_everything_at_once_books_all_that_must_not_reach_it_and_reaches_nothing(
    whole: Place, tmp_path: Path
) -> None:
    before = told(whole)
    for make in SOURCES.values():
        make(whole)
    post_pending(now=NEXT_YEAR)
    close_period(farm=whole.farm, month=DAY, now=NEXT_YEAR)
    accounts = set(Line.objects.values_list("account", flat=True))
    assert {
        Account.LANDLORDS_OWE,
        Account.OWNER_TIME,
        Account.OWNERSHIP,
        Account.PAYROLL_OWED,
        Account.OPENING,
    } <= accounts
    categories = set(Line.objects.values_list("category", flat=True))
    assert {Category.MACHINE, Category.OWNER_TIME, Category.OWNERSHIP, Category.PAYROLL_BURDEN} <= categories
    assert told(whole) == before
    assert sum(cents for _line, _payee, cents in before) == 1_355_00
    with CaptureQueriesContext(
        connection,
    ) as queries:
        write_form(farm=whole.farm, tax_year=2026, path=tmp_path / "form.csv")
    assert queries.captured_queries
    assert not [query["sql"] for query in queries.captured_queries if "ledger_line" in query["sql"]]


def test_a_payment_does_change_it(whole: Place, tmp_path: Path) -> None:
    bill = make_bill(whole, "77.00", category="dues", number="D 1")
    path = tmp_path / "form.csv"
    write_form(farm=whole.farm, tax_year=2026, path=path)
    before = path.read_bytes()
    pay_bill(bill=bill, paid_on=DAY, now=NOON)
    write_form(farm=whole.farm, tax_year=2026, path=path)
    assert path.read_bytes() != before


def test_the_file_is_read_back_and_its_manifest_holds_the_head(whole: Place, tmp_path: Path) -> None:
    path = tmp_path / "form.csv"
    make_bill(whole, "5.00", payee="=HYPERLINK(1)", category="dues", number="-2+3", paid_on=DAY)
    facts = export_form(farm=whole.farm, tax_year=2026, path=path)
    rows = list(csv.DictReader(io.StringIO(path.read_bytes().decode(), newline="")))
    assert tuple(rows[0]) == COLUMNS
    assert [(row["line"], row["amount_usd"]) for row in rows] == [
        ("24b", "55.00"),
        ("25", "300.00"),
        ("26", "1000.00"),
        ("32", "5.00"),
    ]
    assert (rows[3]["payee"], rows[3]["bill_number"]) == ("'=HYPERLINK(1)", "'-2+3")
    assert {row["notice"] for row in rows} == {"not tax advice"}
    manifest = json.loads((tmp_path / "form.csv.manifest.json").read_text())
    assert manifest["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()
    assert manifest["digest_of_the_last_entry"] == chain_head(farm=whole.farm).digest
    assert "not tax advice" in manifest["period"]
    assert facts.sum_usd == "1360.00"


def test_a_farms_own_map_stands_over_what_ships(place: Place) -> None:
    FarmCategory.objects.create(farm=place.farm, code="bees", label="hives for pollination")
    make_bill(place, "80.00", category="bees", paid_on=DAY)
    assert told(place) == [("", "Three Rivers Supply", 80_00)]
    own = CategoryMap.objects.create(
        farm=place.farm, code="schedule_f", name="Schedule F, ours", form_year=2026
    )
    CategoryMapLine.objects.create(farm=place.farm, map=own, category="bees", line="32", label="Other: hives")
    assert told(place) == [("32", "Three Rivers Supply", 80_00)]
    assert told(place, form_year=2025) == [("", "Three Rivers Supply", 80_00)]


def test_a_form_that_nobody_mapped_is_refused(place: Place) -> None:
    with pytest.raises(NoSuchMap) as refused:
        form_rows(farm=place.farm, tax_year=2026, form_year=1999)
    assert refused.value.says == (
        f"{place.farm.name} has no map 'schedule_f' for the form of 1999; known: schedule_f from 2008 on."
    )
    with pytest.raises(NoSuchMap, match="no map 'elsewhere'"):
        form_rows(farm=place.farm, tax_year=2026, map_code="elsewhere")


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("2011,,25,Repairs,repairs,x", "line 3: repairs stands there twice for the form of 2011"),
        ("2011,2010,25,Repairs,tires,x", "line 3: years follow each other"),
        ("then,,25,Repairs,tires,x", "line 3: years of the form are whole numbers"),
        ("2011,,25,Repairs,tires,", "line 3: years follow each other, and no other cell is empty"),
    ],
)
def test_a_shipped_map_that_is_wrong_is_refused_with_its_line(tmp_path: Path, row: str, says: str) -> None:
    path = tmp_path / f"{uuid.uuid4()}.csv"
    head = (FOLDER / "schedule_f.csv").read_text().splitlines()[0]
    path.write_text(f"{head}\n2011,,25,Repairs,repairs,x\n{row}\n")
    with pytest.raises(MapsError, match=says):
        shipped_map(path)


def test_the_command_says_each_line_and_refuses_without_a_file(whole: Place, tmp_path: Path) -> None:
    out = io.StringIO()
    path = tmp_path / "form.csv"
    call_command("export_schedule_f", farm=whole.farm.code, year=2026, out=path, spreadsheet=True, stdout=out)
    assert path.read_bytes().startswith(b"\xef\xbb\xbftax_year,")
    assert "line 25, Repairs and maintenance: 300.00 dollars, 1 rows." in out.getvalue()
    assert f"{path}: 3 rows, 1355.00 dollars paid in 2026; not tax advice." in out.getvalue()
    with pytest.raises(CommandError, match="no map 'schedule_f' for the form of 1990"):
        call_command("export_schedule_f", farm=whole.farm.code, year=1990, out=tmp_path / "no.csv")
    with pytest.raises(CommandError, match="There is no folder"):
        call_command("export_schedule_f", farm=whole.farm.code, year=2026, out=tmp_path / "none" / "no.csv")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["form.csv", "form.csv.manifest.json"]


def test_another_farms_payments_are_not_here(place: Place) -> None:
    make_bill(make_place("fox-hollow"), "5.00", category="dues", paid_on=DAY)
    assert told(place) == []
    assert Decimal(0) == sum(row.cents for row in form_rows(farm=place.farm, tax_year=2026))
