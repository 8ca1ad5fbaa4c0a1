"""Signing in and finding the way."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.response import TemplateResponse
from django.utils import translation

from farmops.farms.models import Membership, Role
from farmops.farms.selectors import memberships_of
from farmops.pages.visitors import language_of

HOME_OF = {Role.MANAGER: "pages:week", Role.BOOKKEEPER: "pages:costs", Role.HAND: "pages:day"}


class SignIn(LoginView):
    template_name = "pages/sign_in.html"
    redirect_authenticated_user = True

    def render_to_response(self, context: dict[str, Any], **response_kwargs: Any) -> HttpResponse:
        """Show the page in the visitor's language."""
        language = language_of(self.request)
        with translation.override(language):
            answer = super().render_to_response({**context, "language": language}, **response_kwargs)
            assert isinstance(answer, TemplateResponse)
            return answer.render()  # now, while the language is on


class SignOut(LogoutView):
    http_method_names = ["post", "options"]


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """Send a user to what the role opens with; with more than one farm, ask which."""
    memberships = memberships_of(request.user).select_related("farm").order_by("farm__code")
    first: dict[str, Membership] = {}
    order = list(HOME_OF)
    for one in sorted(memberships, key=lambda one: order.index(Role(one.role))):
        first.setdefault(one.farm.code, one)
    if len(first) == 1:
        (only,) = first.values()
        return redirect(HOME_OF[Role(only.role)], farm_code=only.farm.code)
    return render(request, "pages/farms.html", {"memberships": list(first.values())})
