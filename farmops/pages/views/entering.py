"""Coming in by a link: a look at it changes nothing, pressing the button signs the hand in.

Mail scanners, previews of chats and crawlers fetch what they see, so only a POST does something. The address itself is
the key: the page tells other addresses its site only (`strict-origin`; with `no-referrer` browsers send the form from
the origin `null`, which the check against forged forms refuses), is kept by no cache, and the log leaves it out.
"""

import datetime as dt
from http import HTTPStatus
from zoneinfo import ZoneInfo

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import translation
from django.utils.translation import gettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from farmops.core import clock
from farmops.core.throttle import Throttle
from farmops.farms.models import SignInLink
from farmops.farms.selectors import link_of_secret
from farmops.farms.services.links import STAYS, LinkNotOpen, LinkState, state_of, use_link
from farmops.pages import words
from farmops.pages.access import CAME_IN_BY

WRONG_LINKS = Throttle(most=20, within=dt.timedelta(minutes=15))
"""Farm judgement: nobody mistypes a link so often; who guesses would need longer than the world is old all the same.

Behind a proxy or a farm's one router everybody has the same address, so a link that is right is never turned away: else
a stranger's guesses would keep the whole crew out.
"""


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def enter(request: HttpRequest, secret: str) -> HttpResponse:
    """Ask whether this is the hand the link was made for, and sign the hand in when told so."""
    answer = _answer(request, secret, clock.now())
    answer["Referrer-Policy"] = "strict-origin"
    answer["X-Robots-Tag"] = "noindex"
    return answer


def _answer(request: HttpRequest, secret: str, now: dt.datetime) -> HttpResponse:
    link = link_of_secret(secret)
    if link is None:
        return _unknown(request, now)
    return answer_by(request, link, now=now)


def answer_by(request: HttpRequest, link: SignInLink, *, now: dt.datetime) -> HttpResponse:
    """Ask whether this is the hand of a link, or sign the hand in when told so."""
    if request.method == "POST":
        try:
            user = use_link(link=link, now=now)
        except LinkNotOpen:
            return _page(request, link, state_of(link, now=now), is_refused=True)
        login(request, user)
        request.session[CAME_IN_BY] = link.pk
        request.session.set_expiry(now + STAYS)
        return redirect("pages:day", farm_code=link.farm.code)
    return _page(request, link, state_of(link, now=now))


def _unknown(request: HttpRequest, now: dt.datetime) -> HttpResponse:
    maker = request.META.get("REMOTE_ADDR", "")
    wait_s = WRONG_LINKS.wait_s(maker, now=now)
    if wait_s:
        page = _to_a_stranger(request, "pages/link_wait.html", HTTPStatus.TOO_MANY_REQUESTS)
        page["Retry-After"] = str(wait_s)
        return page
    WRONG_LINKS.missed(maker, now=now)
    return _to_a_stranger(request, "pages/link_unknown.html", HTTPStatus.NOT_FOUND)


def _to_a_stranger(request: HttpRequest, template: str, status: HTTPStatus) -> HttpResponse:
    """Show a page to somebody of whom no more is known than what the browser says."""
    return render(request, template, {"language": words.speaking()}, status=status)


def _page(
    request: HttpRequest, link: SignInLink, state: LinkState, *, is_refused: bool = False
) -> HttpResponse:
    if is_refused and state is LinkState.OPEN:
        state = LinkState.REVOKED  # the account behind it is closed
    language = link.hand.language
    local = link.expires_at.astimezone(ZoneInfo(link.farm.zone))
    until = f"{words.long_date(local.date(), language)}, {words.clock(local, language)}"
    with translation.override(language):
        context = {
            "language": language,
            "hand": link.hand,
            "owner": link.farm,
            "is_open": state is LinkState.OPEN,
            "says": _closed(state),
            "until": until.rstrip("."),  # the sentence ends with one
        }
        status = HTTPStatus.OK if state is LinkState.OPEN else HTTPStatus.GONE
        return render(request, "pages/link.html", context, status=status)


def _closed(state: LinkState) -> str:
    """Return why a link signs nobody in, in the language that is on."""
    if state is LinkState.EXPIRED:
        return gettext("It is too old. The newest morning sheet has a new one.")
    if state is LinkState.REVOKED:
        return gettext("The boss has taken it back. The next morning sheet has a new one.")
    return gettext("It was made for somebody who does not work here any more.")
