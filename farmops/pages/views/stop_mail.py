"""Stopping a kind of mail by the link in it: a look changes nothing, one press does it, without a cookie or a detour.

Mail readers press for their owner (RFC 8058), so the address takes a POST from anywhere; the signature in it is the key.
"""

from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import translation
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from farmops.core import clock
from farmops.digests.models import PersonLink, Purpose, SheetKind
from farmops.digests.services.person_links import is_stopped, link_of_token, stop_by
from farmops.pages import words


@never_cache
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def stop_mail(request: HttpRequest, token: str) -> HttpResponse:
    """Ask whether a kind of mail is to stop; stop it, or begin it again, when told so."""
    link = link_of_token(token, purpose=Purpose.STOP)
    if link is None:
        answer = render(
            request,
            "pages/stop_mail.html",
            {"language": words.speaking()},
            status=HTTPStatus.NOT_FOUND,
        )
    else:
        if request.method == "POST":
            stop_by(link=link, now=clock.now(), again=request.POST.get("again") == "yes")
        answer = _page(request, link)
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex"
    return answer


def _page(request: HttpRequest, link: PersonLink) -> HttpResponse:
    language = link.person.language
    with translation.override(language):
        context = {
            "language": language,
            "link": link,
            "kind": words.named(SheetKind(link.kind).label),
            "is_stopped": is_stopped(link=link),
            "is_done": request.method == "POST",
        }
        return render(request, "pages/stop_mail.html", context)
