"""Rows named in a body that have no code of their own."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field

from farmops.farms.api.related import ByCode
from farmops.farms.models import Pivot


@extend_schema_field(OpenApiTypes.STR)
class PivotByField(ByCode):
    """The pivot of a field of the farm, by the field's code."""

    column = "field__code"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Pivot, **kwargs)

    def to_representation(self, value: Any) -> str:
        return str(value.field.code)
