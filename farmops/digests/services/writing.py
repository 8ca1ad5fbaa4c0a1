"""Write the sheets of a day as files: to look at, to print for the shop door, to copy as text."""

import datetime as dt
from pathlib import Path

from django.conf import settings

from farmops.core.problems import DomainError
from farmops.digests.models import SheetKind
from farmops.digests.selectors.day import farm_day, sheet_instant
from farmops.digests.services.composing import compose_sheet
from farmops.digests.services.mailing import Envelope, message_bytes, message_id_of
from farmops.farms.models import Farm, Hand


class UnusableFolder(DomainError):
    """The sheets cannot be written where they were asked for."""

    code = "unusable_folder"


def write_sheets(*, farm: Farm, day: dt.date, folder: Path) -> list[Path]:
    """Write one `<day>-<hand>.eml` for each hand with tasks that day, with an address or without; return the paths.

    The same farm and day give the same bytes. The outbox is left alone: a file is not a mail.
    """
    facts = farm_day(farm=farm, day=day)
    hands = Hand.objects.filter(farm=farm, pk__in=facts.busy).order_by("code")
    written: dict[Path, bytes] = {}
    for hand in hands:
        sheet = compose_sheet(farm=farm, hand=hand, day=day, facts=facts)
        envelope = Envelope(
            sender_name=farm.name,
            sender=settings.DEFAULT_FROM_EMAIL,
            receiver_name=hand.name,
            receiver=hand.email,
            message_id=message_id_of(
                farm_code=farm.code,
                hand_code=hand.code,
                kind=SheetKind.HAND,
                day=day,
                sender=settings.DEFAULT_FROM_EMAIL,
            ),
            dated_at=sheet_instant(farm=farm, day=day),
        )
        written[folder / f"{day.isoformat()}-{hand.code}.eml"] = message_bytes(sheet=sheet, envelope=envelope)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, content in written.items():
            path.write_bytes(content)
    except OSError as error:
        raise UnusableFolder(f"The sheets cannot be written to {folder}: {error.strerror}.") from error
    return list(written)
