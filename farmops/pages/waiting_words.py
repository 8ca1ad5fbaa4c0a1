"""What people call the values of a report, and the choices of its forms, in the reader's language."""

import re

from django.utils.translation import gettext_noop

from farmops.pages import words

WORDS_JOINED = re.compile(r"[a-z]+(_[a-z]+)+")
"""A choice of a form as it is sent, such as `new_tire`."""
LABELS = {
    "pass_id": gettext_noop("Pass"),
    "another": gettext_noop("More work on it"),
    "break_minutes": gettext_noop("Minutes of the break"),
    "cause": gettext_noop("Cause"),
    "check_key": gettext_noop("Check"),
    "clods": gettext_noop("Clods"),
    "crop": gettext_noop("Crop"),
    "cut": gettext_noop("Cut"),
    "depth_in": gettext_noop("Depth in"),
    "done_ac": gettext_noop("Acres done"),
    "done_at": gettext_noop("Done at"),
    "ended_at": gettext_noop("Ended at"),
    "ends": gettext_noop("Stop"),
    "field": gettext_noop("Field"),
    "filled_at": gettext_noop("Filled at"),
    "fine": gettext_noop("Fine"),
    "finished": gettext_noop("All done"),
    "fuel": gettext_noop("Fuel"),
    "gallons": gettext_noop("Gallons"),
    "gang_angle_deg": gettext_noop("Gang angle deg"),
    "happened_at": gettext_noop("Happened at"),
    "hours": gettext_noop("Hours"),
    "implement": gettext_noop("Implement"),
    "kind": gettext_noop("What happened"),
    "latitude_deg": gettext_noop("Latitude"),
    "level": gettext_noop("Level"),
    "longitude_deg": gettext_noop("Longitude"),
    "look": gettext_noop("How it looked"),
    "lost_minutes": gettext_noop("Minutes lost"),
    "machine": gettext_noop("Machine"),
    "machine_hours": gettext_noop("Hours of the engine"),
    "mending": gettext_noop("Mended"),
    "met": gettext_noop("What it hit"),
    "meter": gettext_noop("Hour meter"),
    "minutes": gettext_noop("Minutes"),
    "mounds": gettext_noop("Mounds"),
    "name": gettext_noop("Name"),
    "not_done": gettext_noop("Not done, why"),
    "note": gettext_noop("Note"),
    "offered_hours": gettext_noop("Hours offered"),
    "operation": gettext_noop("Work"),
    "parts": gettext_noop("Parts"),
    "parts_dollars": gettext_noop("Parts, $"),
    "passes": gettext_noop("Passes"),
    "placed_by": gettext_noop("Place from"),
    "plant_back_days": gettext_noop("Days until the next crop"),
    "products": gettext_noop("Products"),
    "puncture": gettext_noop("Flat tire"),
    "rate": gettext_noop("Rate"),
    "read_at": gettext_noop("Read at"),
    "reading": gettext_noop("Hour meter"),
    "reentry_h": gettext_noop("Stay out, hours"),
    "registration_no": gettext_noop("Registration number"),
    "restricted": gettext_noop("Restricted-use"),
    "ridges": gettext_noop("Ridges"),
    "rule": gettext_noop("Service"),
    "settings": gettext_noop("What was set"),
    "speed_mph": gettext_noop("Speed mph"),
    "started_at": gettext_noop("Started at"),
    "starts": gettext_noop("Start"),
    "stop_id": gettext_noop("Planned stop"),
    "stops": gettext_noop("Stops"),
    "tank": gettext_noop("Tank"),
    "temp_f": gettext_noop("Warmth, °F"),
    "too_wet": gettext_noop("Too wet"),
    "total": gettext_noop("Total"),
    "treated_ac": gettext_noop("Acres treated"),
    "unit": gettext_noop("Unit"),
    "wheel": gettext_noop("Tire"),
    "why_fewer": gettext_noop("Why fewer"),
    "wind_from": gettext_noop("Wind from"),
    "wind_mph": gettext_noop("Wind, mph"),
    "work_on": gettext_noop("Day"),
    "worked_hours": gettext_noop("Hours worked"),
}
CHOSEN = (
    gettext_noop("none"),
    gettext_noop("some"),
    gettext_noop("many"),
    gettext_noop("shallow"),
    gettext_noop("right"),
    gettext_noop("deep"),
    gettext_noop("front low"),
    gettext_noop("level"),
    gettext_noop("back low"),
    gettext_noop("puncture"),
    gettext_noop("breakage"),
    gettext_noop("stuck"),
    gettext_noop("near miss"),
    gettext_noop("repair"),
    gettext_noop("new tire"),
    gettext_noop("phone"),
    gettext_noop("tapped"),
    gettext_noop("typed"),
    gettext_noop("plugged"),
    gettext_noop("wet"),
    gettext_noop("broken"),
    gettext_noop("debris"),
    gettext_noop("other"),
    gettext_noop("all"),
    gettext_noop("cotton"),
    gettext_noop("peanuts"),
    gettext_noop("corn"),
    gettext_noop("soybeans"),
)
"""The choices of forms that are said in the reader's language."""


def label_of(name: str) -> str:
    """Return what people call a value of a report."""
    return words.named(LABELS.get(name, words.capital(name.replace("_", " "))))


def chosen_said(text: str) -> str:
    """Return what was sent as people say it: a choice of a form in words, dates as they are said."""
    chosen = text.replace("_", " ") if WORDS_JOINED.fullmatch(text) else text
    return words.named(chosen) if chosen in CHOSEN else words.dates_said(chosen)
