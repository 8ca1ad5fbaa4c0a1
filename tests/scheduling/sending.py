"""Sending reports in tests: a farm with one pass and a hand, and a report of each kind that is kept as it stands."""

import datetime as dt
import uuid
from typing import Any

from farmops.farms.models import Hand
from scheduling.models import FieldReport, ParkedReport, PlannedTask, PlanState, WeekPlan
from scheduling.services.receiving import Received, receive_report
from tests.ledger.makers import Place
from tests.scheduling.ground import NEW_YORK

DAY = dt.date(2026, 4, 20)
NOW = dt.datetime(2026, 4, 20, 18, 30, tzinfo=NEW_YORK)


def send(place: Place, kind: str, body: dict[str, Any], **facts: Any) -> Received:
    """Receive a report of the place's hand, with an id of its own unless one is given."""
    defaults: dict[str, Any] = {"hand": place.hand, "client_id": uuid.uuid4(), "sent_by": None, "now": NOW}
    return receive_report(farm=place.farm, kind=kind, body=body, **{**defaults, **facts})


def work_body(place: Place, **facts: Any) -> dict[str, Any]:
    """Return five hours and twenty acres on the place's pass."""
    return {
        "pass_id": place.field_pass.pk,
        "work_on": DAY.isoformat(),
        "hours": "5",
        "done_ac": "20",
        **facts,
    }


def day_body(**facts: Any) -> dict[str, Any]:
    """Return a day from seven to five with half an hour's break."""
    return {"work_on": DAY.isoformat(), "starts": "07:00", "ends": "17:00", "break_minutes": 30, **facts}


def send_plan(place: Place, hand: Hand) -> WeekPlan:
    """Store a sent plan that gives the place's pass to a hand, Monday 8 to 1."""
    monday = dt.datetime(2026, 4, 20, tzinfo=NEW_YORK)
    key, mode = "pond-40/disk#1", f"tractor-1+disk-1+{hand.code}"
    week = [{"from": 0, "to": 10080}]
    plan = WeekPlan.objects.create(
        farm=place.farm,
        number=1,
        state=PlanState.SENT,
        starts_at=monday,
        days=7,
        made_at=monday,
        sent_at=monday,
        problem={
            "resources": [{"id": name, "calendar": week} for name in mode.split("+")],
            "tasks": [{"id": key, "modes": [{"id": mode, "resources": mode.split("+")}], "open": week}],
        },
        problem_hash="0" * 64,
        plan={"tasks": [{"id": key, "mode": mode, "from": 480, "to": 780}], "left": []},
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
        area_ac=40,
        mode=mode,
        machine=place.machine,
        implement=place.implement,
        hand=hand,
        starts_at=monday + dt.timedelta(hours=8),
        ends_at=monday + dt.timedelta(hours=13),
        work_min=300,
    )
    return plan


def count() -> int:
    """Return how many reports are kept."""
    return FieldReport.objects.count()


def parked_of(received: Received) -> ParkedReport:
    """Return what waits of a report."""
    assert received.parked is not None
    return received.parked


def code_of(received: Received) -> str:
    """Return the code of what a report waits for."""
    return parked_of(received).code
