"""Rows named in a body: looked for on the farm of the address and nowhere else."""

from typing import Any

from django.db import models
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from farmops.core.api.fields import MOST_WHOLE

NO_SUCH = "This farm has no such {what}."


class _OfFarm(serializers.Field):
    column = ""

    def __init__(self, model: type[models.Model], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.model = model

    def find(self, value: Any) -> models.Model:
        farm = self.context["farm"]
        row = self.model._default_manager.filter(farm=farm, **{self.column: value}).first()
        if row is None:
            raise serializers.ValidationError(NO_SUCH.format(what=self.model._meta.verbose_name))
        return row

    def to_representation(self, value: models.Model) -> Any:
        return getattr(value, self.column)


@extend_schema_field(OpenApiTypes.STR)
class ByCode(_OfFarm):
    """A row of the farm by its code."""

    column = "code"

    def to_internal_value(self, data: Any) -> models.Model:
        if (
            not isinstance(data, str)
            or not 1 <= len(data) <= 40
            or not data.isascii()
            or not data.isprintable()
        ):
            raise serializers.ValidationError("Write a code.")
        return self.find(data)


@extend_schema_field(OpenApiTypes.INT)
class ById(_OfFarm):
    """A row of the farm by its id."""

    column = "pk"

    def to_internal_value(self, data: Any) -> models.Model:
        if isinstance(data, bool) or not isinstance(data, int) or not 0 < data <= MOST_WHOLE:
            raise serializers.ValidationError("Write the id, a whole number.")
        return self.find(data)
