"""Serializers that refuse keys they do not know; they parse and render, and write nothing."""

from collections.abc import Mapping
from typing import Any

from django.db import models
from rest_framework import serializers

from farmops.core.api import fields


class _RefusesUnknownKeys:
    """Refuses keys that nobody asked for, so that a mistyped key is never silently dropped."""

    fields: Any

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping):
            taken = {name for name, field in self.fields.items() if not field.read_only}
            unknown = {str(key): ["This key is not taken here."] for key in data if key not in taken}
            if unknown:
                raise serializers.ValidationError(dict(list(unknown.items())[:20]))
        return super().to_internal_value(data)  # type: ignore[misc]


class Shape(_RefusesUnknownKeys, serializers.Serializer):
    """A plain object."""


class RowShape(_RefusesUnknownKeys, serializers.ModelSerializer):
    """The columns of a model in strict fields. What a row must satisfy is the business of the service."""

    serializer_choice_field = fields.Word
    serializer_field_mapping = {
        models.AutoField: fields.Whole,
        models.BigAutoField: fields.Whole,
        models.BigIntegerField: fields.Whole,
        models.BooleanField: fields.YesNo,
        models.CharField: fields.Text,
        models.DateField: fields.Day,
        models.DateTimeField: fields.Instant,
        models.DecimalField: fields.Exact,
        models.EmailField: fields.Text,
        models.FloatField: serializers.FloatField,
        models.IntegerField: fields.Whole,
        models.JSONField: fields.Document,
        models.PositiveIntegerField: fields.Whole,
        models.PositiveSmallIntegerField: fields.Whole,
        models.SlugField: fields.Code,
        models.TextField: fields.Text,
        models.TimeField: fields.Clock,
        models.UUIDField: fields.ClientId,
    }

    def build_standard_field(self, field_name: str, model_field: Any) -> Any:
        field_class, kwargs = super().build_standard_field(field_name, model_field)
        if isinstance(model_field, models.TextField):
            kwargs = {**kwargs, "lines": True, "max_length": kwargs.get("max_length", 2000)}
        if field_class in (fields.Document, fields.ClientId):
            kwargs = {name: kwargs[name] for name in ("required", "read_only", "help_text") if name in kwargs}
        return field_class, kwargs

    def get_validators(self) -> list[Any]:
        return []
