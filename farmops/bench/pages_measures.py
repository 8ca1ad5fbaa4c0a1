"""What is asked of the pages, each in a child process: who asks for which addresses, and eight of them asking at once."""

import gzip
import http.client
import os
import random
import re
import statistics
import threading
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
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


def looked(
    *, port: int, cookie: str, pages: Mapping[str, str], users: int, times: int, process: int
) -> dict[str, Any]:
    """Have some users ask for each page in turn, each so many times, all at once and without a pause between.

    Returns for each page the status, seconds and weight of a first look, and of those that answer the median and the
    time within which 95 of 100 answers came, and what the server computed for one, in milliseconds.
    """
    return {name: _looked_at(port, cookie, address, users, times, process) for name, address in pages.items()}


def _looked_at(port: int, cookie: str, address: str, users: int, times: int, process: int) -> dict[str, Any]:
    first = _first_look(port, cookie, address)
    if first["status"] != 200:
        return first
    told = [_Told() for _user in range(users)]
    together = threading.Barrier(users)
    threads = [
        threading.Thread(target=_user, args=(port, cookie, address, times, one, together)) for one in told
    ]
    before = _computed_s(process)
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    after = _computed_s(process)
    seconds = [took for one in told for took in one.seconds]
    statuses: Counter[int] = sum((one.statuses for one in told), Counter())
    if list(statuses) != [200]:
        raise ValueError(f"{address} answered {dict(statuses)}")
    # each user looked once before all began together
    cpu_ms = None if before is None or after is None else 1000 * (after - before) / (users * (times + 1))
    return first | _times(seconds) | {"cpu_ms": cpu_ms}


def _computed_s(process: int) -> float | None:
    """Return the seconds that a process and its children have computed; None where the system does not say."""
    try:
        children = Path(f"/proc/{process}/task/{process}/children").read_text(encoding="ascii").split()
        told = [Path(f"/proc/{pid}/stat").read_text(encoding="ascii") for pid in (str(process), *children)]
    except OSError:
        return None
    # the 14th and 15th field; the second, a name in brackets, may hold spaces (proc_pid_stat(5))
    ticks = sum(sum(map(int, one.rpartition(")")[2].split()[11:13])) for one in told)
    return ticks / os.sysconf("SC_CLK_TCK")


def read(
    *, port: int, cookie: str, pages: Mapping[str, str], users: int, rounds: int, read_s: float
) -> dict[str, Any]:
    """Have some users go through all pages so many times, each in an order of its own, and read each for a while.

    Returns for each page, and for all of them together, the median and the time within which 95 of 100 answers came, in
    milliseconds. The orders are the same in each run.
    """
    told = {name: _Told() for name in pages}
    lock, together = threading.Lock(), threading.Barrier(users)

    def reads(user: int) -> None:
        dice = random.Random(user)
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=FIRST_PATIENCE_S)
        together.wait()
        time.sleep(dice.random() * read_s)
        for _round in range(rounds):
            for name in dice.sample(sorted(pages), len(pages)):
                began = time.perf_counter()
                status, _body = _get(line, pages[name], cookie)
                seconds = time.perf_counter() - began
                with lock:
                    told[name].seconds.append(seconds)
                    told[name].statuses[status] += 1
                time.sleep(read_s)
        line.close()

    threads = [threading.Thread(target=reads, args=(user,)) for user in range(users)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for name, one in told.items():
        if list(one.statuses) != [200] or len(one.seconds) != users * rounds:
            raise ValueError(f"{pages[name]} answered {dict(one.statuses)}")
    every = [seconds for one in told.values() for seconds in one.seconds]
    return {"every page": _times(every)} | {name: _times(one.seconds) for name, one in told.items()}


def _times(seconds: Sequence[float]) -> dict[str, Any]:
    ordered = sorted(seconds)
    return {
        "median_ms": 1000 * statistics.median(ordered),
        "p95_ms": 1000 * ordered[int(0.95 * len(ordered))],
        "count": len(ordered),
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
