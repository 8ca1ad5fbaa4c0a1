"""Write a calendar as a file that calendars read (RFC 5545, with RFC 7986 for its name and pace). Pure: no Django.

Hours are those of the farm's clock, with the clock's changes told in the file. No alarm, no phone number, no link.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

from farmops.digests.squash import one_line

MADE_BY = "-//Farm operations//Day of a hand//EN"
LONGEST_OCTETS = 75
ONE_DAY = dt.timedelta(days=1)
PACE = dt.timedelta(hours=1)
"""Farm judgement: how often a calendar should look again. Many look when they like."""


@dataclass(frozen=True)
class CalendarEntry:
    """One stretch of time; `sequence_no` grows with each change, the instants know their zone.

    One of whole days runs from midnight to midnight of the farm's clock, and leaves its reader free for other things.
    """

    uid: str
    starts_at: dt.datetime
    ends_at: dt.datetime
    changed_at: dt.datetime
    summary: str
    place: str = ""
    says: str = ""
    sequence_no: int = 0
    is_cancelled: bool = False
    is_all_day: bool = False


def calendar_file(*, entries: Sequence[CalendarEntry], zone: str, name: str = "") -> bytes:
    """Return the file: CRLF, lines of at most 75 octets, UTF-8. A `name` makes it a calendar that is looked at again.

    The same entries give the same bytes. Raises ValueError for an entry that does not end after it begins.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{MADE_BY}", "CALSCALE:GREGORIAN", "METHOD:PUBLISH"]
    if name:
        hours = f"PT{int(PACE.total_seconds()) // 3600}H"
        lines += [f"NAME:{_text(name)}", f"X-WR-CALNAME:{_text(name)}"]
        lines += [f"REFRESH-INTERVAL;VALUE=DURATION:{hours}", f"X-PUBLISHED-TTL:{hours}"]
    told = [_written(lines)]
    with_hours = [one for one in entries if not one.is_all_day]
    if with_hours:
        clock = ZoneInfo(zone)
        first_year = min(one.starts_at for one in with_hours).astimezone(clock).year
        last_year = max(one.ends_at for one in with_hours).astimezone(clock).year
        told.append(_clock(zone, first_year, last_year))
    told += [_written(list(_entry_lines(entry, zone))) for entry in entries]
    return b"".join([*told, _written(["END:VCALENDAR"])])


def _entry_lines(entry: CalendarEntry, zone: str) -> Iterator[str]:
    if entry.ends_at <= entry.starts_at:
        raise ValueError(f"The work {entry.uid} ends before it begins.")
    yield "BEGIN:VEVENT"
    yield f"UID:{_text(entry.uid)}"
    yield f"DTSTAMP:{_utc(entry.changed_at)}"
    yield f"LAST-MODIFIED:{_utc(entry.changed_at)}"
    yield f"SEQUENCE:{entry.sequence_no}"
    if entry.is_all_day:
        yield _date("DTSTART", entry.starts_at, zone)
        yield _date("DTEND", entry.ends_at, zone)  # the day after the last (RFC 5545 section 3.6.1)
        yield "TRANSP:TRANSPARENT"
    else:
        yield _instant("DTSTART", entry.starts_at, zone)
        yield _instant("DTEND", entry.ends_at, zone)
    yield f"STATUS:{'CANCELLED' if entry.is_cancelled else 'CONFIRMED'}"
    yield f"SUMMARY:{_text(entry.summary)}"
    for name, value in (("LOCATION", entry.place), ("DESCRIPTION", entry.says)):
        if value:
            yield f"{name}:{_text(value)}"
    yield "END:VEVENT"


def _instant(name: str, at: dt.datetime, zone: str) -> str:
    """Write an instant on the farm's clock; in the hour that comes twice, the second one has no name but that in UTC."""
    return f"{name}{_local(at.astimezone(dt.UTC), zone)}"


@lru_cache(maxsize=1024)
def _local(at: dt.datetime, zone: str) -> str:
    """Write an instant in UTC on the clock of a zone, as it stands behind its name: many hands begin together."""
    local = at.astimezone(ZoneInfo(zone))
    return f":{_utc(at)}" if local.fold else f";TZID={zone}:{local:%Y%m%dT%H%M%S}"


def _date(name: str, at: dt.datetime, zone: str) -> str:
    return f"{name};VALUE=DATE:{at.astimezone(ZoneInfo(zone)):%Y%m%d}"


