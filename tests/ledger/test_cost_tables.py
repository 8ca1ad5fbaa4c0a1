"""Costs cut by field, crop, operation, category, machine and month; every cell is the sum of its lines."""

import copy
import itertools
from decimal import Decimal
from typing import Any

import pytest
from django.db.models import Sum

from farmops.farms.models import LatePlantingFacts
from ledger.models import Account, Line, SeasonYield
from ledger.selectors.cost_cells import CostWhere, Dimension, NoSuchCell, dimensions, where_from
from ledger.selectors.cost_tables import CostTable, CostTables, cost_table
from ledger.selectors.costs import field_costs
from ledger.selectors.lines import cell_sum, lines_of_cell, page_of_cell
from ledger.services.posting import post_pending
from tests.factories import make_field, make_hand, make_machine, make_pass, make_season
from tests.laying import Lay
from tests.ledger.makers import DAY, NOON, Place, make_bill, make_place, make_work, use_input

FIELD, CROP, OPERATION, CATEGORY, MACHINE, MONTH = Dimension


@pytest.fixture(scope="module")
def worked_of_the_file(laid_once: Lay) -> Place:
    return laid_once(make_worked)


@pytest.fixture
def worked(worked_of_the_file: Place, db: None) -> Place:
    return copy.deepcopy(worked_of_the_file)


def make_worked() -> Place:
    """Make two fields with two crops, two tractors, two operations, two months, a bill, a credit, and another farm."""
    place = make_place()
    use_input(make_work(place, overtime_min=45), "cotton-seed", "8.125", "bag", usd="275.50", category="seed")
    second = make_season(
        make_field(place.farm, "sand-60", name="Sand", planted_ac=Decimal("61.30")),
        crop="peanuts",
        area_ac=Decimal("61.30"),
    )
    make_work(
        place,
        field_pass=make_pass(second, "plant"),
        machine=make_machine(place.farm, "tractor-2", name="Old tractor"),
        implement=None,
        hand=make_hand(place.farm, "marlene", is_owner=True),
        work_on=DAY.replace(month=5),
    )
    make_bill(place, "412.37", category="tires", season=second)
    make_bill(place, "-18.40", category="chemicals", season=second)
    make_season(place.season.field, crop_year=2025, crop="corn")
    make_work(make_place("other-bend"))
    post_pending(now=NOON)
    return place


def ledger_cents(place: Place) -> int:
    lines = Line.objects.filter(farm=place.farm, account=Account.SEASON, season__crop_year=2026)
    cents = lines.aggregate(cents=Sum("cents"))["cents"]
    assert isinstance(cents, int)
    return cents


def table_of(place: Place, *by: Dimension, where: CostWhere | None = None) -> CostTable:
    return cost_table(farm=place.farm, crop_year=2026, by=by, where=where)


def test_every_cut_adds_up_to_the_ledger_and_every_cell_to_its_lines(worked: Place) -> None:
    whole = ledger_cents(worked)
    for by in [*itertools.combinations(Dimension, 1), *itertools.combinations(Dimension, 2)]:
        table = table_of(worked, *by)
        assert sum(row.cents for row in table.rows) == table.total.cents == whole != 0, by
        seen: list[int] = []
        for row in table.rows:
            lines = list(lines_of_cell(farm=worked.farm, crop_year=2026, where=row.where))
            assert sum(line.cents for line in lines) == row.cents, row.key
            counted = cell_sum(farm=worked.farm, crop_year=2026, where=row.where)
            assert (counted.line_count, counted.cents) == (len(lines), row.cents)
            seen += [line.line_id for line in lines]
        assert len(seen) == len(set(seen))
        assert where_from(table.rows[0].where.given()) == table.rows[0].where


def test_a_row_is_said_in_words_and_held_against_the_acres_of_its_seasons(worked: Place) -> None:
    rows = {row.key: row for row in table_of(worked, FIELD, CROP).rows}
    assert [row.says for row in rows.values()] == [("Pond 40", "cotton"), ("Sand", "peanuts")]
    sand = rows["sand-60", "peanuts"]
    assert sand.area_ac == Decimal("61.30")
    assert sand.usd_per_ac == (sand.amount_usd / Decimal("61.30")).quantize(Decimal("0.01"))
    months = {row.key[0]: row.says[0] for row in table_of(worked, MONTH).rows}
    assert months == {"2026-04": "April 2026", "2026-05": "May 2026"}
    operations = [row.says[0] for row in table_of(worked, OPERATION).rows]
    machines = [row.says[0] for row in table_of(worked, MACHINE).rows]
    assert operations[-1] == "not of one operation"
    assert machines[-1] == "without a machine"
    categories = [row.says[0] for row in table_of(worked, CATEGORY).rows]
    assert "owner's time, unpaid" in categories
    assert categories.index("labor") < categories.index("tires")


def test_rows_of_one_season_add_up_per_acre(worked: Place) -> None:
    """Acres of a category's row are those of all its seasons, not of those that had the category."""
    table = table_of(worked, CATEGORY)
    assert {row.area_ac for row in table.rows} == {table.total.area_ac} == {Decimal("101.30")}
    one_field = table_of(worked, CATEGORY, where=CostWhere(field="pond-40"))
    assert {row.area_ac for row in one_field.rows} == {Decimal(40)}
    assert one_field.total.where == CostWhere(field="pond-40")


def test_what_a_tractor_pulled_stands_under_the_tractor_alone(worked: Place) -> None:
    machines = {row.key[0]: row.cents for row in table_of(worked, MACHINE).rows}
    assert set(machines) == {"tractor-1", "tractor-2", ""}
    assert table_of(worked, where=CostWhere(machine="disk-1")).total.cents == 0
    assert table_of(worked, where=CostWhere(machine="tractor-1")).total.cents == machines["tractor-1"]


