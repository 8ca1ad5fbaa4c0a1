"""Physical facts of a farm. Every row belongs to a farm; the database keeps another farm's rows out."""

from farmops.farms.models.farm import Farm, Membership, Role, farm_of
from farmops.farms.models.fields import Crop, Field, Season, SoilZone
from farmops.farms.models.irrigation import Pivot, Pump, PumpShutHours
from farmops.farms.models.outfits import (
    Hand,
    HandAway,
    HandSkill,
    Implement,
    ImplementOperation,
    Machine,
    Shift,
)

__all__ = [
    "Crop",
    "Farm",
    "Field",
    "Hand",
    "HandAway",
    "HandSkill",
    "Implement",
    "ImplementOperation",
    "Machine",
    "Membership",
    "Pivot",
    "Pump",
    "PumpShutHours",
    "Role",
    "Season",
    "Shift",
    "SoilZone",
    "farm_of",
]
