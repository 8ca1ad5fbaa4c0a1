"""Hours of the week in a farm file: shifts of hands, hours in which a pump is shut."""

from typing import Any

from farmops.farms.services.json_facts import WEEKDAYS, Node


def hours_of(node: Node, key: str, flag: str | None = None) -> list[dict[str, Any]]:
    """Return stretches by weekday; those of one day do not overlap."""
    rows: list[dict[str, Any]] = []
    for item in node.nodes(key):
        starts, ends = item.time("from"), item.time("to")
        if ends <= starts:
            raise item.wrong(
                f"{ends:%H:%M} is not later than {starts:%H:%M}; split a stretch at midnight", "to"
            )
        extra = {"is_overtime": item.flag("overtime", default=False)} if flag else {}
        for day in item.words("days", WEEKDAYS):
            weekday = WEEKDAYS.index(day)
            for other in rows:
                if other["weekday"] == weekday and starts < other["ends_at"] and other["starts_at"] < ends:
                    raise item.wrong(f"overlaps another stretch of {day}", "from")
            rows.append({"weekday": weekday, "starts_at": starts, "ends_at": ends, **extra})
        item.finish()
    return sorted(rows, key=lambda row: (row["weekday"], row["starts_at"]))
