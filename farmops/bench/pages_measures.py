"""What is asked of the pages, each in a child process: who asks for which addresses, and eight of them asking at once."""

import gzip
import http.client
import re
import statistics
import threading
import time
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.core.management import call_command
from django.urls import NoReverseMatch, reverse

from farmops.bench.ledger_place import CODE
from farmops.bench.pages_place import MANAGER
from farmops.core.models import User
from farmops.farms.models import Farm, Field, Hand, Machine
from farmops.pages.urls import urlpatterns
from farmops.weather.models import Station
from ledger.models import Bill, Entry
from scheduling.models import Incident, PlannedTask, WeekPlan

NOT_PAGES = frozenset(
    {"ready", "metrics", "day_worker", "general_ledger_file", "journal_file", "download", "hours_file"}
)
"""What no person waits for before a page: answers for monitors, a script, files."""
LINKED = re.compile(rb'(?:href|src)="(/static/[^"]+\.(?:css|js|svg))"')
FIRST_PATIENCE_S = 120.0


def static_ready() -> dict[str, Any]:
    """Lay the style sheets and scripts out as the service serves them."""
    call_command("collectstatic", verbosity=0, interactive=False)
    return {}


def asked() -> dict[str, Any]:
    """Return the cookie of a manager's session, and each page with its address: every GET page that has one."""
    user = User.objects.get(username=MANAGER)
    session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    session.save()
    found = {}
    known = _known()
    for pattern in urlpatterns:
        wanted = list(pattern.pattern.converters)
        if pattern.name in NOT_PAGES or any(name not in known for name in wanted):
            continue
        try:
            found[str(pattern.name)] = reverse(
                f"pages:{pattern.name}", kwargs={name: known[name] for name in wanted}
            )
        except NoReverseMatch:
            continue
    return {"cookie": f"{settings.SESSION_COOKIE_NAME}={session.session_key}", "pages": found}


def _known() -> dict[str, Any]:
    farm = Farm.objects.get(code=CODE)
    task = PlannedTask.objects.filter(farm=farm).order_by("id")[0]
    rows: dict[str, Any] = {
        "farm_code": farm.code,
        "code": Field.objects.filter(farm=farm).order_by("id")[4].code,
        "hand_id": Hand.objects.filter(farm=farm).order_by("id")[9].pk,
        "station_id": Station.objects.filter(farm=farm).order_by("id")[0].pk,
        "kind": "machine",
        "row_id": Machine.objects.filter(farm=farm).order_by("id")[0].pk,
        "pass_id": task.field_pass_id,
        "number": WeekPlan.objects.get(farm=farm, pk=task.plan_id).number,
        "account": "season",
    }
    for name, model in (("bill_id", Bill), ("incident_id", Incident)):
        first = model.objects.filter(farm=farm).order_by("id").first()
        if first is not None:
            rows[name] = first.pk
    if not Entry.objects.filter(farm=farm, number=rows["number"]).exists():
        raise ValueError("the books of the bench have no first entry")
    return rows


@dataclass
class _Told:
    """What one user saw of one page."""

    seconds: list[float] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)


def looked(*, port: int, cookie: str, pages: Mapping[str, str], users: int, times: int) -> dict[str, Any]:
    """Have some users ask for each page in turn, each so many times, all at once and without a pause between.

    Returns for each page the status, seconds and weight of a first look, and of those that answer the median and the
    time within which 95 of 100 answers came, in milliseconds.
    """
    return {name: _looked_at(port, cookie, address, users, times) for name, address in pages.items()}


def _looked_at(port: int, cookie: str, address: str, users: int, times: int) -> dict[str, Any]:
    first = _first_look(port, cookie, address)
    if first["status"] != 200:
        return first
    told = [_Told() for _user in range(users)]
    together = threading.Barrier(users)
    threads = [
        threading.Thread(target=_user, args=(port, cookie, address, times, one, together)) for one in told
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    seconds = sorted(took for one in told for took in one.seconds)
    statuses: Counter[int] = sum((one.statuses for one in told), Counter())
    if list(statuses) != [200]:
        raise ValueError(f"{address} answered {dict(statuses)}")
    return first | {
        "median_ms": 1000 * statistics.median(seconds),
        "p95_ms": 1000 * seconds[int(0.95 * len(seconds))],
        "count": len(seconds),
    }


def _first_look(port: int, cookie: str, address: str) -> dict[str, Any]:
    """Ask for a page once and return its status, its seconds, and its weight with all it names, as gzip packs it."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=FIRST_PATIENCE_S)
    began = time.perf_counter()
    status, body = _get(line, address, cookie)
    seconds = time.perf_counter() - began
    weight = len(gzip.compress(body, 6))
    for name in dict.fromkeys(LINKED.findall(body)):
        weight += len(gzip.compress(_get(line, name.decode(), cookie)[1], 6))
    line.close()
    return {"status": status, "first_s": seconds, "kb": weight / 1000}


def _user(port: int, cookie: str, address: str, times: int, told: _Told, together: threading.Barrier) -> None:
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=FIRST_PATIENCE_S)
    _get(line, address, cookie)
    together.wait()
    for _turn in range(times):
        began = time.perf_counter()
        status, _body = _get(line, address, cookie)
        told.seconds.append(time.perf_counter() - began)
        told.statuses[status] += 1
    line.close()


def _get(line: http.client.HTTPConnection, address: str, cookie: str) -> tuple[int, bytes]:
    line.request("GET", address, headers={"Cookie": cookie, "Host": "localhost"})
    answer = line.getresponse()
    return answer.status, answer.read()
