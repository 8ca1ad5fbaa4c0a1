"""An order of work: the steps of a crop and tillage system, their gaps, and the days they leave around planting. Pure.

`steps` says what an order is, `checks` what is wrong with one and where, `dates` between which days each step can
stand once a field has its planting window.
"""

from scheduling.orders.checks import troubles_of
from scheduling.orders.dates import Bound, Dated, NoRoom, dates_of
from scheduling.orders.steps import CROPS, MOST_STEPS, TILLAGES, Order, OrderError, OrderStep, Trouble

__all__ = [
    "CROPS",
    "MOST_STEPS",
    "TILLAGES",
    "Bound",
    "Dated",
    "NoRoom",
    "Order",
    "OrderError",
    "OrderStep",
    "Trouble",
    "dates_of",
    "troubles_of",
]
