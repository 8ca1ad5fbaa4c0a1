"""Addresses of entries beyond reading them: an entry is undone by another one, with a reason."""

from typing import Any, ClassVar

from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api import fields
from farmops.core.api.serializers import Shape
from farmops.farms.api.access import OFFICE, FarmItem
from ledger.api.shapes import WholeEntryShape
from ledger.models import Entry
from ledger.services.reversals import LONGEST_WHY, reverse_by_number


class NewReversalShape(Shape):
    """Why an entry is undone."""

    why = fields.Text(max_length=LONGEST_WHY)


class EntryReversed(FarmItem):
    """Undo an entry to the cent; the answer is the entry that undoes it, and both stay in the books."""

    http_method_names = ["post"]
    queryset = Entry.objects.select_related("reverses").prefetch_related(
        "lines__entry", "lines__season__field", "lines__machine", "lines__implement"
    )
    shows = WholeEntryShape
    takes = NewReversalShape
    writers = OFFICE
    known_by = {"number": "number"}
    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}

    def post(self, request: Request, **kwargs: Any) -> Response:
        entry = self.row()
        reversal = reverse_by_number(
            farm=self.farm, number=entry.number, made_by=self.user, now=clock.now(), **self.taken()
        )
        return self.kept(self.queryset.get(pk=reversal.pk), True)
