"""What a farm file may say of a soil zone beyond its texture: limits of its own, and a measured retention curve."""

from typing import Any

from farmops.farms.models import RETENTION_COLUMNS
from farmops.farms.services.json_facts import Node
from farmops.farms.services.ranges import RANGES

OWN_LIMITS = ("workable_m3_m3", "dry_m3_m3")


def measured_soil(node: Node) -> dict[str, Any]:
    """Return a zone's own limits and retention curve, as far as the file states them."""
    values: dict[str, Any] = {}
    limits = {key: node.optional_number(key, **RANGES[key]._asdict()) for key in OWN_LIMITS}
    if any(number is not None for number in limits.values()):
        values |= {key: None if number is None else float(number) for key, number in limits.items()}
        if None not in values.values() and values["dry_m3_m3"] >= values["workable_m3_m3"]:
            raise node.wrong("is not below workable_m3_m3", "dry_m3_m3")
    if node.raw("retention") is not None:
        curve = node.node("retention")
        for column in RETENTION_COLUMNS:
            key = column.removeprefix("retention_")
            values[column] = float(curve.number(key, **RANGES[column]._asdict()))
        if values["retention_residual_m3_m3"] >= values["retention_saturation_m3_m3"]:
            raise curve.wrong("is not below saturation_m3_m3", "residual_m3_m3")
        curve.finish()
    return values
