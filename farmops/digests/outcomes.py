"""What the answer of a mail server means for a row. Pure: no Django.

Reply codes as in RFC 5321 section 4.2.1: 4yz passes, 5yz stays. A 5yz at the receiver is about that address; one at
sign-in or at the sender is about the service itself, and stops the queue.
"""

import datetime as dt
import smtplib
from dataclasses import dataclass
from enum import StrEnum

FIRST_WAIT_S = 30
LONGEST_WAIT_S = 30 * 60
FIRST_PROBE = dt.timedelta(minutes=5)
LONGEST_PROBE = dt.timedelta(minutes=60)
MOST_ATTEMPTS = 8
TOO_BIG = 552


class Verdict(StrEnum):
    """What becomes of the row, and whether the run goes on."""

    SENT = "sent"
    RETRY = "retry"  # a passing refusal: later
    DEAD = "dead"  # refused for good
    UNKNOWN = "unknown"  # handed over, no answer heard
    HALT = "halt"  # not this row's fault: the whole queue waits


@dataclass(frozen=True)
class Outcome:
    """A verdict with the server's words; `ends_run`: the next row would meet the same, so the run stops."""

    verdict: Verdict
    reply: str = ""
    error_class: str = ""
    ends_run: bool = False


def judge(error: Exception, *, was_handed_over: bool) -> Outcome:
    """Return what an error in the middle of a conversation means; `was_handed_over`: it came after the final dot."""
    name = type(error).__name__
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        code, said = next(iter(error.recipients.values()), (550, b"refused"))
        return Outcome(_by_code(code), _reply(code, said), name)
    if isinstance(error, smtplib.SMTPSenderRefused) and error.smtp_code != TOO_BIG:
        passing = _by_code(error.smtp_code) is Verdict.RETRY
        reply = _reply(error.smtp_code, error.smtp_error)
        return Outcome(Verdict.RETRY if passing else Verdict.HALT, reply, name, ends_run=not passing)
    if isinstance(error, smtplib.SMTPResponseException):
        return Outcome(_by_code(error.smtp_code), _reply(error.smtp_code, error.smtp_error), name)
    if isinstance(error, smtplib.SMTPNotSupportedError):
        return Outcome(Verdict.DEAD, str(error)[:300], name)
    return Outcome(Verdict.UNKNOWN if was_handed_over else Verdict.RETRY, str(error)[:300], name)


def judge_opening(error: Exception) -> Outcome:
    """Return what an error before any message means: the server is away (later), or refuses the service (halt).

    A sign-in may be put off as well as refused: 454 passes, 535 stays (RFC 4954 section 6, from memory).
    """
    name = type(error).__name__
    outcome = judge(error, was_handed_over=False)
    passing = outcome.verdict is Verdict.RETRY
    return Outcome(Verdict.RETRY if passing else Verdict.HALT, outcome.reply, name, ends_run=True)


def wait_s(*, attempt: int, roll: float) -> float:
    """Return seconds until the next try: full jitter under a doubling ceiling of at most half an hour.

    `attempt` counts tries so far (from 1), `roll` is a random number from 0 to 1. The ceiling doubles from 60 s.
    """
    return roll * min(LONGEST_WAIT_S, FIRST_WAIT_S * 2**attempt)


def probe_wait(*, probes: int) -> dt.timedelta:
    """Return how long a server that refused the service is left alone after so many probes: 5, 10, 20, 40, 60 minutes."""
    return min(LONGEST_PROBE, FIRST_PROBE * 2 ** min(probes, 10))


def _by_code(code: int) -> Verdict:
    return Verdict.RETRY if 400 <= code < 500 else Verdict.DEAD


def _reply(code: int, said: bytes | str) -> str:
    words = said.decode("utf-8", errors="replace") if isinstance(said, bytes) else str(said)
    return " ".join(f"{code} {words}".split())[:300]
