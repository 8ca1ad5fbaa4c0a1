"""What service is due when, from hours run, days gone by, acres worked and starts. Pure: no Django, no clock.

`meter` says what an hour meter shows at an instant, also where it was replaced; `readings` which readings cannot be
right; `outings` how often a thing went out; `due` what is left of a rule and when it runs out; `ahead` on which day it
is likely to.
"""

from scheduling.care.ahead import Use, expected_day
from scheduling.care.due import CareError, Every, Left, Run, Stretches, left_of, runs_out_min
from scheduling.care.meter import Meter, Reading, Replaced, Worked, meter_h, worked_since
from scheduling.care.outings import Seen, outings_since, ran_h, running_stretches, starts_since
from scheduling.care.readings import Apart, Backwards, Disagreement, TooFast, Unread, disagreements, unread

__all__ = [
    "Apart",
    "Backwards",
    "CareError",
    "Disagreement",
    "Every",
    "Left",
    "Meter",
    "Reading",
    "Replaced",
    "Run",
    "Seen",
    "Stretches",
    "TooFast",
    "Unread",
    "Use",
    "Worked",
    "disagreements",
    "expected_day",
    "left_of",
    "meter_h",
    "outings_since",
    "ran_h",
    "running_stretches",
    "runs_out_min",
    "starts_since",
    "unread",
    "worked_since",
]
