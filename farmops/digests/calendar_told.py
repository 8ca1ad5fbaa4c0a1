"""What a calendar shows of one stretch of time. Pure: no Django."""

import datetime as dt
import hashlib
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Told:
    """A stretch of a day of the farm's clock; one of whole days runs from midnight to midnight."""

    local_day: dt.date
    starts_at: dt.datetime
    ends_at: dt.datetime
    summary: str
    place: str = ""
    says: str = ""
    is_all_day: bool = False

    @property
    def told_hash(self) -> str:
        """Return a hash of all that a calendar shows."""
        hours = (self.starts_at.astimezone(dt.UTC).isoformat(), self.ends_at.astimezone(dt.UTC).isoformat())
        shown = (*hours, self.summary, self.place, self.says, *(["all day"] if self.is_all_day else []))
        return hashlib.sha256(repr(shown).encode()).hexdigest()

    def columns(self) -> dict[str, object]:
        """Return all of it by the names under which it is kept."""
        return {**asdict(self), "told_hash": self.told_hash}