def _utc(at: dt.datetime) -> str:
    return _stamp(at.astimezone(dt.UTC))


@lru_cache(maxsize=1024)
def _stamp(at: dt.datetime) -> str:
    return f"{at:%Y%m%dT%H%M%SZ}"


@lru_cache(maxsize=64)
def _clock(zone: str, first_year: int, last_year: int) -> bytes:
    """Say how the clock of the zone runs from the beginning of a year to the end of another; few differ."""
    return _written(list(_zone_lines(zone, first_year, last_year)))


def _zone_lines(zone: str, first_year: int, last_year: int) -> Iterator[str]:
    clock = ZoneInfo(zone)
    begins = dt.datetime(first_year, 1, 1, tzinfo=clock)
    yield "BEGIN:VTIMEZONE"
    yield f"TZID:{zone}"
    offset = begins.utcoffset() or dt.timedelta()
    yield from _clock_lines(begins, offset, begins.replace(tzinfo=None))
    for changes_at in clock_changes(zone=zone, first_year=first_year, last_year=last_year):
        before = (changes_at - dt.timedelta(seconds=1)).astimezone(clock).utcoffset() or dt.timedelta()
        shown = (changes_at + before).replace(tzinfo=None)  # as the clock stood that runs out
        yield from _clock_lines(changes_at.astimezone(clock), before, shown)
    yield "END:VTIMEZONE"


@lru_cache(maxsize=64)
def clock_changes(*, zone: str, first_year: int, last_year: int) -> tuple[dt.datetime, ...]:
    """Return the instants, in UTC, at which the clock of an IANA zone is set within some years, to the second."""
    clock = ZoneInfo(zone)

    def offset(at: dt.datetime) -> dt.timedelta | None:
        return at.astimezone(clock).utcoffset()

    at = dt.datetime(first_year, 1, 1, tzinfo=dt.UTC) - ONE_DAY
    end = dt.datetime(last_year + 1, 1, 1, tzinfo=dt.UTC) + ONE_DAY
    found: list[dt.datetime] = []
    while at < end:
        low, high = at, at + ONE_DAY
        if offset(low) != offset(high):
            while high - low > dt.timedelta(seconds=1):
                middle = low + dt.timedelta(seconds=int((high - low).total_seconds()) // 2)
                low, high = (middle, high) if offset(middle) == offset(low) else (low, middle)
            if first_year <= high.astimezone(clock).year <= last_year:
                found.append(high)
        at += ONE_DAY
    return tuple(found)


def _clock_lines(now: dt.datetime, before: dt.timedelta, shown: dt.datetime) -> Iterable[str]:
    kind = "DAYLIGHT" if now.dst() else "STANDARD"
    return (
        f"BEGIN:{kind}",
        f"DTSTART:{shown:%Y%m%dT%H%M%S}",
        f"TZOFFSETFROM:{_offset(before)}",
        f"TZOFFSETTO:{_offset(now.utcoffset() or dt.timedelta())}",
        f"TZNAME:{now.tzname()}",
        f"END:{kind}",
    )


def _offset(offset: dt.timedelta) -> str:
    minutes = int(abs(offset).total_seconds()) // 60
    return f"{'-' if offset < dt.timedelta() else '+'}{minutes // 60:02d}{minutes % 60:02d}"


def _text(value: str) -> str:
    """Return a value of one line with what has a meaning in the file escaped (RFC 5545 section 3.3.11)."""
    line = one_line(value, longest=600)
    for sign in ("\\", ";", ","):
        line = line.replace(sign, f"\\{sign}")
    return line


def _written(lines: Sequence[str]) -> bytes:
    """Return lines as they stand in the file; most need no folding."""
    text = "\r\n".join(lines)
    if text.isascii() and max(map(len, lines)) <= LONGEST_OCTETS:
        return text.encode() + b"\r\n"
    return b"".join(map(_folded, lines))


def _folded(line: str) -> bytes:
    """Return a line in pieces of at most 75 octets, none of which cuts a character (RFC 5545 section 3.1)."""
    if line.isascii() and len(line) <= LONGEST_OCTETS:
        return line.encode() + b"\r\n"
    pieces: list[bytes] = []
    piece = b""
    for sign in line:
        octets = sign.encode()
        if len(piece) + len(octets) > LONGEST_OCTETS:
            pieces.append(piece)
            piece = b" "
        piece += octets
    return b"\r\n".join([*pieces, piece]) + b"\r\n"
