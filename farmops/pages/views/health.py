"""Whether the service is up, for monitors: numbers only, no names and nobody's words; nothing is written and no cookie set."""

from django.conf import settings
from django.db import DatabaseError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.utils.crypto import constant_time_compare
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from prometheus_client import CONTENT_TYPE_LATEST

from farmops.core import clock
from farmops.digests.selectors.metrics import exposition
from farmops.digests.selectors.outbox import health
from farmops.digests.services.heartbeat import SHEETS


@require_safe
@never_cache
def live(request: HttpRequest) -> HttpResponse:
    """Say that this process answers, whatever becomes of the database."""
    return HttpResponse("live\n", content_type="text/plain; charset=utf-8")  # not said


@require_safe
@never_cache
def ready(request: HttpRequest) -> HttpResponse:
    """Say whether the morning mail goes out: 200, or 503 within three minutes of silence."""
    try:
        found = health(job=SHEETS, now=clock.now())
    except DatabaseError:
        return JsonResponse({"is_ready": False, "has_database": False}, status=503)
    facts = {
        "is_ready": found.is_ready,
        "has_database": True,
        "since_last_tick_s": found.since_last_run_s,
        "oldest_due_s": found.oldest_due_s,
        "unknown": found.unknown,
        "dead": found.dead,
        "owed": found.expected,
        "made": found.made,
        "made_share": round(found.made / found.expected, 4) if found.expected else None,
        "is_halted": bool(found.halted),
        "is_clock_trusted": not found.distrusted,
        "clock_apart_s": found.clock_apart_s,
    }
    return JsonResponse(facts, status=200 if found.is_ready else 503)


@require_safe
@never_cache
def metrics(request: HttpRequest) -> HttpResponse:
    """Give the numbers of the mail to whoever shows the word of the settings; to anybody else there is no such page."""
    scheme, _, word = request.headers.get("Authorization", "").partition(" ")
    is_known = scheme.lower() == "bearer" and constant_time_compare(word.strip(), settings.METRICS_TOKEN)
    if not settings.METRICS_TOKEN or not is_known:
        raise Http404
    return HttpResponse(exposition(job=SHEETS, now=clock.now()), content_type=CONTENT_TYPE_LATEST)
