"""Raise and end what somebody has to know of the mail, each once under its key."""

import datetime as dt
from collections.abc import Collection
from typing import Any

from django.db import IntegrityError, transaction

from farmops.core.models import User
from farmops.digests.models import MailTrouble, TroubleKind
from farmops.digests.outcomes import probe_wait
from farmops.digests.selectors.troubles import standing_halt
from farmops.farms.models import Farm

MAIL_SERVER = "mail server"
"""The key of the one trouble that stops the queue."""


def raise_trouble(
    *,
    farm: Farm | None,
    kind: str,
    key: str,
    says: str,
    now: dt.datetime,
    row_count: int = 1,
    not_before_at: dt.datetime | None = None,
) -> MailTrouble:
    """Return the trouble under a key, raised now or before: of a farm once for good, of the whole service while it stands."""
    found = _standing(farm, kind, key)
    if found is not None:
        return found
    facts: dict[str, Any] = {
        "says": says[:300],
        "row_count": row_count,
        "raised_at": now,
        "not_before_at": not_before_at,
    }
    try:
        with transaction.atomic():
            return MailTrouble.objects.create(farm=farm, kind=kind, key=key[:260], **facts)
    except IntegrityError:
        found = _standing(farm, kind, key)
        if found is None:
            raise
        return found


def end_trouble(*, trouble: MailTrouble, by: User | None, now: dt.datetime) -> bool:
    """End a trouble; for one that stops the queue: go on. False when it was ended before."""
    standing = MailTrouble.objects.filter(pk=trouble.pk, ended_at=None)
    return bool(standing.update(ended_at=now, ended_by=by))


def note_told(*, troubles: Collection[int], at: dt.datetime) -> int:
    """Write down that troubles of some row ids were told in a mail that went out; return how many were not before."""
    return MailTrouble.objects.filter(pk__in=troubles, told_at=None).update(told_at=at)


def halt(*, says: str, now: dt.datetime) -> MailTrouble:
    """Stop the queue: the mail server refuses the service itself. A halt that stands waits longer before the next probe."""
    standing = standing_halt()
    if standing is None:
        return raise_trouble(
            farm=None,
            kind=TroubleKind.HALTED,
            key=MAIL_SERVER,
            says=says,
            now=now,
            not_before_at=now + probe_wait(probes=0),
        )
    MailTrouble.objects.filter(pk=standing.pk, ended_at=None).update(says=says[:300])
    return standing


def take_probe(*, trouble: MailTrouble, now: dt.datetime) -> bool:
    """Take the next probe of a mail server that refused the service; only one worker gets it."""
    probes = trouble.attempt + 1
    mine = MailTrouble.objects.filter(pk=trouble.pk, ended_at=None, attempt=trouble.attempt)
    return bool(mine.update(attempt=probes, not_before_at=now + probe_wait(probes=probes)))


def _standing(farm: Farm | None, kind: str, key: str) -> MailTrouble | None:
    found = MailTrouble.objects.filter(farm=farm, kind=kind, key=key[:260])
    return found.first() if farm is not None else found.filter(ended_at=None).first()
