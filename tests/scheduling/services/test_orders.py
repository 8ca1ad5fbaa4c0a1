"""Orders of work from a file: what waits, what is recorded as done before, and refusals by their place."""

import copy
import datetime as dt
import json
from collections.abc import Callable
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from farmops.farms.models import Farm, Field, Pivot, Pump
from farmops.farms.services.json_facts import BadFarmFile
from scheduling.models import FieldPass, InputUse, PassState, WorkRecord
from scheduling.services.orders import load_orders
from scheduling.services.passes import BadOrderOfWork
from tests.factories import make_farm, make_field, make_hand, make_implement, make_machine, make_season

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 4, 19, 22, tzinfo=dt.UTC)
DONE = {"from_on": "2026-04-03", "hand": "imani", "machine": "tractor-1", "implement": "disk-1"}
ORDERS: dict[str, Any] = {
    "format": "orders/1",
    "orders": [
        {
            "field": "pond-140",
            "crop_year": 2026,
            "crop": "cotton",
            "steps": [
                {"operation": "disk", "done": DONE},
                {
                    "operation": "rip_bed",
                    "due_on": "2026-04-24",
                    "late_usd_per_ac_day": 1.25,
                    "leave_usd_per_ac": 34.5,
                    "min_gap_h": 12,
                    "max_gap_h": 480.5,
                },
                {"operation": "plant", "earliest_on": "2026-04-22", "area_ac": 120},
            ],
        }
    ],
}


@pytest.fixture
def farm() -> Farm:
    farm = make_farm()
    field = make_field(farm, "pond-140", planted_ac=Decimal(140), area_ac=Decimal(140))
    make_season(field)
    make_hand(farm)
    make_machine(farm)
    make_implement(farm)
    return farm


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    def write(spoil: Callable[[dict[str, Any]], object] | None = None) -> Path:
        orders = copy.deepcopy(ORDERS)
        if spoil is not None:
            spoil(orders)
        path = tmp_path / "orders.json"
        path.write_text(json.dumps(orders), encoding="utf-8")
        return path

    return write


def under_a_pivot(farm: Farm) -> None:
    pump = Pump.objects.create(farm=farm, code="well-1", name="well 1", flow_gpm=900)
    Pivot.objects.create(
        farm=farm,
        field=Field.objects.get(farm=farm),
        pump=pump,
        name="pivot",
        last_tower_radius_ft=1300,
        walk_ft_per_min=9,
        tower_count=8,
        parking_angle_deg=90,
    )


def test_prices_by_the_acre_dates_and_gaps_reach_the_passes(farm: Farm, write: Callable[..., Path]) -> None:
    report = load_orders(farm=farm, path=write(), now=NOW)
    assert (report.seasons, report.passes, report.waiting) == (1, 3, 2)
    rip = FieldPass.objects.get(operation="rip_bed")
    assert (rip.leave_cents, rip.late_cents_per_day) == (483000, 17500)
    assert rip.due_on == dt.date(2026, 4, 24)
    link = rip.links_before.get()
    assert (link.min_gap_min, link.max_gap_min) == (720, 28830)
    plant = FieldPass.objects.get(operation="plant")
    assert (plant.area_ac, plant.leave_cents, plant.earliest_on) == (120, None, dt.date(2026, 4, 22))


def test_done_work_is_recorded_at_the_usual_pace_over_working_days(
    farm: Farm, write: Callable[..., Path]
) -> None:
    """140 ac behind 28 ft at 5 mph and 80 % (13.6 ac/h, the 8.25 rule) are 10.3 h: a Friday and a Saturday, or
    from a Saturday on a Saturday and a Monday."""

    def from_saturday(orders: dict[str, Any]) -> None:
        orders["orders"][0]["steps"][0]["done"] = {**DONE, "from_on": "2026-04-04"}

    report = load_orders(farm=farm, path=write(from_saturday), now=NOW)
    records = list(WorkRecord.objects.order_by("work_on"))
    assert report.records_added == 2
    assert [record.work_on for record in records] == [dt.date(2026, 4, 4), dt.date(2026, 4, 6)]
    assert sum(record.done_ac for record in records) == 140
    assert sum(record.machine_min for record in records) == pytest.approx(
        140 / (28 * 5 * 0.8 / 8.25) * 60, abs=1
    )
    assert all(record.hand_min == pytest.approx(record.machine_min * 1.1, abs=1) for record in records)
    assert [record.is_finished for record in records] == [False, True]
    assert FieldPass.objects.get(operation="disk").state == PassState.FINISHED


def test_inputs_of_done_work_go_by_the_acre(farm: Farm, write: Callable[..., Path]) -> None:
    def with_lime(orders: dict[str, Any]) -> None:
        lime = [{"input": "lime", "per_ac": 0.75, "unit": "ton"}]
        orders["orders"][0]["steps"][0]["done"] = {**DONE, "inputs": lime}

    load_orders(farm=farm, path=write(with_lime), now=NOW)
    assert sum(use.quantity for use in InputUse.objects.all()) == Decimal("105")


