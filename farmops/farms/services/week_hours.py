"""Hours of the week in a farm file: shifts of hands, hours in which a pump is shut."""

from typing import Any

from django.utils.translation import gettext as _

from farmops.farms.services.json_facts import WEEKDAYS, Node


def hours_of(node: Node, key: str, flag: str | None = None) -> list[dict[str, Any]]:
    """Return stretches by weekday; those of one day do not overlap."""
    rows: list[dict[str, Any]] = []
    for item in node.nodes(key):
        starts, ends = item.time("from"), item.time("to")
        if ends <= starts:
            raise item.wrong(
                _("{ends} is not later than {starts}; split a stretch at midnight").format(
                    ends=f"{ends:%H:%M}", starts=f"{starts:%H:%M}"
                ),
                "to",
            )
        extra = {"is_overtime": item.flag("overtime", default=False)} if flag else {}
        for day in item.words("days", WEEKDAYS):
            weekday = WEEKDAYS.index(day)
            for other in rows:
                if other["weekday"] == weekday and starts < other["ends_at"] and other["starts_at"] < ends:
                    raise item.wrong(_("overlaps another stretch of {day}").format(day=day), "from")
            rows.append({"weekday": weekday, "starts_at": starts, "ends_at": ends, **extra})
        item.finish()
    return sorted(rows, key=lambda row: (row["weekday"], row["starts_at"]))
