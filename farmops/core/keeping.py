"""Keeping what a sender made an id for: the same row sent again is the same row."""

import uuid
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from django.db import IntegrityError, models, transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from farmops.core.problems import DomainError, Kind

Kept = TypeVar("Kept", bound=models.Model)


class ClientIdReused(DomainError):
    """An id that is known already came with other content."""

    code = "client_id_reused"
    kind = Kind.CONFLICT


def keep_once(
    rows: QuerySet[Kept], client_id: uuid.UUID, make: Callable[[], Kept], is_same: Callable[[Kept], bool]
) -> tuple[Kept, bool]:
    """Make a row unless its id is kept already; of two senders at once, the database lets one through.

    `rows` are those with the id, at most one; returns the row and whether it is new. Raises ClientIdReused when the
    id is kept with something else in it.
    """
    kept = rows.first()
    if kept is None:
        try:
            with transaction.atomic():
                return make(), True
        except IntegrityError:
            kept = rows.first()
            if kept is None:
                raise
    if not is_same(kept):
        raise ClientIdReused(
            _("The id {id} was used before for something else.").format(id=client_id),
            fields={"client_id": "used"},
        )
    return kept, False


def holds(kept: models.Model, facts: Mapping[str, Any]) -> bool:
    """Return whether a row holds just these values."""
    return all(getattr(kept, name) == value for name, value in facts.items())
