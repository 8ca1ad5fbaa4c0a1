"""Ids and instants of the rows of the bench's farm: the same each time that it is laid."""

import datetime as dt
import uuid

NOON = 12


def row_id(*parts: object) -> uuid.UUID:
    """Return the id of a row that is told apart by these parts."""
    return uuid.uuid5(uuid.NAMESPACE_OID, "/".join(str(part) for part in parts))


def instant(day: dt.date, hour: int = NOON) -> dt.datetime:
    """Return an hour of a day in UTC; its noon where none is told."""
    return dt.datetime.combine(day, dt.time(hour), dt.UTC)
