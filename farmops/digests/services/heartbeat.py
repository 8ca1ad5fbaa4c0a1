"""Write down that a periodic job ran to its end, and tell a clock that was set from a machine that was away.

Since one start of a machine, its clock and the seconds that it was up go on together. Where they do not, somebody set
the clock: no row is made then, for the day might be wrong. Another start, or another machine, tells nothing of that.
"""

import datetime as dt
from dataclasses import dataclass

from django.conf import settings
from django.db import connection

from farmops.core.clock import Machine
from farmops.digests.models import Heartbeat, MailTrouble, TroubleKind
from farmops.digests.services.troubles import raise_trouble

SHEETS = "send_sheets"
MACHINE = "clock of "
"""Before the id of a start of a machine: the row that its clock is held against."""

APART_AT_MOST_S = 120
"""Farther than this apart, no clock is believed."""

WORTH_A_WORD_S = 5
"""Farther than this from the database's clock, health says so."""

KEPT = dt.timedelta(days=60)


@dataclass(frozen=True)
class Clocks:
    """What the program's clock is held against: the machine's own count, and how far off the database's clock is."""

    machine: Machine | None = None
    apart_s: float | None = None


UNWATCHED = Clocks()


def clocks_beside(*, now: dt.datetime, machine: Machine | None) -> Clocks:
    """Return what there is to hold an instant of the clock against; nothing where the settings say so."""
    if not settings.MAIL_CLOCK_IS_WATCHED:
        return UNWATCHED
    return Clocks(machine, database_apart_s(now=now))


def beat(*, job: str, now: dt.datetime, clocks: Clocks = UNWATCHED) -> None:
    """Note that a job ended now, and what the machine's own count of time is at that."""
    machine = clocks.machine
    facts = {
        "last_at": now,
        "clock_apart_s": clocks.apart_s,
        "boot_id": machine.boot_id[:40] if machine else "",
        "up_s": machine.up_s if machine else None,
    }
    Heartbeat.objects.update_or_create(job=job, defaults=facts)
    if machine is not None:
        Heartbeat.objects.update_or_create(job=MACHINE + machine.boot_id[:40], defaults=facts)
        Heartbeat.objects.filter(job__startswith=MACHINE, last_at__lt=now - KEPT).delete()


def database_apart_s(*, now: dt.datetime) -> float | None:
    """Return the program's clock less that of the database server; None where both are one."""
    if connection.vendor != "postgresql":
        return None
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()")
        theirs: dt.datetime = cursor.fetchone()[0]
    return (now - theirs.astimezone(dt.UTC)).total_seconds()


def why_not_trusted(*, now: dt.datetime, clocks: Clocks) -> MailTrouble | None:
    """Return the trouble for which no row is made now, raised once; None while the clock can be trusted.

    It ends by itself when the clocks agree again. When a person ends it, the clock as it is now counts as right.
    """
    machine, apart_s = clocks.machine, clocks.apart_s
    if apart_s is not None and abs(apart_s) > APART_AT_MOST_S:
        says = f"The clock of this machine is {_said(apart_s)} of that of the database. No mail is made meanwhile."
        return raise_trouble(farm=None, kind=TroubleKind.CLOCK, key="database", says=says, now=now)
    last = Heartbeat.objects.filter(job=MACHINE + machine.boot_id[:40]).first() if machine else None
    key = ""
    if last is not None and machine is not None and last.up_s is not None:
        key = f"{machine.boot_id} at {last.up_s:.0f} s"
        set_by_s = (now - last.last_at).total_seconds() - (machine.up_s - last.up_s)
        accepted = MailTrouble.objects.filter(
            farm=None, kind=TroubleKind.CLOCK, key=key, ended_by__isnull=False
        )
        if abs(set_by_s) > APART_AT_MOST_S and not accepted.exists():
            says = (
                f"The clock of this machine was set by {_said(set_by_s)} while it ran. No mail is made until it is set "
                f"back or somebody says that it is right now."
            )
            return raise_trouble(farm=None, kind=TroubleKind.CLOCK, key=key, says=says, now=now)
    standing = MailTrouble.objects.filter(farm=None, kind=TroubleKind.CLOCK, ended_at=None)
    standing.filter(key__in=["database", key]).update(ended_at=now)
    return None


def _said(seconds: float) -> str:
    ahead = "ahead" if seconds > 0 else "back"
    minutes = abs(seconds) / 60
    if minutes < 120:
        return f"{minutes:.0f} minutes {ahead}"
    return f"{minutes / 60:.0f} hours {ahead}" if minutes < 2880 else f"{minutes / 1440:.0f} days {ahead}"
