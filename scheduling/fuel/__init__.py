"""Fuel in numbers: a fill-up shared to the work that burned it, and what a tank lacks. Pure: no Django, no clock.

`shares` shares gallons out to the tenth; `burned` says which work a fill-up pays for; `tanks` says what is not
accounted for between two readings of a tank.
"""

from scheduling.fuel.burned import Burned, Fill, Ran, burned_by_fill
from scheduling.fuel.shares import FuelError, share_gallons
from scheduling.fuel.tanks import Flow, Level, Stretch, since_reading, stretches

__all__ = [
    "Burned",
    "Fill",
    "Flow",
    "FuelError",
    "Level",
    "Ran",
    "Stretch",
    "burned_by_fill",
    "share_gallons",
    "since_reading",
    "stretches",
]
