"""A farm with people of each role, one planned disking and the plan that holds it."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.test import Client

from farmops.core.models import User
from farmops.farms.models import Farm, Field, Hand, Membership
from scheduling.models import FieldPass, PlannedTask, PlanState, WeekPlan
from scheduling.selectors import plan_documents
from tests.factories import (
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)

MONDAY = dt.datetime(2026, 4, 20, tzinfo=ZoneInfo("America/New_York"))


@dataclass
class Yard:
    """What the tests of pages point at."""

    farm: Farm
    field: Field
    field_pass: FieldPass
    hand: Hand
    plan: WeekPlan


@pytest.fixture
def yard(db: None) -> Yard:
    return make_yard()


def make_yard() -> Yard:
    """Make the farm, its people, and a plan that was sent."""
    farm = make_farm(boss_name="M. Ott", boss_phone="555-0142", road_address="1 Heron Road")
    field = make_field(farm, entrance="north gate", road_address="2140 Cane Road")
    field_pass = make_pass(make_season(field), area_ac=Decimal("40"))
    hand = make_hand(farm, "rosa", language="es", name="Rosa")
    tractor, disk = make_machine(farm), make_implement(farm)
    for name, role in (("mona", "manager"), ("bo", "bookkeeper"), ("rosa", "hand")):
        user = User.objects.create_user(name, password="x" * 12)
        Membership.objects.create(farm=farm, user=user, role=role, hand=hand if role == "hand" else None)
    begins, ends = MONDAY + dt.timedelta(hours=8), MONDAY + dt.timedelta(hours=13)
    mode = "tractor-1+disk-1+rosa"
    plan = WeekPlan.objects.create(
        farm=farm,
        number=1,
        state=PlanState.SENT,
        starts_at=MONDAY,
        days=7,
        made_at=MONDAY,
        sent_at=MONDAY,
        problem={
            "resources": [
                {"id": "tractor-1", "calendar": [{"from": 0, "to": 10080}]},
                {"id": "disk-1", "calendar": [{"from": 0, "to": 10080}]},
                {"id": "rosa", "calendar": [{"from": 420, "to": 720}, {"from": 750, "to": 1080}]},
            ],
            "tasks": [
                {
                    "id": "pond-40/disk",
                    "modes": [{"id": mode, "resources": ["tractor-1", "disk-1", "rosa"]}],
                    "open": [{"from": 480, "to": 1200}],
                }
            ],
        },
        problem_hash="0" * 64,
        plan={
            "cost_parts": {"direct": 41200, "late": 0},
            "tasks": [{"id": "pond-40/disk", "mode": mode, "from": 480, "to": 780}],
            "left": [{"id": "pond-40/plant", "why": "The soil is too cold."}],
        },
        windows={
            "start": MONDAY.isoformat(),
            "passes": [
                {
                    "pass": "pond-40/disk",
                    "open": [{"from": 480, "to": 1200, "chance": 0.9}],
                    "shut": [
                        {
                            "from": 0,
                            "to": 480,
                            "limit": "wet",
                            "says": "sticks to the boot: 0.21",
                            "says_es": "se pega",
                        }
                    ],
                }
            ],
            "ground": [],
        },
        status="good",
        cost_cents=41200,
        bound_cents=40000,
        seed=1,
        limits={},
    )
    PlannedTask.objects.create(
        farm=farm,
        plan=plan,
        task_key="pond-40/disk",
        field_pass=field_pass,
        field=field,
        operation="disk",
        area_ac=Decimal("40"),
        mode=mode,
        machine=tractor,
        implement=disk,
        hand=hand,
        starts_at=begins,
        ends_at=ends,
        work_min=270,
    )
    return Yard(farm, field, field_pass, hand, plan)


def give_road(plan: WeekPlan, minutes: int) -> None:
    """Rosa, at work from 7 am, has so many minutes from the yard to the field, where work begins at 8 am."""
    plan.problem |= {"places": ["yard", "pond-40"], "road_minutes": [[0, minutes], [minutes, 0]]}
    plan.problem["resources"][2] |= {"kind": "hand", "roams": True}
    plan.problem["tasks"][0]["place"] = "pond-40"
    plan.save()
    plan_documents.forget()  # written with a plan and never changed after, but here


def signed_in(name: str) -> Client:
    client = Client()
    client.force_login(User.objects.get(username=name))
    return client
