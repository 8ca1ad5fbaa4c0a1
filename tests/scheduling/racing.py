"""A process of its own in which several threads record, plan and send at once.

`python -m tests.scheduling.racing`, with the settings and the database that the environment names. It prints one line
of JSON: what each thread was told, and what was kept.
"""

import json
import threading
import uuid
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from typing import Any

import django

django.setup()

from django.core.management import call_command  # noqa: E402  (after the settings are read)
from django.db import connection  # noqa: E402

import farmops.celery  # noqa: E402, F401  (nudges need the configured app)
from farmops.farms.models import Farm, Hand  # noqa: E402
from scheduling.models import FieldPass, WeekPlan, WorkRecord  # noqa: E402
from scheduling.services.planning import PlanIsReplaced, make_plan, send_plan  # noqa: E402
from scheduling.services.refusals import Over24Hours  # noqa: E402
from scheduling.services.work import record_work  # noqa: E402
from tests.factories import (  # noqa: E402
    make_farm,
    make_field,
    make_hand,
    make_implement,
    make_machine,
    make_pass,
    make_season,
)
from tests.scheduling.ground import MONDAY, SUNDAY, SUNDAY_EVENING, make_dry_spring, prices_of  # noqa: E402

AT_ONCE = 3


def seed() -> None:
    call_command("migrate", verbosity=0)
    farm = make_farm()
    make_machine(farm)
    make_implement(farm)
    make_hand(farm)
    make_dry_spring(farm)
    make_pass(make_season(make_field(farm)))
    for number in range(AT_ONCE):
        make_pass(make_season(make_field(farm, f"field-{number}")))


def act(gate: threading.Barrier, number: int) -> dict[str, Any]:
    """Send the record that every thread sends, then ten hours on a field of one's own, then make and send a plan."""
    farm = Farm.objects.get()
    facts: dict[str, Any] = {
        "farm": farm,
        "field_pass": FieldPass.objects.get(season__field__code="pond-40"),
        "hand": Hand.objects.get(farm=farm),
        "work_on": SUNDAY,
        "done_ac": Decimal("5"),
        "is_finished": False,
        "recorded_by": None,
        "now": SUNDAY_EVENING,
    }
    gate.wait()
    _, is_new = record_work(**facts, client_id=uuid.UUID(int=1), hand_min=60)
    gate.wait()
    try:
        own = FieldPass.objects.get(season__field__code=f"field-{number}")
        record_work(**facts | {"field_pass": own}, client_id=uuid.uuid4(), hand_min=600)
        is_kept = True
    except Over24Hours:
        is_kept = False
    gate.wait()
    plan = make_plan(
        farm=farm,
        starts_at=MONDAY,
        days=7,
        prices=prices_of(farm),
        as_of=SUNDAY,
        seconds=1,
        seed=1,
        rounds=1,
        workers=1,
        made_by=None,
        now=SUNDAY_EVENING,
    )
    gate.wait()
    try:
        send_plan(plan=plan, now=SUNDAY_EVENING)
        is_sent = True
    except PlanIsReplaced:
        is_sent = False
    connection.close()
    return {"is_new": is_new, "is_kept": is_kept, "number": plan.number, "is_sent": is_sent}


def main() -> None:
    seed()
    gate = threading.Barrier(AT_ONCE, timeout=60)
    with ThreadPoolExecutor(AT_ONCE) as pool:
        told = [one.result() for one in [pool.submit(act, gate, number) for number in range(AT_ONCE)]]
    kept = {
        "hand_min": sorted(WorkRecord.objects.values_list("hand_min", flat=True)),
        "done_ac": sorted(str(ac) for ac in FieldPass.objects.values_list("done_ac", flat=True)),
        "plans": list(WeekPlan.objects.order_by("number").values_list("number", flat=True)),
        "states": list(WeekPlan.objects.order_by("number").values_list("state", flat=True)),
    }
    print(json.dumps({"told": told, "kept": kept}))


if __name__ == "__main__":
    main()
