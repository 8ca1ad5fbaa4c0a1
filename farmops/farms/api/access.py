"""The door: an address of a farm exists for its members only, and lets through what their role may do."""

from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404
from rest_framework.exceptions import PermissionDenied, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core.api.views import ApiView, ListView
from farmops.farms.models import Farm, Hand, Role
from farmops.farms.selectors import farms_of, hand_of, roles_of

EVERYBODY = frozenset({Role.MANAGER, Role.BOOKKEEPER, Role.HAND})
OFFICE = frozenset({Role.MANAGER, Role.BOOKKEEPER})
MANAGERS = frozenset({Role.MANAGER})


class FarmView(ApiView):
    """An address below one farm. Another farm and no farm look the same from outside."""

    readers: ClassVar[frozenset[Role]] = OFFICE
    writers: ClassVar[frozenset[Role]] = MANAGERS
    farm: Farm
    roles: frozenset[str]

    def admit(self, request: Request) -> None:
        farm = farms_of(request.user).filter(code=self.kwargs["farm_code"]).first()
        if farm is None:
            raise Http404
        self.farm, self.roles = farm, roles_of(request.user, farm=farm)
        if (request.method or "").lower() not in self.http_method_names or not hasattr(
            self, (request.method or "").lower()
        ):
            return  # whatever the role, it is answered 405
        allowed = self.readers if request.method in ("GET", "HEAD") else self.writers
        if not self.roles & allowed:
            raise PermissionDenied("Your part in this farm does not reach here.")

    @property
    def is_office(self) -> bool:
        """Whether the user sees more than a hand does."""
        return bool(self.roles & OFFICE)

    @property
    def hand(self) -> Hand | None:
        """Return the hand that the user is."""
        return hand_of(self.request.user, farm=self.farm)

    def own_hand(self, named: Hand | None) -> Hand:
        """Return the hand that is meant: the one named, else the user's own; a hand speaks for nobody else."""
        mine = self.hand
        meant = named or mine
        if meant is None:
            raise ValidationError({"hand": ["You are no hand of this farm; name the hand."]})
        if not self.is_office and meant != mine:
            raise PermissionDenied("A hand reads and reports for himself or herself only.")
        return meant

    def get_serializer_context(self) -> dict[str, Any]:
        context = dict(super().get_serializer_context())
        if hasattr(self, "farm"):
            context |= {"farm": self.farm, "zone": ZoneInfo(self.farm.zone)}
        return context

    def one(self, **which: Any) -> Any:
        """Return one of the rows that the address may show, or nothing is there."""
        return get_object_or_404(self.get_queryset(), **which)

    def rows(self) -> QuerySet:
        return self.every_row().filter(farm=self.farm)


class FarmList(ListView, FarmView):
    """A list of one farm."""


class FarmItem(FarmView):
    """One row of a farm; `known_by` pairs names in the address with columns."""

    known_by: ClassVar[dict[str, str]] = {"pk": "pk"}

    def row(self) -> Any:
        """Return the row that the address names."""
        return self.one(**{column: self.kwargs[name] for name, column in self.known_by.items()})

    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return self.shown(self.row())
