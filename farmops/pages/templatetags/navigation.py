"""The tag by which the page around all pages asks for the links of its reader."""

from typing import Any

from django import template
from django.utils.safestring import SafeString

from farmops.pages.navigation import navigation_of

register = template.Library()


@register.simple_tag(takes_context=True)
def farm_navigation(context: dict[str, Any]) -> SafeString:
    """Return the pages that the reader finds on the farm of the page."""
    request = context["request"]
    return navigation_of(
        farm=context["farm"],
        roles=getattr(request, "farm_roles", ()),
        place=str(context.get("place", "")),
        path=request.path,
    )
