"""Tags that write the choices of a box at once: a farm of a thousand fields has a thousand of them in a form."""

from collections.abc import Container, Iterable
from html import escape
from typing import Any

from django import template
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


@register.simple_tag
def options(choices: Iterable[tuple[Any, Any]], chosen: Any) -> SafeString:
    """Return an option for each value and what is said of it; the one that is chosen, as text, is selected."""
    told = [
        f'<option value="{_escaped(value)}"{" selected" if str(value) == chosen else ""}>'  # not said
        f"{_escaped(says)}</option>"
        for value, says in choices
    ]
    return mark_safe("".join(told))  # each part of it is escaped


@register.simple_tag
def ticks(name: str, choices: Iterable[tuple[str, str]], chosen: Container[str]) -> SafeString:
    """Return a box to tick for each value and what is said of it; those that are chosen are ticked."""
    told = [
        f'<label><input type="checkbox" name="{_escaped(name)}" value="{_escaped(value)}"'  # not said
        f"{' checked' if value in chosen else ''}><span>{_escaped(says)}</span></label>"  # not said
        for value, says in choices
    ]
    return mark_safe("".join(told))  # each part of it is escaped


def _escaped(value: Any) -> str:
    """Return a value as it may stand in a page; most are plain texts and numbers, which are quicker asked first."""
    kind = type(value)
    return escape(value) if kind is str else str(value) if kind is int else conditional_escape(value)


@register.simple_tag
def offered(values: Iterable[Any]) -> SafeString:
    """Return an option without words for each value that a box offers while somebody types."""
    told = [f'<option value="{_escaped(value)}"></option>' for value in values]  # not said
    return mark_safe("".join(told))  # each part of it is escaped
