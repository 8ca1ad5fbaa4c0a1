"""Reading what a farm and its people chose about their mail; without a row the defaults of the tables hold."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from farmops.core.models import User
from farmops.digests.models import MailChoice, MailReader, MailTimes
from farmops.digests.models.words import KINDS_OF_HANDS
from farmops.farms.models import Farm, Hand


def mail_times(*, farm: Farm) -> MailTimes:
    """Return when the farm's mail goes out; a row of defaults, kept nowhere, where nobody has set it."""
    return MailTimes.objects.filter(farm=farm).first() or MailTimes(farm=farm)


def times_of_farms(*, farms: Sequence[Farm]) -> dict[int, MailTimes]:
    """Return what `mail_times` does by the row id of each farm: one query for all of them."""
    rows = {row.farm_id: row for row in MailTimes.objects.filter(farm__in=[one.pk for one in farms])}
    return {one.pk: rows.get(one.pk) or MailTimes(farm=one) for one in farms}


def readers_of_farms(*, farms: Collection[int]) -> dict[int, MailReader]:
    """Return what hands of some farms are used to, by the hand's id, of those who said: one query for all of them."""
    rows = MailReader.objects.filter(farm__in=farms, hand__isnull=False)
    return {row.hand_id or 0: row for row in rows.order_by()}


def choices_of_farms(*, farms: Collection[int]) -> dict[tuple[int, str], dict[int, MailChoice]]:
    """Return what `choices_of_kind` does by farm and kind, for all kinds of some farms: one query."""
    found: dict[tuple[int, str], dict[int, MailChoice]] = defaultdict(dict)
    for row in MailChoice.objects.filter(farm__in=farms).order_by():
        person_id = row.hand_id if row.kind in KINDS_OF_HANDS else row.user_id
        if person_id is not None:
            found[row.farm_id, row.kind][person_id] = row
    return found


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


@dataclass(frozen=True)
class FarmChoices:
    """What everybody on a farm chose about mail, read at once: for a page that shows them all."""

    farm: Farm
    choices: Mapping[tuple[int | None, int | None, str], MailChoice]
    readers: Mapping[tuple[int | None, int | None], MailReader]

    @classmethod
    def of(cls, farm: Farm) -> "FarmChoices":
        """Read the choices of a farm, in two queries."""
        return cls(
            farm,
            {(row.hand_id, row.user_id, row.kind): row for row in MailChoice.objects.filter(farm=farm)},
            {(row.hand_id, row.user_id): row for row in MailReader.objects.filter(farm=farm)},
        )

    def choice(self, person: Hand | User, kind: str) -> MailChoice | None:
        """Return a person's choice about a kind of mail; None where the person made none."""
        return self.choices.get((*_ids(person), kind))

    def reader(self, person: Hand | User) -> MailReader | None:
        """Return what a person is used to; None where nobody said."""
        return self.readers.get(_ids(person))


def _ids(person: Hand | User) -> tuple[int | None, int | None]:
    return (person.pk, None) if isinstance(person, Hand) else (None, person.pk)


def _whose(person: Hand | User) -> dict[str, Hand | User]:
    return {"hand" if isinstance(person, Hand) else "user": person}
