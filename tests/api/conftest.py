"""Two farms with a row of every kind, and a client for each part that somebody may have in them."""

import copy
import datetime as dt
import uuid
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from rest_framework.test import APIClient

from farmops.core.models import LongWork, User
from farmops.farms.models import Farm, Hand, Machine, Membership, Pivot, Pump
from farmops.farms.services.links import make_link
from farmops.weather.models import (
    DailyWeather,
    ForecastHour,
    ForecastIssue,
    GaugeReading,
    SoilReading,
    Station,
)
from farmops.weather.services.field_readings import record_gauge, record_soil_reading
from ledger.models import Bill, Entry, OpeningStock, PostingWait, Rate, ShareOut
from ledger.selectors.pools import pool_named
from ledger.services.bills import enter_bill
from ledger.services.books import choose_year
from ledger.services.entities import add_entity
from ledger.services.opening import enter_opening_stock
from ledger.services.share_outs import share_out_pool
from scheduling.models import (
    FieldReport,
    HourReading,
    Incident,
    PlannedTask,
    PlanState,
    SaySo,
    WeekPlan,
    WorkRecord,
)
from scheduling.services.incidents import mend_incident, place_incident
from scheduling.services.meters import record_meter_replaced
from scheduling.services.receiving import receive_report
from scheduling.services.say_so import say_so
from scheduling.services.work import record_hour_reading, record_incident, record_work
from tests.api.seen import SeenRows, make_seen
from tests.factories import make_hand, make_machine, make_pass
from tests.laying import Lay
from tests.ledger.makers import DAY, NOON, Place, make_place

MONDAY = dt.datetime(2026, 4, 20, tzinfo=ZoneInfo("America/New_York"))
ROLES = ("manager", "bookkeeper", "hand")


@dataclass(frozen=True)
class Yard:
    """One farm and a row of every kind on it."""

    place: Place
    other_hand: Hand
    plan: WeekPlan
    work: WorkRecord
    reading: HourReading
    incident: Incident
    word: SaySo
    bill: Bill
    issue: ForecastIssue
    gauge: GaugeReading
    thermometer: SoilReading
    seen: SeenRows
    wait: PostingWait
    report: FieldReport

    @property
    def farm(self) -> Farm:
        return self.place.farm

    @property
    def spare(self) -> Machine:
        """Return the tractor in the shed, whose meter was replaced."""
        return Machine.objects.get(farm=self.farm, code="tractor-9")

    @property
    def at(self) -> str:
        """Return the address of the farm."""
        return f"/api/farms/{self.farm.code}/"

    @cached_property
    def names(self) -> dict[str, Any]:
        """Return what stands in an address below the farm."""
        field = self.place.season.field
        zone = field.zones.get()
        return {
            "farm_code": self.farm.code,
            "fields": field.code,
            "pivots": field.code,
            "fuel-tanks": "yard-diesel",
            "pumps": "well-1",
            "machines": self.place.machine.code,
            "implements": self.place.implement.code,
            "hands": self.place.hand.code,
            "zones": zone.pk,
            "seasons": self.place.season.pk,
            "forecasts": self.issue.pk,
            "gauge-readings": self.gauge.pk,
            "soil-readings": self.thermometer.pk,
            **{name: row.pk for name, row in self.seen.items()},
            "orders-of-work": "corn",
            "care-rules": "oil",
            "late-planting": "cotton",
            "passes": self.place.field_pass.pk,
            "plans": self.plan.number,
            "work-records": self.work.pk,
            "hour-readings": self.reading.pk,
            "incidents": self.incident.pk,
            "incident-places": self.incident.places.get().pk,
            "incident-mendings": self.incident.mendings.get().pk,
            "debris": field.code,
            "sign-in-links": self.place.hand.sign_in_links.get().pk,
            "meters-replaced": self.spare.meters_replaced.get().pk,
            "reports": self.report.client_id,
            "say-sos": self.word.pk,
            "rates": Rate.objects.filter(farm=self.farm).first().pk,  # type: ignore[union-attr]
            "bills": self.bill.pk,
            "opening-stock": OpeningStock.objects.get(farm=self.farm).pk,
            "share-outs": ShareOut.objects.get(farm=self.farm).pk,
            "long-work": LongWork.objects.get(farm=self.farm).pk,
            "entries": Entry.objects.filter(farm=self.farm).first().number,  # type: ignore[union-attr]
        }


