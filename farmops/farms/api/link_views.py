"""Addresses of the links by which hands sign in: the manager reads who has one and takes it back.

A link is made on the page of links only, which shows its secret once; no answer here holds a secret.
"""

from typing import Any, ClassVar

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import FilterSet, TextFilter
from farmops.core.api.serializers import RowShape, Shape
from farmops.farms.api.access import MANAGERS, FarmItem, FarmList, FarmView
from farmops.farms.api.related import ByCode
from farmops.farms.models import Hand, Role, SignInLink
from farmops.farms.services.links import LinkState, revoke_link, state_of


class LinkShape(RowShape):
    """A link of a hand: when it was made, until when it signs in, when it was last used, and what it is good for now."""

    class Meta:
        model = SignInLink
        fields = ("id", "hand", "made_at", "expires_at", "last_used_at", "revoked_at", "state")
        read_only_fields = fields

    hand = ByCode(Hand, read_only=True)
    state = serializers.SerializerMethodField()

    def get_state(self, link: SignInLink) -> LinkState:
        return state_of(link, now=clock.now())


class RevokeShape(Shape):
    """An empty body."""


class LinkFilter(FilterSet):
    """Links of a hand."""

    hand = TextFilter(field_name="hand__code")


class LinkFacts(FarmView):
    """Links by which hands sign in."""

    readers: ClassVar[frozenset[Role]] = MANAGERS
    queryset = SignInLink.objects.select_related("hand")
    shows = LinkShape


class LinkList(LinkFacts, FarmList):
    """Every link of the farm's hands, also those that expired or were taken back."""

    filterset_class = LinkFilter


class LinkItem(LinkFacts, FarmItem):
    """One link."""


class RevokeLink(LinkFacts, FarmItem):
    """Take a link back; whoever came in by it is signed out. Asking twice is the same."""

    http_method_names = ["post"]
    takes = RevokeShape

    def post(self, request: Request, **kwargs: Any) -> Response:
        link = self.row()
        self.taken()
        revoke_link(link=link, by=self.user, now=clock.now())
        return self.shown(self.row())
