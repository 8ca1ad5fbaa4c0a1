"""Windows: when a pass may be worked, and which limit shuts the rest. Pure: NumPy and the standard library.

`ground.work_out` carries the soil's water and warmth through the weather that was and the members of the weather that
may come; `judging.judge` holds it against the limits (`fixtures/limits.csv`), the grower's say-so and the power
supplier's hours, and tells for each stretch how likely it is open or which limit shuts it.
"""

from scheduling.windows.hours import horizon_min
from scheduling.windows.judging import Horizon, Judge, WorkAsked, judge
from scheduling.windows.limits import Limit, LimitsError
from scheduling.windows.limits_file import load_limits
from scheduling.windows.report import (
    AdviceStretch,
    GroundDay,
    OpenStretch,
    PassWindows,
    ShutStretch,
    UnknownPass,
    WindowsReport,
    ZoneGround,
)

__all__ = [
    "AdviceStretch",
    "GroundDay",
    "Horizon",
    "Judge",
    "Limit",
    "LimitsError",
    "OpenStretch",
    "PassWindows",
    "ShutStretch",
    "UnknownPass",
    "WindowsReport",
    "WorkAsked",
    "ZoneGround",
    "horizon_min",
    "judge",
    "load_limits",
]
