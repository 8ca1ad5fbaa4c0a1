"""What was typed into the boxes of a service rule."""

from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.models import CarePlace, Farm, Hand, Implement, Machine, Pivot
from farmops.pages.boxes import Boxes

WHOLE = ("every_days", "every_starts", "takes_min")
RULE_NAMES = {"machine": "what", "implement": "what", "pivot": "what"}
LONGEST_WHAT = 80


def rule_values(
    boxes: Boxes, hand_codes: list[str], *, farm: Farm, thing: Machine | Implement | Pivot
) -> dict[str, Any]:
    """Return the columns of a rule as they were typed; what was not understood stands in `boxes.wrong`."""
    values: dict[str, Any] = {
        "what": boxes.note("what")[:LONGEST_WHAT],
        "what_es": boxes.note("what_es")[:LONGEST_WHAT],
        "every_h": boxes.number_if_any("every_h"),
        "every_days": _whole(boxes, "every_days"),
        "every_starts": _whole(boxes, "every_starts"),
        "takes_min": _whole(boxes, "takes_min"),
        "is_must": boxes.text("is_must") == "yes",
        "is_used": boxes.text("is_used") == "yes",
        "source": boxes.note("source"),
        "place": CarePlace.FIELD.value,
        "counts_from_on": boxes.day("counts_from_on") if boxes.text("counts_from_on") else None,
    }
    if not isinstance(thing, Pivot):
        values["every_ac"] = boxes.number_if_any("every_ac")
        values["place"] = boxes.one_of("place", CarePlace.values, says=_("Say where it is done."))
    if isinstance(thing, Machine):
        values["counts_from_h"] = boxes.number_if_any("counts_from_h")
        if values["counts_from_h"] is not None and not values["counts_from_on"]:
            boxes.wrong.setdefault("counts_from_on", _("Give the day on which the meter showed that."))
    if not values["what"]:
        boxes.wrong["what"] = _("Say what is done.")
    if not values["source"]:
        boxes.wrong["source"] = _("Say whose number it is: the maker's manual, or your own.")
    if values["takes_min"] is None:
        boxes.wrong.setdefault("takes_min", _("Say how many minutes it takes."))
    codes = set(hand_codes)
    values["hands"] = [{"hand": hand} for hand in Hand.objects.filter(farm=farm, code__in=codes)]
    return values


def _whole(boxes: Boxes, name: str) -> int | None:
    number: Decimal | None = boxes.number_if_any(name)
    if number is None:
        return None
    if number % 1:
        boxes.wrong[name] = _("That is a whole number.")
        return None
    return int(number)