def test_the_same_file_again_changes_nothing(farm: Farm, write: Callable[..., Path]) -> None:
    load_orders(farm=farm, path=write(), now=NOW)
    before = [list(model.objects.order_by("pk").values()) for model in (FieldPass, WorkRecord)]
    again = load_orders(farm=farm, path=write(), now=NOW + dt.timedelta(days=1))
    assert again.records_added == 0
    assert [list(model.objects.order_by("pk").values()) for model in (FieldPass, WorkRecord)] == before


def test_under_a_pivot_strips_wait_until_the_whole_order_is_done(
    farm: Farm, write: Callable[..., Path]
) -> None:
    under_a_pivot(farm)

    def with_hand(orders: dict[str, Any]) -> None:
        orders["orders"][0]["pivot_hand"] = "imani"

    load_orders(farm=farm, path=write(with_hand), now=NOW)
    state = {(p.operation, p.turn, p.part): p.state for p in FieldPass.objects.all()}
    assert state["disk", 1, ""] == PassState.FINISHED
    assert state["pivot_stop", 1, ""] == PassState.FINISHED
    assert state["disk", 1, "strip"] == PassState.WAITING
    assert state["pivot_start", 2, ""] == PassState.WAITING


def test_under_a_pivot_a_whole_order_done_leaves_nothing_waiting(
    farm: Farm, write: Callable[..., Path]
) -> None:
    under_a_pivot(farm)

    def all_done(orders: dict[str, Any]) -> None:
        order = orders["orders"][0]
        order["pivot_hand"] = "imani"
        order["steps"] = [{"operation": name, "done": DONE} for name in ("disk", "rip_bed", "plant")]

    report = load_orders(farm=farm, path=write(all_done), now=NOW)
    assert report.passes == 15
    assert report.waiting == 0
    assert set(FieldPass.objects.values_list("state", flat=True)) == {PassState.FINISHED}


def _step(number: int, **facts: Any) -> Callable[[dict[str, Any]], object]:
    return lambda orders: orders["orders"][0]["steps"][number].update(facts)


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda o: o["orders"][0].update(field="pond-41"), "orders[0].field: no field with a season has the code"),
        (lambda o: o["orders"][0].update(crop="corn"), "orders[0]: pond-140 has no season of corn in 2026"),
        (lambda o: o["orders"].append(o["orders"][0]), "orders[1]: this season has an order of work already"),
        (_step(0, done={**DONE, "hand": "zed"}), "orders[0].steps[0].done.hand: no hand has the code 'zed'"),
        (_step(0, done={**DONE, "machine": "zed"}), "steps[0].done.machine: no machine has the code 'zed'"),
        (_step(1, operation="pivot_walk"), "orders[0].steps[1].operation: 'pivot_walk' is not one of"),
        (_step(1, leave_usd_per_ac=1.005), "steps[1].leave_usd_per_ac: 1.005 has more than 2 decimals"),
        (_step(1, due_on="24 April"), "orders[0].steps[1].due_on: '24 April' is not a date such as 2026-04-20"),
        (_step(1, hurry=True), "orders[0].steps[1].hurry: the key is not known here"),
        (_step(2, done=DONE), "orders[0].steps: a step is done although one before it is not"),
        (_step(2, area_ac=150), "orders[0].steps[2].area_ac: 150 is outside 0.01 to 140"),
        (lambda o: o.update(format="orders/9"), "orders.json: format: 'orders/9' is not one of orders/1"),
    ],
)  # fmt: skip
def test_a_bad_file_is_refused_by_its_path_and_nothing_is_laid_out(
    farm: Farm, write: Callable[..., Path], spoil: Any, says: str
) -> None:
    with pytest.raises(BadFarmFile) as caught:
        load_orders(farm=farm, path=write(spoil), now=NOW)
    assert says in caught.value.says
    assert FieldPass.objects.count() == 0


def test_done_work_under_a_pivot_needs_a_hand_for_the_moves(farm: Farm, write: Callable[..., Path]) -> None:
    under_a_pivot(farm)
    with pytest.raises(BadFarmFile, match="pivot_hand: is missing"):
        load_orders(farm=farm, path=write(), now=NOW)


def test_an_order_that_cannot_be_undoes_those_before_it(farm: Farm, write: Callable[..., Path]) -> None:
    make_season(make_field(farm, "pond-41"))
    with pytest.raises(BadOrderOfWork, match="the greatest no less than the least"):
        load_orders(
            farm=farm,
            path=write(
                lambda o: o["orders"].append(
                    {
                        **o["orders"][0],
                        "field": "pond-41",
                        "steps": [
                            {"operation": "disk"},
                            {"operation": "rip_bed", "min_gap_h": 5, "max_gap_h": 1},
                        ],
                    }
                )
            ),
            now=NOW,
        )
    assert FieldPass.objects.count() == 0
    assert WorkRecord.objects.count() == 0


def test_the_command_says_what_was_laid_out(farm: Farm, write: Callable[..., Path]) -> None:
    out = StringIO()
    call_command("load_orders", str(write()), farm=farm.code, json=True, stdout=out)
    assert json.loads(out.getvalue())["waiting"] == 2
    with pytest.raises(CommandError, match="No farm has the code 'nowhere'"):
        call_command("load_orders", str(write()), farm="nowhere", stdout=out)
