"""The hand's page as it is kept: while nothing of it changes, only what is of one answer is put into it anew."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from django.db.models import Model
from django.utils.safestring import SafeString

from farmops.core.clock import local_date
from farmops.farms.models import (
    CareRule,
    CareRuleHand,
    Farm,
    Field,
    FuelTank,
    Hand,
    HandAway,
    HandLicense,
    Implement,
    Machine,
    Pivot,
    Pump,
    Season,
    SoilZone,
)
from farmops.farms.operations import SPRAYING
from farmops.pages.day_page import day_facts
from farmops.pages.kept_parts import KeptParts, hole
from farmops.pages.shown_forms import Form
from farmops.weather.models import DailyWeather, ForecastIssue, Station
from scheduling.models import (
    CareDone,
    CheckTicked,
    FieldPass,
    FieldReport,
    ParkedReport,
    PlannedCare,
    PlannedTask,
    SaySo,
    Spraying,
    SprayProduct,
    WeekPlan,
    WorkDay,
    WorkLook,
    WorkRecord,
    WorkSetting,
)
from scheduling.selectors.care import care_due, care_rules
from scheduling.selectors.day_rows import day_bounds
from scheduling.selectors.passes import OPEN_STATES
from scheduling.selectors.plan_documents import DOCUMENTS
from scheduling.selectors.plans import LONGEST_DAYS
from scheduling.selectors.row_marks import Marked, mark_of

MAY_CHANGE: tuple[type[Model], ...] = (
    Field,
    SoilZone,
    Season,
    Machine,
    Implement,
    Pivot,
    Pump,
    Hand,
    HandAway,
    HandLicense,
    CareRule,
    CareRuleHand,
    FuelTank,
    SaySo,
    ParkedReport,
    Station,
    DailyWeather,
    ForecastIssue,
)
ONLY_ADDED: Mapping[type[Model], str] = {
    WorkRecord: "recorded_at",
    WorkDay: "recorded_at",
    WorkLook: "",
    WorkSetting: "",
    CareDone: "recorded_at",
    CheckTicked: "recorded_at",
    Spraying: "recorded_at",
    SprayProduct: "",
    FieldReport: "received_at",
}
"""Rows that are only ever added, with the column of when they were where they have one."""


def kept_body(
    *,
    farm: Farm,
    hand: Hand,
    day: dt.date,
    now: dt.datetime,
    days: Sequence[dt.date],
    own: Mapping[str, Callable[[], str]],
) -> SafeString:
    """Return a hand's page of a day but for its head, as `day_facts` has it now.

    `own` gives what is of one answer, by the name under which the template has it. What services have left is worked
    out anew each time, since it is another from one instant to the next.
    """
    kept = KeptParts(partial(day_mark, farm=farm, hand=hand, day=day), of=farm.pk)
    asked = (
        farm.pk,
        hand.pk,
        day,
        local_date(now, farm.zone),
        tuple(days),
        _left_of_services(farm, day, now),
    )

    def facts() -> Mapping[str, Any]:
        told = day_facts(farm=farm, hand=hand, day=day, now=now, days=days)
        return {"farm": farm, **told, **_sent_anew(told)}

    return kept.part("pages/day_body.html", asked=asked, facts=facts, own=own)


def _sent_anew(told: Mapping[str, Any]) -> dict[str, Any]:
    """Return the parts of a page that hold forms, these with a hole in the place of their ids."""

    def anew(form: Form | None) -> Form | None:
        return None if form is None else replace(form, client_id=hole("client_id"))

    for row in told["jobs"]:
        if "slip" in row:
            row["forms"] = {name: anew(form) for name, form in row["forms"].items()}
        else:
            row["form"] = anew(row["form"])
    return {"other_forms": [anew(form) for form in told["other_forms"]]}


def _left_of_services(farm: Farm, day: dt.date, now: dt.datetime) -> tuple[Any, ...]:
    """Return what is left of each service at the instants that a page of a day asks for."""
    begins, ends = day_bounds(day=day, zone=farm.zone)
    rules = list(care_rules(farm=farm))
    return tuple(
        (one.rule.pk, one.left)
        for at in (now, min(max(now, begins), ends))
        for one in care_due(farm=farm, at=at, rules=rules)
    )


def day_mark(*, farm: Farm, hand: Hand, day: dt.date) -> str:
    """Return the mark of all that a hand's page of a day is made from, but for what `kept_body` asks anew.

    Of passes that are over it holds those that the hand was planned for near that day, and the sprayings of their fields.
    """
    return mark_of(farm, _marked, hand.pk, day)


def _marked(farm_id: int, hand_id: int, day: dt.date) -> list[Marked]:
    noon = dt.datetime.combine(day, dt.time(12), dt.UTC)
    near = (noon - dt.timedelta(days=LONGEST_DAYS + 3), noon + dt.timedelta(days=3))
    tasks = PlannedTask.objects.filter(hand=hand_id, plan__starts_at__range=near)
    stops = PlannedCare.objects.filter(farm=farm_id, plan__starts_at__range=near)
    changed = [
        *((model.__name__, model._default_manager.filter(farm=farm_id)) for model in MAY_CHANGE),
        ("plans", WeekPlan.objects.filter(farm=farm_id).defer(*DOCUMENTS)),
        ("tasks", tasks),
        ("stops", stops),
        ("open", FieldPass.objects.filter(farm=farm_id, state__in=OPEN_STATES)),
        ("passes", FieldPass.objects.filter(pk__in=tasks.values("field_pass"))),
        (
            "sprayed",
            FieldPass.objects.filter(operation__in=SPRAYING, season__field__in=tasks.values("field")),
        ),
    ]
    added = (
        Marked(model.__name__, model._default_manager.filter(farm=farm_id), added_at=at)
        for model, at in ONLY_ADDED.items()
    )
    return [*(Marked(name, rows, columns=("pk",)) for name, rows in changed), *added]
