"""How the mail of a row is stopped: what stands in its head for mail readers to press or to write to."""

import datetime as dt

from farmops.digests.models import OutboxRow, Purpose
from farmops.digests.services.bounces import bounce_address
from farmops.digests.services.mailing import StopBy
from farmops.digests.services.person_links import address_of

SUBJECT = "stop"
"""Who writes this word, and nothing else, as a subject to the address for a row's bounces stops that kind of mail
(`farmops.digests.services.bounces`)."""


def stop_ways(*, row: OutboxRow, now: dt.datetime) -> StopBy:
    """Return how a row's mail is stopped; nothing where the pages cannot be reached safely (RFC 8058 asks for https)."""
    address = address_of(farm=row.farm, person=row.person, purpose=Purpose.STOP, kind=row.kind, now=now)
    if not address.startswith("https://"):
        return StopBy()
    mail_address = bounce_address(row)
    return StopBy(address, f"mailto:{mail_address}?subject={SUBJECT}" if mail_address else "")
