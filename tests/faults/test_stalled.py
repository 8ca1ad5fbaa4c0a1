"""A server that takes nine minutes to answer the end of a message is waited for, and nobody gets the mail twice.

RFC 5321 section 4.5.3.2.6 has a client wait ten minutes there; every other step keeps the short limit. By default the
stall is some seconds, longer than that short limit; in full it is the nine minutes.
"""

import datetime as dt
import time

import pytest
from pytest_django.fixtures import Settings

from farmops.digests.models import OutboxRow, RowState
from farmops.digests.services.outbox import make_due, send_due
from tests.farmops.digests.planned import MONDAY, at
from tests.faults.counting import counting
from tests.faults.crowd import lay_crowd
from tests.faults.sizes import SIZES

pytestmark = [pytest.mark.faults, pytest.mark.django_db]
MORNING = at(MONDAY, 5, 5)


def test_a_long_silence_after_the_dot_makes_no_second_mail(settings: Settings) -> None:
    settings.EMAIL_BACKEND, settings.EMAIL_TIMEOUT = "farmops.digests.smtp.EmailBackend", 2
    lay_crowd(farms=1, hands=1, zone="America/New_York", sheet_at=dt.time(5))
    make_due(now=MORNING)
    with counting(
        timeout=SIZES.stall_s + 60
    ) as server:  # its own patience, else it hangs up after five minutes
        settings.EMAIL_HOST, settings.EMAIL_PORT = server.host, server.port
        server.waits_s = SIZES.stall_s
        began = time.monotonic()
        assert send_due(now=MORNING).sent == 1
        assert time.monotonic() - began >= SIZES.stall_s
        server.waits_s = 0
        assert send_due(now=MORNING + dt.timedelta(minutes=20)).sent == 0
    assert len(server.heads) == 1
    assert OutboxRow.objects.get().state == RowState.SENT


def test_a_server_that_stalls_before_the_dot_is_given_up_soon(settings: Settings) -> None:
    """Nothing was handed over: it is tried again later, and this run goes on with the others."""
    settings.EMAIL_BACKEND, settings.EMAIL_TIMEOUT = "farmops.digests.smtp.EmailBackend", 1
    lay_crowd(farms=1, hands=2, zone="America/New_York", sheet_at=dt.time(5))
    make_due(now=MORNING)

    async def stall(server: object, session: object, envelope: object, address: str, options: object) -> str:
        if not getattr(stall, "has_stalled", False):
            stall.has_stalled = True  # type: ignore[attr-defined]
            time.sleep(2)
        envelope.rcpt_tos.append(address)  # type: ignore[attr-defined]
        return "250 OK"

    with counting() as server:
        server.handle_RCPT = stall  # type: ignore[method-assign]
        settings.EMAIL_HOST, settings.EMAIL_PORT = server.host, server.port
        report = send_due(now=MORNING)
        assert (report.sent, report.retry) == (1, 1)
        assert send_due(now=MORNING + dt.timedelta(minutes=20)).sent == 1
    assert max(server.times().values()) == 1
