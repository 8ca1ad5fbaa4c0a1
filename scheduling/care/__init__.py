"""What service is due when, from hours run, days gone by and acres worked. Pure: no Django, no clock.

`meter` says what an hour meter shows at an instant; `due` says what is left of a rule and when it runs out.
"""

from scheduling.care.due import CareError, Every, Left, Run, Stretches, left_of, runs_out_min
from scheduling.care.meter import Reading, Worked, meter_h, worked_since

__all__ = [
    "CareError",
    "Every",
    "Left",
    "Reading",
    "Run",
    "Stretches",
    "Worked",
    "left_of",
    "meter_h",
    "runs_out_min",
    "worked_since",
]
