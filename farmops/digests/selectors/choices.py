"""Reading what a farm and its people chose about their mail; without a row the defaults of the tables hold."""

from collections.abc import Mapping

from farmops.core.models import User
from farmops.digests.models import MailChoice, MailReader, MailTimes
from farmops.digests.models.words import KINDS_OF_HANDS
from farmops.farms.models import Farm, Hand


def mail_times(*, farm: Farm) -> MailTimes:
    """Return when the farm's mail goes out; a row of defaults, kept nowhere, where nobody has set it."""
    return MailTimes.objects.filter(farm=farm).first() or MailTimes(farm=farm)


def choices_of_kind(*, farm: Farm, kind: str) -> Mapping[int, MailChoice]:
    """Return the choices about a kind of mail by the id of the hand, or of the user for mail to users."""
    rows = MailChoice.objects.filter(farm=farm, kind=kind)
    column = "hand_id" if kind in KINDS_OF_HANDS else "user_id"
    return {getattr(row, column): row for row in rows if getattr(row, column) is not None}


def choice_of(*, farm: Farm, person: Hand | User, kind: str) -> MailChoice:
    """Return a person's choice about a kind of mail; the default, kept nowhere, where the person made none."""
    whose = _whose(person)
    return MailChoice.objects.filter(farm=farm, kind=kind, **whose).first() or MailChoice(
        farm=farm, kind=kind, **whose
    )


def reader_of(*, farm: Farm, person: Hand | User) -> MailReader:
    """Return what a person is used to; the default, kept nowhere, where nobody said."""
    whose = _whose(person)
    return MailReader.objects.filter(farm=farm, **whose).first() or MailReader(farm=farm, **whose)


def _whose(person: Hand | User) -> dict[str, Hand | User]:
    return {"hand" if isinstance(person, Hand) else "user": person}
