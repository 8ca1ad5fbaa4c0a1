"""Addresses of farm facts: members read, managers enter and change."""

from typing import Any, ClassVar

from django.db.models import Model, QuerySet
from rest_framework.request import Request
from rest_framework.response import Response

from farmops.core import clock
from farmops.core.api.queries import FilterSet, TextFilter, WholeFilter
from farmops.core.api.views import ListView
from farmops.farms.api import shapes
from farmops.farms.api.access import EVERYBODY, FarmItem, FarmList
from farmops.farms.api.access import FarmView as OfFarm
from farmops.farms.models import (
    CareRule,
    CropWaterFacts,
    Farm,
    Field,
    FuelTank,
    Hand,
    Implement,
    LatePlantingFacts,
    Machine,
    Pivot,
    Pump,
    Season,
    SoilZone,
)
from farmops.farms.selectors import farms_of
from farmops.farms.services.care_rules import add_care_rule, change_care_rule
from farmops.farms.services.crop_water import set_crop_water
from farmops.farms.services.facts import add_fact, change_fact
from farmops.farms.services.late_planting import set_late_planting


class FarmsView(ListView):
    """The farms that you have a part in."""

    queryset = Farm.objects.all()
    shows = shapes.FarmShape
    order = ("code",)

    def rows(self) -> QuerySet:
        return farms_of(self.request.user)


class FarmView(FarmItem):
    """One farm."""

    queryset = Farm.objects.all()
    shows = takes = shapes.FarmShape
    readers = EVERYBODY

    def row(self) -> Farm:
        return self.farm

    def patch(self, request: Request, farm_code: str) -> Response:
        """Change whom to call and when sheets go out."""
        return self.shown(change_fact(row=self.farm, values=self.taken(partial=True)))


class Facts(OfFarm):
    """Facts of one kind."""

    model: ClassVar[type[Model]]


class FactList(Facts, FarmList):
    """A list of facts, and adding one."""

    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}

    def post(self, request: Request, **kwargs: Any) -> Response:
        row = add_fact(farm=self.farm, model=self.model, values=self.taken())
        return self.shown(self.get_queryset().get(pk=row.pk), status=201)


class FactItem(Facts, FarmItem):
    """One fact, and changing it."""

    known_by = {"code": "code"}

    def patch(self, request: Request, **kwargs: Any) -> Response:
        row = change_fact(row=self.row(), values=self.taken(partial=True))
        return self.shown(self.get_queryset().get(pk=row.pk))


class FieldFacts(Facts):
    """Fields."""

    model = Field
    queryset = Field.objects.select_related("farm").prefetch_related("zones")
    shows = takes = shapes.FieldShape
    order = ("code",)


class FieldList(FieldFacts, FactList):
    """Fields with boundary, acres and soil."""


class FieldItem(FieldFacts, FactItem):
    """One field."""


class ZoneFilter(FilterSet):
    """Zones of one field."""

    field = TextFilter(field_name="field__code")


class ZoneList(FarmList):
    """Soil zones; they are entered with their field."""

    queryset = SoilZone.objects.select_related("field")
    shows = shapes.ZoneOfFieldShape
    filterset_class = ZoneFilter


class ZoneItem(FarmItem):
    """One soil zone."""

    queryset = SoilZone.objects.select_related("field")
    shows = shapes.ZoneOfFieldShape


class SeasonFilter(FilterSet):
    """Seasons of a field, a crop year, a crop."""

    field = TextFilter(field_name="field__code")
    crop_year = WholeFilter()
    crop = TextFilter()


class SeasonFacts(Facts):
    """Seasons."""

    model = Season
    queryset = Season.objects.select_related("farm", "field")
    shows = takes = shapes.SeasonShape


class SeasonList(SeasonFacts, FactList):
    """Seasons: one crop on one part of a field, by crop year."""

    filterset_class = SeasonFilter


class SeasonItem(SeasonFacts, FactItem):
    """One season."""

    known_by = {"pk": "pk"}


class FuelTankFacts(Facts):
    """Fuel tanks."""

    model = FuelTank
    queryset = FuelTank.objects.select_related("farm")
    shows = takes = shapes.FuelTankShape
    order = ("code",)


class FuelTankList(FuelTankFacts, FactList):
    """Tanks of the farm's own fuel."""


class FuelTankItem(FuelTankFacts, FactItem):
    """One fuel tank."""


class PumpFacts(Facts):
    """Pumps."""

    model = Pump
    queryset = Pump.objects.select_related("farm").prefetch_related("shut_hours")
    shows = takes = shapes.PumpShape
    order = ("code",)


