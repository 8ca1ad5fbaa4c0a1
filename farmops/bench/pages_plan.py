"""A week's plan that was sent, for the bench of the pages: each outfit on two fields a day, with its windows and roads."""

import datetime as dt
from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from farmops.bench.ledger_place import OPERATIONS
from farmops.farms.models import Farm, Hand, Implement, Machine
from scheduling.models import FieldPass, PassState, PlannedTask, PlanState, WeekPlan
from scheduling.selectors.fleet import YARD, place_of
from scheduling.selectors.passes import open_passes, pass_key
from scheduling.selectors.windows import pass_windows
from scheduling.solver import check, parse_problem, problem_hash
from scheduling.solver.plan import FORMAT, PARTS, from_json

DAYS = 7
STARTS_MIN = (7 * 60, 12 * 60)
TAKES_MIN = 4 * 60
LIGHT_MIN = (6 * 60, 19 * 60)
DIRECT_CENTS = 9_000
WORK_OPERATION = OPERATIONS[4]


def lay_plan(*, farm: Farm, day: dt.date) -> WeekPlan:
    """Lay the plan of the week that holds a day, and mark it sent."""
    monday = day - dt.timedelta(days=day.weekday())
    starts_at = dt.datetime.combine(monday, dt.time(), ZoneInfo(farm.zone))
    machines = list(Machine.objects.filter(farm=farm).order_by("id"))
    tools = list(Implement.objects.filter(farm=farm).order_by("id"))
    hands = list(Hand.objects.filter(farm=farm).order_by("id"))
    room = len(machines) * DAYS * len(STARTS_MIN)
    waiting = open_passes(farm=farm).filter(operation=WORK_OPERATION)
    passes = list(waiting.order_by("season__field__code")[:room])
    windows = pass_windows(
        farm=farm, passes=passes, starts_at=starts_at, days=DAYS, as_of=monday - dt.timedelta(days=1)
    )
    rows = [
        (one, number % len(machines), number // len(machines) // 2, number // len(machines) % 2)
        for number, one in enumerate(passes)
    ]
    tasks, answers, planned = [], [], []
    for one, outfit, on, turn in rows:
        begins = on * 1440 + STARTS_MIN[turn]
        key, mode = f"{pass_key(one)}#1", _mode(machines[outfit], tools[outfit], hands[outfit])
        tasks.append(_task(one, key, [mode]))
        answers.append({"id": key, "mode": mode["id"], "from": begins, "to": begins + TAKES_MIN})
        planned.append(
            PlannedTask(
                farm=farm,
                field_pass=one,
                field=one.season.field,
                task_key=key,
                operation=one.operation,
                area_ac=one.area_ac,
                mode=mode["id"],
                machine=machines[outfit],
                implement=tools[outfit],
                hand=hands[outfit],
                starts_at=starts_at + dt.timedelta(minutes=begins),
                ends_at=starts_at + dt.timedelta(minutes=begins + TAKES_MIN),
                work_min=TAKES_MIN,
            )
        )
    problem = _problem(starts_at, passes, machines, tools, hands, tasks)
    answer = _checked(problem, answers)
    plan = WeekPlan.objects.create(
        farm=farm,
        number=1,
        state=PlanState.SENT,
        starts_at=starts_at,
        days=DAYS,
        made_at=starts_at - dt.timedelta(hours=8),
        sent_at=starts_at - dt.timedelta(hours=7),
        problem=problem,
        problem_hash=problem_hash(parse_problem(problem)),
        plan=answer,
        windows=windows.to_json(),
        status=answer["status"],
        cost_cents=answer["cost"],
        bound_cents=answer["bound"],
        seed=1,
        limits={},
    )
    for task in planned:
        task.plan = plan
    PlannedTask.objects.bulk_create(planned)
    FieldPass.objects.filter(pk__in=[one.pk for one in passes]).update(state=PassState.SENT)
    return plan


def _checked(problem: dict[str, Any], tasks: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the plan of the tasks as it is stored. Raises ValueError for one that breaks a rule of the problem."""
    answer: dict[str, Any] = {
        "format": FORMAT,
        "status": "good",
        "cost": 0,
        "bound": 0,
        "seconds": 1.0,
        "cost_parts": dict.fromkeys(PARTS, 0),
        "tasks": tasks,
        "left": [],
    }
    asked = parse_problem(problem)
    priced = check(asked, from_json(answer))
    answer |= {"cost": priced.cost, "cost_parts": priced.cost_parts}
    wrong = check(asked, from_json(answer)).violations
    if wrong:
        raise ValueError(f"the plan of the bench does not hold: {wrong[0].says}")
    return answer


def _mode(machine: Machine, tool: Implement, hand: Hand) -> dict[str, Any]:
    parts = [machine.code, tool.code, hand.code]
    return {"id": "+".join(parts), "resources": parts, "minutes": TAKES_MIN, "cents": DIRECT_CENTS}


def _task(one: FieldPass, key: str, modes: Sequence[dict[str, Any]]) -> dict[str, Any]:
    return {
        "id": key,
        "place": place_of(one.season.field.code),
        "operation": one.operation,
        "modes": list(modes),
        "open": _each_day(*LIGHT_MIN),
        "due": 4 * 1440,
        "late_cents_per_hour": 500,
        "leave_cents": one.leave_cents,
    }


def _each_day(begins: int, ends: int) -> list[dict[str, int]]:
    return [{"from": day * 1440 + begins, "to": day * 1440 + ends} for day in range(DAYS)]


def _problem(
    starts_at: dt.datetime,
    passes: Sequence[FieldPass],
    machines: Sequence[Machine],
    tools: Sequence[Implement],
    hands: Sequence[Hand],
    tasks: Sequence[dict[str, Any]],
) -> dict[str, Any]:
    places = [YARD, *(place_of(one.season.field.code) for one in passes)]
    always = [{"from": 0, "to": DAYS * 1440}]
    kinds: list[tuple[str, Sequence[Machine | Implement | Hand], list[dict[str, int]]]] = [
        ("tractor", machines, always),
        ("implement", tools, always),
        ("hand", hands, _each_day(*LIGHT_MIN)),
    ]
    return {
        "format": "planning-problem/1",
        "start": starts_at.isoformat(),
        "zone": str(starts_at.tzinfo),
        "horizon": DAYS * 1440,
        "step": 15,
        "resources": [
            {"id": one.code, "kind": kind, "roams": True, "home": YARD, "calendar": calendar}
            for kind, rows, calendar in kinds
            for one in rows
        ],
        "places": places,
        "road_minutes": [
            [abs(first - second) % 25 for second in range(len(places))] for first in range(len(places))
        ],
        "tasks": list(tasks),
    }
