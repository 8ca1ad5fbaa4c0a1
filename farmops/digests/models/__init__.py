"""What the mail keeps: what is owed and how far it got, what each person chose, links, events, bounces and troubles."""

from farmops.digests.models.bounces import BounceReport, SuppressedAddress
from farmops.digests.models.calendar import CalendarEvent, CalendarMark
from farmops.digests.models.choices import MailChoice, MailReader, MailTimes
from farmops.digests.models.links import DoorCode, PersonLink
from farmops.digests.models.outbox import OutboxRow, SendTry
from farmops.digests.models.person import OfPerson
from farmops.digests.models.troubles import Heartbeat, MailTrouble
from farmops.digests.models.words import (
    OnEmptyDay,
    Purpose,
    Reason,
    RowState,
    SheetKind,
    TroubleKind,
    Units,
)

__all__ = [
    "BounceReport",
    "CalendarEvent",
    "CalendarMark",
    "DoorCode",
    "Heartbeat",
    "MailChoice",
    "MailReader",
    "MailTimes",
    "MailTrouble",
    "OfPerson",
    "OnEmptyDay",
    "OutboxRow",
    "PersonLink",
    "Purpose",
    "Reason",
    "RowState",
    "SendTry",
    "SheetKind",
    "SuppressedAddress",
    "TroubleKind",
    "Units",
]
