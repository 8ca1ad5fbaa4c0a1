"""Reading service rules and what a crop loses when it is planted late, from a farm's file."""

from collections.abc import Mapping, Sequence
from typing import Any

from farmops.farms.lateness import LatenessError
from farmops.farms.models import CarePlace, Crop
from farmops.farms.services.farm_rows import Row, number, number_or_none
from farmops.farms.services.json_facts import Node
from farmops.farms.services.late_planting import check_late_planting, plain_losses

COUNTS = ("every_h", "every_days", "every_ac", "every_starts")
WHOLE = ("every_days", "every_starts")


def read_care_rule(node: Node, things: Mapping[str, Sequence[str]], hands: Sequence[str]) -> Row:
    """Return the row of a service rule; `things` are the codes of machines, implements and the fields of pivots."""
    named = {
        kind: node.code(kind, known=codes, what=kind)
        for kind, codes in things.items()
        if node.raw(kind) is not None
    }
    if len(named) != 1:
        raise node.wrong(
            "a service is of one machine, implement or pivot: name it as machine, implement or pivot"
        )
    every: dict[str, Any] = {name: number_or_none(node, name) for name in COUNTS}
    if not any(every.values()):
        raise node.wrong("how often is missing: every_h, every_days, every_ac or every_starts")
    if "pivot" in named and every["every_ac"] is not None:
        raise node.wrong("a pivot is served by hours, days or starts, not by acres", "every_ac")
    if "machine" not in named and node.raw("counts_from_h") is not None:
        raise node.wrong("only a machine has an hour meter", "counts_from_h")
    stands = CarePlace.FIELD if "pivot" in named else CarePlace.YARD
    place = node.choice("place", CarePlace.values, default=stands)
    if "pivot" in named and place != CarePlace.FIELD:
        raise node.wrong("a pivot is served where it stands: field", "place")
    who = node.words("hands", hands) if node.raw("hands") is not None else []
    return Row(
        key={"code": node.code("code")},
        values={
            **every,
            **{name: None if every[name] is None else int(every[name]) for name in WHOLE},
            "what": node.text("what", most=80),
            "what_es": node.text("what_es", most=80, default=""),
            "takes_min": int(number(node, "takes_min")),
            "place": place,
            "is_must": node.flag("is_must", default=False),
            "counts_from_h": number_or_none(node, "counts_from_h"),
            "counts_from_on": node.optional_date("counts_from_on"),
            "source": node.text("source", most=200),
        },
        points_to=named,
        rows={"hands": [{"hand": code} for code in who]},
    )


def read_late_planting(node: Node) -> Row:
    """Return the row of a crop's value and curve of loss."""
    losses = None
    if node.raw("losses") is not None:
        losses = []
        for one in node.nodes("losses"):
            losses.append({key: one.raw(key) for key in ("after", "per_day", "at_once", "source")})
            one.finish()
    values: dict[str, Any] = {
        "yield_per_ac": number(node, "yield_per_ac"),
        "yield_unit": node.text("yield_unit", most=12),
        "price_usd": number(node, "price_usd"),
        "curve": node.code("curve") if node.raw("curve") is not None else "",
        "losses": None,
        "is_in_pct": node.flag("is_in_pct", default=True),
        "source": node.text("source", most=200, default=""),
    }
    crop = node.choice("crop", Crop.values)
    try:
        if losses is not None:
            given = [{key: value for key, value in one.items() if value is not None} for one in losses]
            values["losses"] = plain_losses(given)
        check_late_planting(crop=crop, **values)
    except LatenessError as error:
        raise node.wrong(str(error), "losses" if losses is not None else "curve") from error
    return Row(key={"crop": crop}, values=values)