def make_yard(code: str, word: str) -> Yard:
    """Make a farm whose users are called by role and `word`, such as `manager-a`."""
    place = make_place(code)
    farm, field = place.farm, place.season.field
    for role in ROLES:
        user = User.objects.create_user(f"{role}-{word}", password="x" * 12)
        hand = place.hand if role == "hand" else None
        Membership.objects.create(farm=farm, user=user, role=role, hand=hand)
    pump = Pump.objects.create(farm=farm, code="well-1", name="Well 1", flow_gpm=Decimal(800))
    Pivot.objects.create(
        farm=farm,
        field=field,
        pump=pump,
        name="Pivot 1",
        last_tower_radius_ft=Decimal(600),
        walk_ft_per_min=Decimal(8),
        tower_count=4,
        parking_angle_deg=Decimal(90),
    )
    station = Station.objects.create(farm=farm, code="GAUGE1")
    DailyWeather.objects.create(
        farm=farm, station=station, day=DAY, temp_min_c=12.5, temp_max_c=27.0, rain_mm=0.0
    )
    issue = ForecastIssue.objects.create(farm=farm, source="grid", issued_at=NOON, file_sha256="0" * 64)
    ForecastHour.objects.create(farm=farm, issue=issue, hour_at=NOON, temp_c=21.5)
    work, _ = record_work(
        farm=farm,
        client_id=uuid.uuid4(),
        field_pass=place.field_pass,
        hand=place.hand,
        machine=place.machine,
        implement=place.implement,
        work_on=DAY,
        hand_min=300,
        machine_min=270,
        done_ac=Decimal("20.00"),
        is_finished=False,
        recorded_by=None,
        now=NOON,
    )
    reading, _ = record_hour_reading(
        farm=farm,
        client_id=uuid.uuid4(),
        machine=place.machine,
        reading_h=Decimal("2410.5"),
        read_at=NOON,
        read_by=place.hand,
        now=NOON,
    )
    incident, _ = record_incident(
        farm=farm,
        client_id=uuid.uuid4(),
        kind="puncture",
        happened_at=NOON,
        field=field,
        hand=place.hand,
        now=NOON,
    )
    place_incident(
        farm=farm,
        client_id=uuid.uuid4(),
        incident=incident,
        latitude_deg=farm.latitude_deg,
        longitude_deg=farm.longitude_deg,
        placed_by="typed",
        now=NOON,
    )
    mend_incident(
        farm=farm, client_id=uuid.uuid4(), incident=incident, mending="repair", lost_min=90, now=NOON
    )
    record_meter_replaced(
        farm=farm,
        client_id=uuid.uuid4(),
        machine=make_machine(farm, "tractor-9"),
        replaced_at=NOON,
        old_reading_h=Decimal("4120.5"),
        recorded_by=None,
        now=NOON,
    )
    make_link(farm=farm, hand=place.hand, now=NOON)
    bill, _ = enter_bill(
        farm=farm,
        client_id=uuid.uuid4(),
        payee="Cane Road Tire",
        bill_on=DAY,
        amount_usd="186.40",
        category="tires",
        incident=incident,
        now=NOON,
    )
    add_entity(farm=farm, code="river", name="River Ground LLC")
    enter_opening_stock(
        farm=farm,
        client_id=uuid.uuid4(),
        item="rye",
        category="seed",
        quantity="12",
        unit="bag",
        amount_usd="180",
        on=DAY,
        now=NOON,
    )
    choose_year(farm=farm, year=2025, stock_cost="average", fuel_by="average_hour", now=NOON)
    share_out_pool(
        farm=farm,
        client_id=uuid.uuid4(),
        pool=pool_named(farm=farm, key="implement:disk-1"),
        shared_by="acres",
        crop_year=2026,
        first_on=DAY,
        last_on=DAY,
        why="to show one",
        now=NOON,
    )
    wait = PostingWait.objects.create(
        farm=farm,
        source_kind="bill",
        source_id=10**6,
        happened_on=DAY,
        code="no_rate_on_date",
        says="No price holds.",
        first_at=NOON,
        checked_at=NOON,
    )
    hand_user = User.objects.get(username=f"hand-{word}")
    read: dict[str, Any] = {"farm": farm, "field": field, "recorded_by": hand_user, "now": NOON}
    gauge, _ = record_gauge(client_id=uuid.uuid4(), day=DAY, rain_in=Decimal("0.40"), **read)
    thermometer, _ = record_soil_reading(
        client_id=uuid.uuid4(), read_at=NOON, depth_in=Decimal(4), temp_f=Decimal("66.5"), **read
    )
    said = say_so(farm=farm, field=field, day=DAY, word="fit", said_by=None, now=NOON)
    report = receive_report(
        farm=farm,
        hand=place.hand,
        client_id=uuid.uuid4(),
        kind="day",
        body={"work_on": DAY.isoformat(), "starts": "07:00", "ends": "12:00"},
        sent_by=hand_user,
        now=NOON,
    ).report
    LongWork.objects.create(
        farm=farm, kind="export", key="journal", asked={"what": "journal"}, asked_at=NOON, ended_at=NOON
    )
    return Yard(
        place=place,
        other_hand=make_hand(farm, "odell"),
        plan=make_plan(place),
        work=work,
        reading=reading,
        incident=incident,
        word=said,
        bill=bill,
        issue=issue,
        gauge=gauge,
        thermometer=thermometer,
        seen=make_seen(field, hand_user),
        wait=wait,
        report=report,
    )


