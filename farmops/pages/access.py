"""Who may see what: a farm that is not yours is a page that does not exist."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse

from farmops.farms.models import Farm, Membership, Role

View = Callable[..., HttpResponse]


def for_roles(*roles: Role) -> Callable[[View], View]:
    """Let a view be called as `view(request, farm, membership, …)` by members of a farm with one of the roles."""

    def decorate(view: View) -> View:
        @login_required
        @wraps(view)
        def guarded(request: HttpRequest, farm_code: str, *args: Any, **kwargs: Any) -> HttpResponse:
            memberships = list(
                Membership.objects.filter(user_id=request.user.pk, farm__code=farm_code).select_related(
                    "farm", "hand"
                )
            )
            if not memberships:
                raise Http404
            fitting = [one for one in memberships if one.role in roles]
            if not fitting:
                raise PermissionDenied
            fitting.sort(key=lambda one: roles.index(Role(one.role)))
            request.farm_roles = {one.role for one in memberships}  # type: ignore[attr-defined]
            return view(request, fitting[0].farm, fitting[0], *args, **kwargs)

        return guarded

    return decorate


def farms_of(user_id: int) -> list[Farm]:
    """Return the farms that a user belongs to."""
    return list(Farm.objects.filter(pk__in=Membership.objects.filter(user_id=user_id).values("farm")))
