"""Signing in and finding the way."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farmops.core.models import User
from farmops.farms.models import Farm, Field, Membership, Role
from farmops.farms.selectors import memberships_of
from farmops.farms.services.languages import LanguageUnknown, choose_language
from farmops.pages import words
from farmops.pages.access import UNSENT, for_roles, signed_in

HOME_OF = {Role.MANAGER: "pages:week", Role.BOOKKEEPER: "pages:costs", Role.HAND: "pages:day"}


class SignIn(LoginView):
    template_name = "pages/sign_in.html"
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Tell the page in which language it speaks, for the way to the other one, and whether anybody can sign in."""
        return super().get_context_data(**kwargs) | {
            "language": words.speaking(),
            "is_empty": not User.objects.exists(),
            "unsent": UNSENT in self.request.GET,
        }

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Say on the page that follows that the form which led here has to be sent again."""
        if UNSENT in self.request.GET:
            says = _(
                "You were signed out before it was sent: nothing was kept. Press Back twice: most browsers still hold "
                "the form as you filled it in, and it can be sent from there. Else enter it again."
            )
            messages.warning(self.request, says)
        return super().form_valid(form)


class SignOut(LogoutView):
    http_method_names = ["post", "options"]

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Sign out, and have the browser forget the pages that Back would show to whoever comes next."""
        answer: HttpResponse = super().post(request, *args, **kwargs)
        answer.headers["Clear-Site-Data"] = '"cache"'
        return answer


@require_POST
@signed_in
def speak(request: HttpRequest) -> HttpResponse:
    """Let pages, sheets and mails speak another language to who is signed in, and come back to the page."""
    assert isinstance(request.user, User)
    back = request.POST.get("next", "")
    if not url_has_allowed_host_and_scheme(back, {request.get_host()}, require_https=request.is_secure()):
        back = "/"
    try:
        choose_language(user=request.user, language=request.POST.get("language", ""))
    except LanguageUnknown as error:
        messages.error(request, error.says)
    return redirect(back)


@signed_in
def home(request: HttpRequest) -> HttpResponse:
    """Send a user to what the role opens with; with more than one farm, ask which."""
    memberships = memberships_of(request.user).select_related("farm").order_by("farm__code")
    first: dict[str, Membership] = {}
    order = list(HOME_OF)
    for one in sorted(memberships, key=lambda one: order.index(Role(one.role))):
        first.setdefault(one.farm.code, one)
    if len(first) == 1:
        (only,) = first.values()
        return _opens_with(only)
    return render(request, "pages/farms.html", {"memberships": list(first.values())})


@for_roles(*HOME_OF)
def farm_home(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Send a user to what the role on a farm opens with."""
    return _opens_with(membership)


def _opens_with(membership: Membership) -> HttpResponse:
    farm, role = membership.farm, Role(membership.role)
    if role == Role.MANAGER and not Field.objects.filter(farm=farm).exists():
        return redirect("pages:start", farm_code=farm.code)
    return redirect(HOME_OF[role], farm_code=farm.code)