def make_plan(place: Place, number: int = 1, state: str = PlanState.SENT) -> WeekPlan:
    """Store a plan with one task, Monday 8 to 1."""
    key, mode = "pond-40/disk#1", "tractor-1+disk-1+imani"
    week = [{"from": 0, "to": 10080}]
    plan = WeekPlan.objects.create(
        farm=place.farm,
        number=number,
        state=state,
        starts_at=MONDAY,
        days=7,
        made_at=MONDAY,
        sent_at=MONDAY if state == PlanState.SENT else None,
        problem={
            "resources": [{"id": name, "calendar": week} for name in mode.split("+")],
            "tasks": [{"id": key, "modes": [{"id": mode, "resources": mode.split("+")}], "open": week}],
        },
        problem_hash="0" * 64,
        plan={
            "tasks": [{"id": key, "mode": mode, "from": 480, "to": 780}],
            "left": [{"id": "pond-40/plant#1", "why": "The soil is too cold."}],
        },
        windows={"passes": [], "ground": []},
        status="good",
        cost_cents=41205,
        bound_cents=40000,
        seed=1,
        limits={"seconds": 1},
    )
    PlannedTask.objects.create(
        farm=place.farm,
        plan=plan,
        task_key=key,
        field_pass=place.field_pass,
        field=place.season.field,
        operation="disk",
        area_ac=Decimal(40),
        mode=mode,
        machine=place.machine,
        implement=place.implement,
        hand=place.hand,
        starts_at=MONDAY + dt.timedelta(hours=8),
        ends_at=MONDAY + dt.timedelta(hours=13),
        work_min=300,
    )
    return plan


@pytest.fixture(autouse=True)
def _wednesday(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let it be Wednesday noon of the week that the rows are of, whatever the machine's clock says."""
    monkeypatch.setattr("farmops.core.clock.now", lambda: NOON + dt.timedelta(days=2))


@pytest.fixture(scope="module")
def yard_of_the_module(laid_once: Lay) -> Yard:
    """One for all tests of a file: to lay it takes more time than most of them."""
    return laid_once(lambda: make_yard("heron-slough", "a"))


@pytest.fixture
def yard(yard_of_the_module: Yard, db: None) -> Yard:
    return copy.deepcopy(yard_of_the_module)


@pytest.fixture
def other_yard(yard: Yard) -> Yard:
    return make_other_yard()


def make_other_yard() -> Yard:
    """Make a second farm, with a row more so that its numbers are others."""
    there = make_yard("cane-fork", "b")
    make_pass(there.place.season, "plant")
    return there


def client_of(name: str | None) -> APIClient:
    """Return a client signed in by name, or as nobody."""
    client = APIClient()
    if name is not None:
        client.force_authenticate(User.objects.get(username=name))
    return client
