"""The boxes of the forms by which a hand reports: what each asks, and where its answer goes in the report.

Labels are as short as they can be. What is typed is read by whoever receives the report, not here.
"""

from dataclasses import dataclass
from enum import StrEnum

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy


class Asks(StrEnum):
    """What a box asks for, which says how it is shown and what becomes of an answer."""

    TEXT = "text"
    NUMBER = "number"
    WHOLE = "whole"
    YES = "yes"  # a tick: true in the report
    HOUR = "hour"  # of the clock on the wall
    INSTANT = "instant"  # an hour, in the report with the day of the page
    ONE_OF = "one_of"
    PLACE = "place"  # two numbers, each with its own name in the report


@dataclass(frozen=True)
class Box:
    """One box: its name in the form, its label, what it asks for, and where the answer goes in the report's body."""

    name: str
    label: str | Promise
    asks: Asks = Asks.TEXT
    path: tuple[str, ...] = ()
    is_needed: bool = False
    choices: tuple[tuple[str, str | Promise], ...] = ()
    most: int = 200
    fold: str = ""
    offers: str = ""  # the list of the page that it offers words from

    @property
    def goes_to(self) -> tuple[str, ...]:
        return self.path or (self.name,)


ALL_OF_IT = "all"
PRODUCT_ROWS = 3
OFFERED = "offered"
"""Id of the list of products that the page offers."""
WINDS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")

HOW_MANY = (("none", pgettext_lazy("ridges", "none")), ("some", _("some")), ("many", _("many")))
CUT = (("shallow", _("too shallow")), ("right", _("right")), ("deep", _("too deep")))
STOPS = (
    ("plugged", _("plugged")),
    ("wet", _("too wet")),
    ("broken", _("broken")),
    ("debris", _("bone, wire, metal")),
    ("other", _("something else")),
)
INCIDENTS = (
    ("puncture", _("Flat tire")),
    ("breakage", _("Something broke")),
    ("stuck", _("Stuck")),
    ("near_miss", _("Nearly an accident")),
)
MENDINGS = (("none", _("nothing yet")), ("repair", _("repaired")), ("new_tire", _("new tire")))
LEVEL = (("front_low", _("front low")), ("level", _("level")), ("back_low", _("back low")))

METER = Box("meter", _("Hour meter now"), Asks.NUMBER)
NOTE = Box("note", _("Anything else"))
MACHINE = Box("machine", _("Machine"), Asks.ONE_OF, is_needed=True)
WHEN = _("At what hour (empty: now)")

