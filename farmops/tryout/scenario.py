"""What happens in the week of the demo, read from `scenario.json` beside the farm's own files."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

from django.conf import settings

from farmops.farms.operations import Operation
from farmops.farms.services.json_facts import Node, read_json
from scheduling.models import CutWord, LookWord, RemarkWord, SaySoWord

DEMO_FOLDER = Path(settings.BASE_DIR) / "fixtures" / "demo"
FORMAT = "tryout/1"
Read = TypeVar("Read")
WORKS = [operation.value for operation in Operation]


@dataclass(frozen=True)
class Rain:
    """Hours of a day in which rain stopped the work, as it really came."""

    on: dt.date
    starts_at: dt.time
    ends_at: dt.time
    says: str


@dataclass(frozen=True)
class SaidSo:
    """The grower's word on a zone of a field for a day."""

    on: dt.date
    field: str
    zone: str
    word: str


@dataclass(frozen=True)
class Gauge:
    """What a field's own gauge showed of a day's rain."""

    on: dt.date
    field: str
    rain_in: Decimal


@dataclass(frozen=True)
class Thermometer:
    """What a soil thermometer showed in a field."""

    on: dt.date
    at: dt.time
    field: str
    depth_in: Decimal
    temp_f: Decimal


@dataclass(frozen=True)
class RemarkMade:
    """A remark on the wetness of a zone for a kind of work."""

    on: dt.date
    at: dt.time
    field: str
    zone: str
    what: str
    operation: str
    note: str


@dataclass(frozen=True)
class Look:
    """How the work of a day looked behind the implement, and what was set."""

    on: dt.date
    operation: str
    looks: dict[str, str]
    numbers: dict[str, Decimal]
    level: str


@dataclass(frozen=True)
class CalledOff:
    """A pass that is called off on the evening of a day."""

    on: dt.date
    field: str
    operation: str
    why: str


@dataclass(frozen=True)
class Puncture:
    """A puncture on the first tractor out with this operation on a day, and its bill."""

    on: dt.date
    operation: str
    wheel: str
    met: str
    lost_min: int
    bill_on: dt.date
    payee: str
    number: str
    amount_usd: Decimal


@dataclass(frozen=True)
class Input:
    """What goes on the ground with an operation in a crop, per acre."""

    crop: str
    operation: str
    code: str
    per_ac: Decimal
    unit: str


@dataclass(frozen=True)
class Counted:
    """What was in stock of an item when the books began."""

    item: str
    category: str
    quantity: Decimal
    unit: str
    amount_usd: Decimal
    on: dt.date


@dataclass(frozen=True)
class Scenario:
    """The whole of it."""

    folder: Path
    password: str
    first_on: dt.date
    days: int
    plan_at: dt.time
    evening_at: dt.time
    station: str
    forecasts: dict[dt.date, Path]
    rain: tuple[Rain, ...]
    plan_again_on: dt.date
    said: tuple[SaidSo, ...]
    gauges: tuple[Gauge, ...]
    thermometers: tuple[Thermometer, ...]
    remarks: tuple[RemarkMade, ...]
    looks: tuple[Look, ...]
    called_off: CalledOff
    puncture: Puncture
    inputs: tuple[Input, ...]
    counted: tuple[Counted, ...]
    close_month: dt.date

    @property
    def eve(self) -> dt.date:
        """Return the day before the week: what was known then is what the first plan is made from."""
        return self.first_on - dt.timedelta(days=1)

    @property
    def week(self) -> list[dt.date]:
        """Return the days of the week."""
        return [self.first_on + dt.timedelta(days=n) for n in range(self.days)]


