"""What may stand behind the question mark of an address; anything else is refused."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

import django_filters
from django import forms
from django.db.models import QuerySet
from django.http import QueryDict
from django_filters.rest_framework import DjangoFilterBackend, FilterSet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework.request import Request

from farmops.core.api.fields import DIGITS, MOST_WHOLE, day_from, refused_character
from farmops.core.problems import BadQuery


def refuse_unknown(query: QueryDict, known: Iterable[str]) -> None:
    """Refuse parameters that the address does not know, and those that stand twice."""
    names = sorted(known)
    errors = {}
    for name in query:
        if name not in names:
            errors[name] = f"Not known here; known are {', '.join(names) or 'none'}."
        elif len(query.getlist(name)) > 1:
            errors[name] = "Stands twice."
    if errors:
        raise BadQuery(errors)


def asked(form_class: type[forms.Form], query: QueryDict) -> dict[str, Any]:
    """Return the values of a query by its form."""
    form = form_class(query)
    if not form.is_valid():
        raise BadQuery({name: " ".join(map(str, says)) for name, says in form.errors.items()})
    return form.cleaned_data


class DayBox(forms.Field):
    """A date such as 2026-04-20."""

    def to_python(self, value: Any) -> dt.date | None:
        if value in self.empty_values:
            return None
        try:
            return day_from(str(value))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error


class WholeBox(forms.Field):
    """A whole number in ASCII digits."""

    def __init__(self, *, least: int = 0, most: int = MOST_WHOLE, **kwargs: Any) -> None:
        for name in ("min_value", "max_value"):
            kwargs.pop(name, None)
        super().__init__(**kwargs)
        self.least, self.most = least, most

    def to_python(self, value: Any) -> int | None:
        if value in self.empty_values:
            return None
        if not DIGITS.fullmatch(str(value)) or not self.least <= int(value) <= self.most:
            raise forms.ValidationError(f"Write a whole number from {self.least} to {self.most}.")
        return int(value)


class TextBox(forms.CharField):
    """A text of at most 120 characters."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_length": 120, **kwargs})

    def to_python(self, value: Any) -> str:
        text = super().to_python(value) or ""
        sign = refused_character(text, lines=False)
        if sign is not None:
            raise forms.ValidationError(f"The character {sign} cannot be part of this.")
        return text


class DayFilter(django_filters.DateFilter):
    """Rows by a date."""

    field_class = DayBox


@extend_schema_field(OpenApiTypes.INT)
class WholeFilter(django_filters.Filter):
    """Rows by a whole number."""

    field_class = WholeBox


class TextFilter(django_filters.CharFilter):
    """Rows by a text or code, exactly."""

    field_class = TextBox


class StrictFilterBackend(DjangoFilterBackend):
    """Narrows a list by its filter set; a value that is not understood is refused, with its name."""

    def filter_queryset(self, request: Request, queryset: QuerySet, view: Any) -> QuerySet:
        filterset = self.get_filterset(request, queryset, view)
        if filterset is None:
            return queryset
        if not filterset.is_valid():
            raise BadQuery({name: " ".join(says) for name, says in filterset.errors.items()})
        return filterset.qs


__all__ = [
    "DayBox",
    "DayFilter",
    "FilterSet",
    "StrictFilterBackend",
    "TextBox",
    "TextFilter",
    "WholeBox",
    "WholeFilter",
    "asked",
    "refuse_unknown",
]
