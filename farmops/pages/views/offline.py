"""The script by which a browser shows the hand's day without a signal."""

from pathlib import Path

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

WORKER = Path(__file__).resolve().parents[1] / "static" / "pages" / "day_worker.js"


@require_safe
@cache_control(no_cache=True)
def worker(request: HttpRequest, farm_code: str) -> HttpResponse:
    """Give the service worker: from beside the page that it serves, since it may serve nothing above its own address."""
    return HttpResponse(WORKER.read_bytes(), content_type="text/javascript; charset=utf-8")  # not said