def read_scenario(*, folder: Path = DEMO_FOLDER) -> Scenario:
    """Return the scenario of a folder. Raises BadFarmFile."""
    path = folder / "scenario.json"
    top = Node(read_json(path), path=path)
    top.choice("format", [FORMAT])
    scenario = Scenario(
        folder=folder,
        password=top.text("password", most=60),
        first_on=top.date("first_on"),
        days=top.whole("days", least=1, most=14),
        plan_at=top.time("plan_at"),
        evening_at=top.time("evening_at"),
        station=top.text("station", most=40),
        forecasts=dict(_each(top, "forecasts", lambda n: (n.date("on"), folder / n.text("file", most=80)))),
        rain=_each(top, "rain", _rain),
        plan_again_on=top.date("plan_again_on"),
        said=_each(top, "say_so", _said),
        gauges=_each(top, "gauges", _gauge),
        thermometers=_each(top, "thermometers", _thermometer),
        remarks=_each(top, "remarks", _remark),
        looks=_each(top, "looks", _look),
        called_off=_whole(top.node("call_off"), _called_off),
        puncture=_whole(top.node("puncture"), _puncture),
        inputs=_each(top, "inputs", _input),
        counted=_each(top, "counted", _counted),
        close_month=top.date("close_month"),
    )
    top.finish()
    return scenario


def _each(top: Node, key: str, read: Callable[[Node], Read]) -> tuple[Read, ...]:
    return tuple(_whole(node, read) for node in top.nodes(key))


def _whole(node: Node, read: Callable[[Node], Read]) -> Read:
    value = read(node)
    node.finish()
    return value


def _rain(node: Node) -> Rain:
    return Rain(node.date("on"), node.time("from"), node.time("to"), node.text("says", most=80))


def _said(node: Node) -> SaidSo:
    word = node.choice("word", [SaySoWord.FIT.value, SaySoWord.NOT_TODAY.value])
    return SaidSo(node.date("on"), node.code("field"), node.text("zone", most=40), word)


def _gauge(node: Node) -> Gauge:
    return Gauge(node.date("on"), node.code("field"), node.number("rain_in", least=0, most=19.99, decimals=2))


def _thermometer(node: Node) -> Thermometer:
    return Thermometer(
        node.date("on"),
        node.time("at"),
        node.code("field"),
        node.number("depth_in", least=0.1, most=12, decimals=1),
        node.number("temp_f", least=0, most=129.9, decimals=1),
    )


def _remark(node: Node) -> RemarkMade:
    return RemarkMade(
        node.date("on"),
        node.time("at"),
        node.code("field"),
        node.text("zone", most=40),
        node.choice("what", RemarkWord.values),
        node.choice("operation", WORKS),
        node.text("note", most=200),
    )


def _look(node: Node) -> Look:
    words = {name: node.choice(name, LookWord.values) for name in ("ridges", "mounds", "clods")}
    numbers = {
        name: node.optional_number(name, least=0.1, most=45, decimals=1)
        for name in ("speed_mph", "depth_in", "gang_angle_deg")
    }
    return Look(
        node.date("on"),
        node.choice("operation", WORKS),
        {**words, "cut": node.choice("cut", CutWord.values)},
        {name: number for name, number in numbers.items() if number is not None},
        node.text("level", most=20),
    )


def _input(node: Node) -> Input:
    return Input(
        node.text("crop", most=12),
        node.choice("operation", WORKS),
        node.code("input"),
        node.number("per_ac", least=0.001, most=100000, decimals=3),
        node.text("unit", most=12),
    )


def _counted(node: Node) -> Counted:
    return Counted(
        item=node.code("item"),
        category=node.text("category", most=20),
        quantity=node.number("quantity", least=0.001, most=100000, decimals=3),
        unit=node.text("unit", most=12),
        amount_usd=node.number("amount_usd", least=0, most=1000000, decimals=2),
        on=node.date("on"),
    )


def _called_off(node: Node) -> CalledOff:
    return CalledOff(
        node.date("on"), node.code("field"), node.choice("operation", WORKS), node.text("why", most=200)
    )


def _puncture(node: Node) -> Puncture:
    return Puncture(
        on=node.date("on"),
        operation=node.choice("operation", WORKS),
        wheel=node.text("wheel", most=40),
        met=node.text("met", most=80),
        lost_min=node.whole("lost_min", least=0, most=600),
        bill_on=node.date("bill_on"),
        payee=node.text("payee", most=80),
        number=node.text("number", most=40),
        amount_usd=node.number("amount_usd", least=0.01, most=10000, decimals=2),
    )
