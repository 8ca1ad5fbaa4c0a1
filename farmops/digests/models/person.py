"""A person who gets mail: a hand of the farm, or a user of the service who need not be one."""

from collections.abc import Collection

from django.conf import settings
from django.db import models

from farmops.core.models import User
from farmops.core.quick_rows import QuickRows
from farmops.farms.models import Hand


class OfPerson(QuickRows):
    """A row of one person: `hand` or `user`, never both."""

    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        abstract = True

    @property
    def person(self) -> Hand | User:
        """Return whose row it is."""
        found: Hand | User | None = self.hand or self.user
        assert found is not None  # a check in the database says so
        return found

    @property
    def person_name(self) -> str:
        """Return how the person is called."""
        person = self.person
        return person.name if isinstance(person, Hand) else person.get_full_name() or person.username

    @property
    def person_code(self) -> str:
        """Return the word by which logs and files name the person."""
        person = self.person
        return person.code if isinstance(person, Hand) else person.username


def names_one_person(name: str) -> models.CheckConstraint:
    """Return the rule that a row is of a hand or of a user."""
    return models.CheckConstraint(
        condition=models.Q(hand__isnull=False, user__isnull=True)
        | models.Q(hand__isnull=True, user__isnull=False),
        name=name,
    )


def one_per_person(
    name: str, *, within: Collection[str], condition: models.Q | None = None
) -> list[models.UniqueConstraint]:
    """Return the rules that a person has one row within some columns: a hand, and a user (an empty key is like no other)."""
    holds = condition or models.Q()
    return [
        models.UniqueConstraint(
            fields=[*within, column],
            condition=models.Q(**{f"{column}__isnull": False}) & holds,
            name=f"{name}_{column}",
        )
        for column in ("hand", "user")
    ]
