"""Whatever a mail server says at whatever step: the row ends in the right state, and the queue stops only for what concerns it all.

What the replies mean: RFC 5321 sections 3.8 (421 at any step) and 4.2.1 to 4.2.3; at which steps they are about the
service and not about one address: our own decision.
"""

import datetime as dt

import pytest
from pytest_django.fixtures import Settings

from farmops.digests.models import OutboxRow, RowState
from farmops.digests.selectors.troubles import standing_halt
from farmops.digests.services.outbox import make_due, send_due
from farmops.farms.models import Hand
from tests.farmops.digests.planned import MONDAY, at
from tests.farmops.digests.scripted_server import DROP, scripted
from tests.faults.crowd import lay_crowd

MORNING = at(MONDAY, 5, 5)

pytestmark = pytest.mark.django_db

Script = dict[str, str]


@pytest.fixture(params=["250 here", "250-here\r\n250 PIPELINING"], ids=["step by step", "in groups"])
def usual(request: pytest.FixtureRequest) -> Script:
    """The script of a server that is told one thing after the other, and of one that offers to be told some at once."""
    return {"ehlo": request.param}


def first_row(settings: Settings, script: Script) -> tuple[str, bool, int, int]:
    """Return the state of a row after one run, whether the queue stands, its attempts, and how many messages the server has."""
    lay_crowd(farms=1, hands=1, zone="America/New_York", sheet_at=dt.time(5))
    make_due(now=MORNING)
    with scripted(script) as server:
        settings.EMAIL_BACKEND = "farmops.digests.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", server.port, 5
        send_due(now=MORNING)
    row = OutboxRow.objects.get()
    return row.state, standing_halt() is not None, row.attempt, len(server.taken)


@pytest.mark.parametrize("step", ["greeting", "ehlo", "mail", "rcpt", "data", "dot"])
def test_421_and_a_dropped_line_before_the_end_are_passing_at_any_step(
    settings: Settings, usual: Script, step: str
) -> None:
    state, stands, _attempt, _taken = first_row(settings, usual | {step: "421 4.3.2 shutting down"})
    assert (state, stands) == (RowState.RETRY, False)


@pytest.mark.parametrize(
    ("step", "state"),
    [
        ("greeting", "retry"),
        ("ehlo", "retry"),
        ("mail", "retry"),
        ("rcpt", "retry"),
        ("data", "retry"),
        ("dot", "unknown"),
    ],
)
def test_a_dropped_line_is_a_retry_and_after_the_dot_unknown(
    settings: Settings, usual: Script, step: str, state: str
) -> None:
    found = first_row(settings, usual | {step: DROP})
    assert found[:2] == (state, False)
    assert found[3] == (1 if step == "dot" else 0)


@pytest.mark.parametrize(
    ("step", "says", "state", "stands"),
    [
        ("greeting", "554 5.7.1 not you", "due", True),
        ("mail", "550 5.7.1 not you", "due", True),
        ("mail", "451 4.3.0 later", "retry", False),
        ("mail", "552 5.3.4 too big", "dead", False),
        ("rcpt", "450 4.2.0 greylisted", "retry", False),
        ("rcpt", "451 4.7.1 greylisted", "retry", False),
        ("rcpt", "452 4.2.2 box full", "retry", False),
        ("rcpt", "550 5.1.1 no such box", "dead", False),
        ("rcpt", "551 5.1.6 moved", "dead", False),
        ("rcpt", "552 5.2.2 box full for good", "dead", False),
        ("data", "451 4.3.0 later", "retry", False),
        ("data", "554 5.6.0 no", "dead", False),
        ("dot", "452 4.3.1 disk full", "retry", False),
        ("dot", "550 5.7.1 looks like spam", "dead", False),
        ("dot", "552 5.3.4 too big", "dead", False),
        ("dot", "250 2.0.0 queued", "sent", False),
    ],
)
def test_each_reply_leads_to_its_state(
    settings: Settings, usual: Script, step: str, says: str, state: str, stands: bool
) -> None:
    """Whoever was refused before the message gets none, though this server goes on with 354 all the same."""
    found = first_row(settings, usual | {step: says})
    assert found[:2] == (state, stands)
    assert found[2:] == (0 if stands else 1, 1 if step == "dot" else 0)


def test_a_server_that_offers_no_tls_where_it_was_asked_for_gets_no_mail(settings: Settings) -> None:
    """Somebody in between may have struck the offer out: the mail waits, and the manager hears of it."""
    settings.EMAIL_USE_TLS = True
    state, stands, attempt, taken = first_row(settings, {"ehlo": "250 here"})
    assert (state, stands, attempt, taken) == ("due", True, 0, 0)


@pytest.mark.parametrize(
    ("address", "state"),
    [
        ("shared@farm.example", "sent"),
        ('"quoted local"@farm.example', "sent"),
        ("imani@bücher.example", "sent"),
        ("imani@farm.example\r\nBcc: all@farm.example", "dead"),
        ("imani@farm.example\u2028Bcc: all@farm.example", "dead"),
        (f"{'a' * 64}@{'b' * 63}.{'c' * 63}.{'d' * 53}.example", "sent"),
        (f"imani@{'b' * 64}.example", "dead"),
    ],
)
def test_odd_addresses_are_mailed_or_dead_and_block_nobody(
    settings: Settings, usual: Script, address: str, state: str
) -> None:
    """RFC 5321 section 4.5.3.1: 64 octets before the sign, 254 in all as the column holds; RFC 1035: 63 a label; IDN as in RFC 5891."""
    lay_crowd(farms=1, hands=2, zone="America/New_York", sheet_at=dt.time(5))
    odd, other = Hand.objects.order_by("pk")
    Hand.objects.filter(pk=odd.pk).update(email=address)
    if address.startswith("shared"):
        Hand.objects.filter(pk=other.pk).update(email=address)
    make_due(now=MORNING)
    with scripted(usual) as server:
        settings.EMAIL_BACKEND = "farmops.digests.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", server.port, 5
        send_due(now=MORNING)
    assert OutboxRow.objects.get(hand=odd).state == state
    assert OutboxRow.objects.get(hand=other).state == RowState.SENT
    assert len(server.taken) == (2 if state == "sent" else 1)
    assert not any(b"\nBcc:" in content for content in server.taken)