class PumpList(PumpFacts, FactList):
    """Wells and pumps, with the hours the power supplier shuts."""


class PumpItem(PumpFacts, FactItem):
    """One pump."""


class PivotFacts(Facts):
    """Pivots."""

    model = Pivot
    queryset = Pivot.objects.select_related("farm", "field", "pump")
    shows = takes = shapes.PivotShape


class PivotList(PivotFacts, FactList):
    """Center pivots."""


class PivotItem(PivotFacts, FactItem):
    """The pivot of one field."""

    known_by = {"code": "field__code"}


class MachineFacts(Facts):
    """Machines."""

    model = Machine
    queryset = Machine.objects.select_related("farm")
    shows = takes = shapes.MachineShape
    order = ("code",)


class MachineList(MachineFacts, FactList):
    """Machines."""


class MachineItem(MachineFacts, FactItem):
    """One machine."""


class ImplementFacts(Facts):
    """Implements."""

    model = Implement
    queryset = Implement.objects.select_related("farm").prefetch_related("operations")
    shows = takes = shapes.ImplementShape
    order = ("code",)


class ImplementList(ImplementFacts, FactList):
    """Implements."""


class ImplementItem(ImplementFacts, FactItem):
    """One implement."""


class HandFacts(Facts):
    """Hands."""

    model = Hand
    queryset = Hand.objects.select_related("farm").prefetch_related("skills", "shifts", "away", "licenses")
    shows = takes = shapes.HandShape
    order = ("code",)


class HandList(HandFacts, FactList):
    """Hands, with what they may do and when they work."""


class HandItem(HandFacts, FactItem):
    """One hand."""


class CropWaterFilter(FilterSet):
    """Numbers of one crop."""

    crop = TextFilter()


class CropWaterRows(OfFarm):
    """Crop water numbers of the farm's own."""

    queryset = CropWaterFacts.objects.all()
    shows = takes = shapes.CropWaterShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}


class CropWaterList(CropWaterRows, FarmList):
    """The farm's own crop water numbers, every row ever set; the newest of a crop counts."""

    filterset_class = CropWaterFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        row = set_crop_water(farm=self.farm, set_by=self.user, now=clock.now(), **self.taken())
        return self.shown(row, status=201)


class CropWaterItem(CropWaterRows, FarmItem):
    """One row of crop water numbers."""


class CareRuleFilter(FilterSet):
    """Service of one machine, implement or pivot (by the code of its field)."""

    machine = TextFilter(field_name="machine__code")
    implement = TextFilter(field_name="implement__code")
    pivot = TextFilter(field_name="pivot__field__code")


class CareRules(OfFarm):
    """Service rules."""

    queryset = CareRule.objects.select_related(
        "farm", "machine", "implement", "pivot__field"
    ).prefetch_related("hands__hand")
    shows = takes = shapes.CareRuleShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [201]}
    order = ("code",)


class CareRuleList(CareRules, FarmList):
    """Service by hours, days, acres or starts: what, how often, by whom."""

    filterset_class = CareRuleFilter

    def post(self, request: Request, **kwargs: Any) -> Response:
        rule = add_care_rule(farm=self.farm, values=self.taken())
        return self.shown(self.get_queryset().get(pk=rule.pk), status=201)


class CareRuleItem(CareRules, FarmItem):
    """One service rule."""

    known_by = {"code": "code"}

    def patch(self, request: Request, **kwargs: Any) -> Response:
        rule = change_care_rule(rule=self.row(), values=self.taken(partial=True))
        return self.shown(self.get_queryset().get(pk=rule.pk))


class LatePlantings(OfFarm):
    """What crops lose when they are planted late."""

    queryset = LatePlantingFacts.objects.select_related("farm")
    shows = takes = shapes.LatePlantingShape
    answers: ClassVar[dict[str, list[int]]] = {"POST": [200, 201]}
    order = ("crop",)


class LatePlantingList(LatePlantings, FarmList):
    """A crop's yield, price and curve of loss; sending a crop again takes the place of what was there."""

    def post(self, request: Request, **kwargs: Any) -> Response:
        taken = self.taken()
        return self.kept(*set_late_planting(farm=self.farm, crop=taken.pop("crop"), values=taken))


class LatePlantingItem(LatePlantings, FarmItem):
    """One crop's."""

    known_by = {"crop": "crop"}

    def patch(self, request: Request, **kwargs: Any) -> Response:
        row, taken = self.row(), self.taken(partial=True)
        taken.pop("crop", None)
        return self.shown(set_late_planting(farm=self.farm, crop=row.crop, values=taken)[0])
