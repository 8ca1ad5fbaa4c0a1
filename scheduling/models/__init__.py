"""Passes, the grower's say-so, week plans, work records: the work of a farm, without money."""

from scheduling.models.care import CareDone, CheckTicked, PlannedCare, ReadingSetAside
from scheduling.models.debris import DebrisNumbers, IncidentMended, IncidentPlace, Mending, PlacedBy
from scheduling.models.field_facts import LimitChoice, PivotPlace, Remark, RemarkWord, Spraying, Watering
from scheduling.models.fuel import FuelDelivery, FuelFill, TankReading
from scheduling.models.orders import OrderLaidField, OrderLaying, OrderOfWork, OrderTakenBack, OrderVersion
from scheduling.models.passes import FieldPass, PassLink, PassState, SaySo, SaySoWord
from scheduling.models.plans import PlannedTask, PlanState, WeekPlan
from scheduling.models.reports import (
    CutWord,
    FieldReport,
    LookWord,
    MeterReplaced,
    ParkedReport,
    ParkedState,
    ReportKind,
    ReportPhoto,
    StopCause,
    WorkDay,
    WorkLook,
    WorkSetting,
    WorkStop,
)
from scheduling.models.sprays import SprayDetail, SprayProduct
from scheduling.models.work import HourReading, Incident, IncidentKind, InputUse, WorkRecord
from scheduling.models.zone_limits import ZoneLimitChange

__all__ = [
    "CareDone",
    "CheckTicked",
    "CutWord",
    "DebrisNumbers",
    "FieldPass",
    "FieldReport",
    "FuelDelivery",
    "FuelFill",
    "HourReading",
    "Incident",
    "IncidentKind",
    "IncidentMended",
    "IncidentPlace",
    "InputUse",
    "LimitChoice",
    "LookWord",
    "Mending",
    "MeterReplaced",
    "OrderLaidField",
    "OrderLaying",
    "OrderOfWork",
    "OrderTakenBack",
    "OrderVersion",
    "ParkedReport",
    "ParkedState",
    "PassLink",
    "PassState",
    "PivotPlace",
    "PlacedBy",
    "PlanState",
    "PlannedCare",
    "PlannedTask",
    "ReadingSetAside",
    "Remark",
    "RemarkWord",
    "ReportKind",
    "ReportPhoto",
    "SaySo",
    "SaySoWord",
    "SprayDetail",
    "SprayProduct",
    "Spraying",
    "StopCause",
    "TankReading",
    "Watering",
    "WeekPlan",
    "WorkDay",
    "WorkLook",
    "WorkRecord",
    "WorkSetting",
    "WorkStop",
    "ZoneLimitChange",
]
