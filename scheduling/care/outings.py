"""How often a thing went out, and how long a pivot ran: counted from work and from what was seen. Pure."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Seen:
    """A pivot as somebody saw it: whether it ran, and at which angle, degrees clockwise from north."""

    at: dt.datetime
    is_running: bool
    angle_deg: Decimal | None = None


def outings_since(began: Iterable[dt.datetime], since: dt.datetime | None, zone: ZoneInfo) -> int:
    """Return on how many days of the farm's clock something went out, of the work that began at or after an instant."""
    return len({at.astimezone(zone).date() for at in began if since is None or at >= since})


def running_stretches(seen: Sequence[Seen], until: dt.datetime) -> list[tuple[dt.datetime, dt.datetime]]:
    """Return the stretches in which a pivot ran up to an instant: from a sight of it running to the next of it standing.

    Sights may come in any order. What ran when it was last seen counts as running until `until`.
    """
    stretches: list[tuple[dt.datetime, dt.datetime]] = []
    began: dt.datetime | None = None
    for one in sorted((one for one in seen if one.at <= until), key=lambda one: one.at):
        if one.is_running and began is None:
            began = one.at
        elif not one.is_running and began is not None:
            stretches.append((began, one.at))
            began = None
    if began is not None and began < until:
        stretches.append((began, until))
    return stretches


def ran_h(stretches: Iterable[tuple[dt.datetime, dt.datetime]], since: dt.datetime | None) -> Decimal:
    """Return the hours of such stretches from an instant on; of all of them where it is None."""
    minutes = 0
    for begins, ends in stretches:
        first = begins if since is None else max(begins, since)
        minutes += max(0, (ends - first) // dt.timedelta(minutes=1))
    return Decimal(minutes) / 60


def starts_since(stretches: Iterable[tuple[dt.datetime, dt.datetime]], since: dt.datetime | None) -> int:
    """Return how many of such stretches began at or after an instant: the starts of a pivot."""
    return sum(since is None or begins >= since for begins, _ in stretches)
