"""Passes, the grower's say-so, week plans, work records: the work of a farm, without money."""

from scheduling.models.care import CareDone, PlannedCare
from scheduling.models.field_facts import LimitChoice, PivotPlace, Remark, RemarkWord, Spraying, Watering
from scheduling.models.passes import FieldPass, PassLink, PassState, SaySo, SaySoWord
from scheduling.models.plans import PlannedTask, PlanState, WeekPlan
from scheduling.models.work import HourReading, Incident, IncidentKind, InputUse, WorkRecord
from scheduling.models.zone_limits import ZoneLimitChange

__all__ = [
    "CareDone",
    "FieldPass",
    "HourReading",
    "Incident",
    "IncidentKind",
    "InputUse",
    "LimitChoice",
    "PassLink",
    "PassState",
    "PivotPlace",
    "PlanState",
    "PlannedCare",
    "PlannedTask",
    "Remark",
    "RemarkWord",
    "SaySo",
    "SaySoWord",
    "Spraying",
    "Watering",
    "WeekPlan",
    "WorkRecord",
    "ZoneLimitChange",
]
