"""Physical facts of a farm. Every row belongs to a farm; the database keeps another farm's rows out."""

from farmops.farms.models.care import CarePlace, CareRule, CareRuleHand
from farmops.farms.models.crop_water import CropWaterFacts
from farmops.farms.models.farm import Farm, Membership, Region, Role, farm_of
from farmops.farms.models.fields import RETENTION_COLUMNS, Crop, Field, Season, SoilZone
from farmops.farms.models.fuel import Fuel, FuelTank
from farmops.farms.models.irrigation import Pivot, Pump, PumpShutHours
from farmops.farms.models.late_planting import LatePlantingFacts
from farmops.farms.models.links import SignInLink
from farmops.farms.models.outfits import (
    WORKING_KINDS,
    Hand,
    HandAway,
    HandLicense,
    HandSkill,
    Implement,
    ImplementOperation,
    Machine,
    MachineKind,
    Shift,
)
from farmops.farms.models.starting import StartFile, StartKind

__all__ = [
    "RETENTION_COLUMNS",
    "WORKING_KINDS",
    "CarePlace",
    "CareRule",
    "CareRuleHand",
    "Crop",
    "CropWaterFacts",
    "Farm",
    "Field",
    "Fuel",
    "FuelTank",
    "Hand",
    "HandAway",
    "HandLicense",
    "HandSkill",
    "Implement",
    "ImplementOperation",
    "LatePlantingFacts",
    "Machine",
    "MachineKind",
    "Membership",
    "Pivot",
    "Pump",
    "PumpShutHours",
    "Region",
    "Role",
    "Season",
    "Shift",
    "SignInLink",
    "SoilZone",
    "StartFile",
    "StartKind",
    "farm_of",
]
