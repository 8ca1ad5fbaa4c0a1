"""The clock, read by interfaces only: views, commands and background functions pass the instant on as an argument."""

import datetime as dt
import time
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.utils import timezone


def now() -> dt.datetime:
    """Return this instant, in UTC."""
    return timezone.now()


def local_date(instant: dt.datetime, zone: str) -> dt.date:
    """Return the business date of an instant on the clock of an IANA zone."""
    return instant.astimezone(ZoneInfo(zone)).date()


def is_zone(name: str) -> bool:
    """Say whether a name is that of a zone of the IANA database."""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


@dataclass(frozen=True)
class Machine:
    """The machine's own count of time: seconds since its start (sleep included), whatever its clock is set to."""

    boot_id: str
    up_s: float


def machine() -> Machine | None:
    """Return this start of the machine and its age; None where the system does not tell."""
    try:
        boot_id = Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
        return Machine(boot_id, time.clock_gettime(time.CLOCK_BOOTTIME))
    except (OSError, AttributeError):
        return None