def test_a_season_that_cost_nothing_has_its_row(worked: Place) -> None:
    make_season(make_field(worked.farm, "tail-9", planted_ac=Decimal(9)), crop="corn", area_ac=Decimal(9))
    assert [row.key for row in table_of(worked, FIELD).rows] == [("pond-40",), ("sand-60",), ("tail-9",)]
    empty = table_of(worked, FIELD, where=CostWhere(field="tail-9"))
    assert (empty.total.cents, empty.total.usd_per_ac) == (0, Decimal("0.00"))
    nothing = table_of(worked, where=CostWhere(field="no-such"))
    assert (nothing.total.cents, nothing.total.area_ac, nothing.total.usd_per_ac) == (0, 0, None)


def test_parts_of_a_field_are_rows_of_their_own(worked: Place) -> None:
    north = make_season(worked.season.field, crop="corn", part="north", area_ac=Decimal(12))
    make_bill(worked, "10.00", category="scouting", season=north)
    post_pending(now=NOON)
    keys = [row.key for row in table_of(worked, FIELD).rows]
    assert keys == [("pond-40",), ("pond-40.north",), ("sand-60",)]
    row = table_of(worked, FIELD, where=CostWhere(field="pond-40.north")).total
    assert (row.cents, row.area_ac) == (1_000, 12)


def test_cost_per_unit_uses_what_was_brought_in_else_what_is_expected(worked: Place) -> None:
    LatePlantingFacts.objects.create(
        farm=worked.farm,
        crop="peanuts",
        yield_per_ac=Decimal(4000),
        yield_unit="lb",
        price_usd=Decimal("0.25"),
    )
    rows = {row.key[0]: row for row in table_of(worked, FIELD).rows}
    sand = rows["sand-60"]
    assert rows["pond-40"].harvest is None
    assert rows["pond-40"].usd_per_unit is None
    assert sand.harvest is not None
    assert (sand.harvest.quantity, sand.harvest.unit, sand.harvest.is_expected) == (245_200, "lb", True)
    assert sand.usd_per_unit == (sand.amount_usd / 245_200).quantize(Decimal("0.0001"))
    assert table_of(worked, CROP).total.harvest is None
    for number, quantity in enumerate(("52000", "50000")):
        SeasonYield.objects.create(
            farm=worked.farm,
            season=worked.season,
            quantity=Decimal(quantity),
            unit="lb",
            correction_no=number,
            entered_at=NOON,
        )
    total = table_of(worked, CROP).total
    assert total.harvest is not None
    assert (total.harvest.quantity, total.harvest.is_expected) == (295_200, True)
    pond = table_of(worked, FIELD, where=CostWhere(field="pond-40")).total
    assert pond.usd_per_unit == (pond.amount_usd / 50_000).quantize(Decimal("0.0001"))
    SeasonYield.objects.create(
        farm=worked.farm, season=worked.season, quantity=100, unit="bale", correction_no=2, entered_at=NOON
    )
    assert table_of(worked, CROP).total.harvest is None


def test_the_table_says_what_the_rows_of_the_export_say(worked: Place) -> None:
    exported: dict[tuple[str, str], int] = {}
    for row in field_costs(farm=worked.farm, crop_year=2026):
        exported[row.field, row.category] = exported.get((row.field, row.category), 0) + row.cents
    assert {row.key: row.cents for row in table_of(worked, FIELD, CATEGORY).rows} == exported


def test_lines_come_in_pages_in_the_order_they_happened(worked: Place) -> None:
    whole = list(lines_of_cell(farm=worked.farm, crop_year=2026, where=CostWhere()))
    seasons = CostTables(farm=worked.farm, crop_year=2026).seasons
    asked: dict[str, Any] = {
        "farm": worked.farm,
        "crop_year": 2026,
        "where": CostWhere(),
        "season_ids": seasons,
    }
    counted = cell_sum(farm=worked.farm, crop_year=2026, where=CostWhere())
    for most in (1, 3, 4, len(whole), len(whole) + 1):
        found = [page_of_cell(**asked, skip=skip, most=most) for skip in range(0, len(whole) + most, most)]
        assert [line for _sum, page in found for line in page] == whole, most
        assert {told for told, _page in found} == {counted}
    assert [line.happened_on for line in whole] == sorted(line.happened_on for line in whole)


def test_another_farm_has_no_part_in_it(worked: Place) -> None:
    for row in table_of(worked, FIELD, CATEGORY).rows:
        for line in lines_of_cell(farm=worked.farm, crop_year=2026, where=row.where):
            assert Line.objects.get(pk=line.line_id).farm_id == worked.farm.pk


def test_a_table_is_one_query_of_lines(worked: Place, django_assert_max_num_queries: object) -> None:
    with django_assert_max_num_queries(8) as seen:  # type: ignore[operator]
        table_of(worked, *Dimension)
    of_lines = [one["sql"] for one in seen.captured_queries if 'FROM "ledger_line"' in one["sql"]]
    assert len(of_lines) == 1
    assert "GROUP BY" in of_lines[0]


def test_what_no_table_is_told_by_is_refused_with_a_sentence() -> None:
    with pytest.raises(
        NoSuchCell, match=r"not told by 'color', but by field, crop, operation, category, machine, month"
    ):
        dimensions(["field", "color"])
    for month in ("2026-13", "April", "2026-4", "2026-04-01", ""):
        with pytest.raises(NoSuchCell, match="is no month; it is written like 2026-04"):
            where_from({"month": month})