WORK = (
    Box("pass_id", _("Which work"), Asks.ONE_OF, is_needed=True),
    Box("another", _("Yes, this is more work on it"), Asks.YES),
    Box("hours", _("Your hours"), Asks.NUMBER, is_needed=True),
    Box("finished", _("All done"), Asks.YES),
    Box("done_ac", _("Acres done"), Asks.NUMBER),
    METER,
    Box("not_done", _("Not done. Why?"), fold="not_done"),
    Box("too_wet", _("Too wet"), Asks.ONE_OF, fold="not_done"),
    *(
        Box(f"stop_{cause}", says, Asks.WHOLE, path=("stops", cause), fold="stops", most=4)
        for cause, says in STOPS
    ),
    Box("ridges", _("Ridges"), Asks.ONE_OF, path=("look", "ridges"), choices=HOW_MANY, fold="look"),
    Box("mounds", _("Heaps"), Asks.ONE_OF, path=("look", "mounds"), choices=HOW_MANY, fold="look"),
    Box("clods", _("Clods"), Asks.ONE_OF, path=("look", "clods"), choices=HOW_MANY, fold="look"),
    Box("cut", _("Cut"), Asks.ONE_OF, path=("look", "cut"), choices=CUT, fold="look"),
    Box("speed_mph", _("Speed, mph"), Asks.NUMBER, path=("settings", "speed_mph"), fold="settings"),
    Box("depth_in", _("Depth, inches"), Asks.NUMBER, path=("settings", "depth_in"), fold="settings"),
    Box(
        "gang_angle_deg",
        _("Gang angle, degrees"),
        Asks.NUMBER,
        path=("settings", "gang_angle_deg"),
        fold="settings",
    ),
    Box("level", _("Front to back"), Asks.ONE_OF, path=("settings", "level"), choices=LEVEL, fold="settings"),
    Box("starts", _("Began at"), Asks.HOUR, fold="more"),
    Box("machine_hours", _("Hours of the engine"), Asks.NUMBER, fold="more"),
    Box("note", _("Anything else"), most=500, fold="more"),
)
DAY = (
    Box("starts", _("Start"), Asks.HOUR, is_needed=True),
    Box("ends", _("Stop (empty: I am just starting)"), Asks.HOUR),
    Box("break_minutes", _("Break, minutes"), Asks.WHOLE),
    Box("offered_hours", _("Hours offered"), Asks.NUMBER, fold="fewer"),
    Box("worked_hours", _("Hours worked"), Asks.NUMBER, fold="fewer"),
    Box("why_fewer", _("Why fewer"), fold="fewer"),
)
FUEL = (
    MACHINE,
    Box("gallons", _("Gallons"), Asks.NUMBER, is_needed=True),
    METER,
    Box("tank", _("From which tank"), Asks.ONE_OF),
    Box("filled_at", WHEN, Asks.INSTANT, fold="more"),
    Box("note", _("Anything else"), fold="more"),
)
INCIDENT = (
    Box("kind", _("What happened"), Asks.ONE_OF, is_needed=True, choices=INCIDENTS),
    Box("field", _("Field"), Asks.ONE_OF),
    Box("machine", _("Machine"), Asks.ONE_OF),
    Box("implement", _("Implement"), Asks.ONE_OF),
    Box("wheel", _("Which tire"), most=40),
    Box("met", _("What it hit (bone, wire …)"), most=80),
    Box("lost_minutes", _("Minutes lost"), Asks.WHOLE),
    Box("mending", _("Mended"), Asks.ONE_OF, choices=MENDINGS, fold="more"),
    Box("place", _("Place, in degrees"), Asks.PLACE, fold="more"),
    Box("happened_at", WHEN, Asks.INSTANT, fold="more"),
    Box("note", _("Anything else"), most=500, fold="more"),
)
SPRAY = (
    Box("field", "", Asks.TEXT, is_needed=True, most=40),
    Box("pass_id", "", Asks.WHOLE),
    Box("operation", "", Asks.TEXT, most=20),
    Box("started_at", _("Start"), Asks.INSTANT, is_needed=True),
    Box("ended_at", _("Stop"), Asks.INSTANT, is_needed=True),
    Box("treated_ac", _("Acres sprayed"), Asks.NUMBER, is_needed=True),
    Box("crop", _("Crop"), is_needed=True, most=40),
    Box("reentry_h", _("Stay out, hours (label)"), Asks.NUMBER, is_needed=True),
    Box("plant_back_days", _("Days to planting (label)"), Asks.WHOLE),
    Box("wind_mph", _("Wind, mph"), Asks.NUMBER),
    Box("wind_from", _("Wind from"), Asks.ONE_OF, choices=tuple((wind, wind) for wind in WINDS)),
    Box("temp_f", _("Temperature, °F"), Asks.NUMBER),
    NOTE,
)
PRODUCT = (
    Box("name", _("Product"), most=80, is_needed=True, offers=OFFERED),
    Box("registration_no", _("Registration number"), most=30),
    Box("rate", _("Rate, an acre"), Asks.NUMBER, is_needed=True),
    Box("unit", _("Unit"), most=12, is_needed=True),
    Box("total", _("Total"), Asks.NUMBER, is_needed=True),
    Box("restricted", _("Restricted use"), Asks.YES),
)
CARE = (
    Box("stop_id", "", Asks.WHOLE),
    Box("rule", _("Which service"), Asks.ONE_OF, is_needed=True),
    Box("minutes", _("Minutes it took"), Asks.WHOLE, is_needed=True),
    METER,
    Box("parts", _("Parts and oil"), fold="more"),
    Box("parts_dollars", _("What they cost, dollars"), Asks.NUMBER, fold="more"),
    Box("done_at", WHEN, Asks.INSTANT, fold="more"),
    Box("note", _("Anything else"), most=500, fold="more"),
)
READ_METER = (
    MACHINE,
    Box("reading", _("Hour meter now"), Asks.NUMBER, is_needed=True),
    Box("read_at", WHEN, Asks.INSTANT, fold="more"),
)
BOXES: dict[str, tuple[Box, ...]] = {
    "work": WORK,
    "day": DAY,
    "fuel": FUEL,
    "incident": INCIDENT,
    "spray": SPRAY,
    "care": CARE,
    "meter": READ_METER,
    "check": (Box("note", _("Not fine? Tick only that one, say what")),),
}
