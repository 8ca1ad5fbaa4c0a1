"""What the facts of an implement that pulls must hold together, whether they stand in a file or are entered."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from farmops.science.work_rate import DRAFT

GANG_ANGLES = ("gang_angle_min_deg", "gang_angle_max_deg")
COUNTED = ("tool_count", "bearings_front", "bearings_back")


class OddTool(NamedTuple):
    """A fact that does not go with the others, and why."""

    key: str
    says: str


def odd_tool(values: Mapping[str, Any]) -> OddTool | None:
    """Return the first fact of an implement that does not go with its others; None where all do."""
    kind = values.get("draft_kind") or ""
    if kind and kind not in DRAFT:
        return OddTool("draft_kind", f"{kind!r} is not one of {', '.join(DRAFT)}")
    if kind and DRAFT[kind].is_per_tool and values.get("tool_count") is None:
        return OddTool("tool_count", f"is missing: the pull of {kind} counts by shanks, rows or beds")
    if kind and DRAFT[kind].is_by_depth and values.get("depth_in") is None:
        return OddTool("depth_in", f"is missing: the pull of {kind} goes with the depth")
    least, most = (values.get(name) for name in GANG_ANGLES)
    if (least is None) != (most is None):
        return OddTool(GANG_ANGLES[least is not None], "is missing: the range of a gang angle has two ends")
    if least is not None and most is not None and least > most:
        return OddTool(GANG_ANGLES[1], f"{most} is less than {least}")
    return None
