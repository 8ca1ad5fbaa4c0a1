"""Signing in and finding the way."""

from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from farmops.farms.models import Membership, Role

HOME_OF = {Role.MANAGER: "pages:week", Role.BOOKKEEPER: "pages:costs", Role.HAND: "pages:day"}


class SignIn(LoginView):
    template_name = "pages/sign_in.html"
    redirect_authenticated_user = True


class SignOut(LogoutView):
    http_method_names = ["post", "options"]


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """Send a user to what the role opens with; with more than one farm, ask which."""
    memberships = (
        Membership.objects.filter(user=request.user.pk or 0).select_related("farm").order_by("farm__code")
    )
    first: dict[str, Membership] = {}
    order = list(HOME_OF)
    for one in sorted(memberships, key=lambda one: order.index(Role(one.role))):
        first.setdefault(one.farm.code, one)
    if len(first) == 1:
        (only,) = first.values()
        return redirect(HOME_OF[Role(only.role)], farm_code=only.farm.code)
    return render(request, "pages/farms.html", {"memberships": list(first.values())})
