"""Coming in by the short code of a printed sheet: a look asks who it is, pressing the button signs the hand in.

A code is short, so wrong ones are counted by who tries them and all together, and where too many were tried nobody's
code is looked at for a while, right or wrong: else the count would keep no guesser out. Links and passwords go on.
"""

import datetime as dt
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from farmops.core import clock
from farmops.core.throttle import Throttle
from farmops.digests.services.door_codes import code_of, find_code
from farmops.pages import words
from farmops.pages.views.entering import answer_by

QUARTER = dt.timedelta(minutes=15)
WRONG_CODES = Throttle(most=10, within=QUARTER)
"""Farm judgement: who reads from paper gets it right within ten tries."""
ALL_WRONG_CODES = Throttle(most=100, within=QUARTER, makers=1)
ALL = "all"


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def enter_code(request: HttpRequest, code: str = "") -> HttpResponse:
    """Take a code from paper: show whose it is, and sign that hand in when told so."""
    answer = _answer(request, code, clock.now())
    answer["Referrer-Policy"] = "strict-origin"
    answer["X-Robots-Tag"] = "noindex"
    return answer


def _answer(request: HttpRequest, code: str, now: dt.datetime) -> HttpResponse:
    typed = code or request.POST.get("code", "")
    if not typed:
        return _form(request)
    maker = request.META.get("REMOTE_ADDR", "")
    wait_s = max(WRONG_CODES.wait_s(maker, now=now), ALL_WRONG_CODES.wait_s(ALL, now=now))
    if wait_s:
        page = _form(request, status=HTTPStatus.TOO_MANY_REQUESTS, waits=True)
        page["Retry-After"] = str(wait_s)
        return page
    found = find_code(typed[:40])
    if found is None:
        WRONG_CODES.missed(maker, now=now)
        ALL_WRONG_CODES.missed(ALL, now=now)
        return _form(request, status=HTTPStatus.NOT_FOUND, is_wrong=True, typed=typed[:40])
    if not code:
        return redirect("pages:enter_code", code=code_of(found).upper())
    return answer_by(request, found.link, now=now)


def _form(
    request: HttpRequest,
    *,
    status: HTTPStatus = HTTPStatus.OK,
    waits: bool = False,
    is_wrong: bool = False,
    typed: str = "",
) -> HttpResponse:
    context = {"language": words.speaking(), "waits": waits, "is_wrong": is_wrong, "typed": typed}
    return render(request, "pages/enter_code.html", context, status=status)
