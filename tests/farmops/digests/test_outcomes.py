"""What each answer of a mail server means."""

import smtplib

import pytest

from farmops.digests.outcomes import (
    LONGEST_PROBE,
    LONGEST_WAIT_S,
    Verdict,
    judge,
    judge_opening,
    probe_wait,
    wait_s,
)


def at_receiver(code: int) -> smtplib.SMTPRecipientsRefused:
    return smtplib.SMTPRecipientsRefused({"a@farm.example": (code, b"4.2.1 said\nin two lines")})


@pytest.mark.parametrize(
    ("error", "verdict"),
    [
        (at_receiver(421), Verdict.RETRY),
        (at_receiver(450), Verdict.RETRY),
        (at_receiver(550), Verdict.DEAD),
        (at_receiver(553), Verdict.DEAD),
        (smtplib.SMTPDataError(451, b"later"), Verdict.RETRY),
        (smtplib.SMTPDataError(554, b"no"), Verdict.DEAD),
        (smtplib.SMTPSenderRefused(451, b"later", "farm"), Verdict.RETRY),
        (smtplib.SMTPSenderRefused(552, b"too big", "farm"), Verdict.DEAD),
        (smtplib.SMTPSenderRefused(530, b"sign in first", "farm"), Verdict.HALT),
        (smtplib.SMTPServerDisconnected("gone"), Verdict.RETRY),
        (TimeoutError("slow"), Verdict.RETRY),
    ],
)
def test_a_passing_refusal_is_told_from_a_lasting_one(error: Exception, verdict: Verdict) -> None:
    """RFC 5321 section 4.2.1: 4yz is passing, 5yz is lasting."""
    outcome = judge(error, was_handed_over=False)
    assert outcome.verdict is verdict
    assert outcome.ends_run == (verdict is Verdict.HALT)


def test_silence_after_the_dot_is_unknown() -> None:
    assert judge(smtplib.SMTPServerDisconnected("gone"), was_handed_over=True).verdict is Verdict.UNKNOWN
    assert judge(TimeoutError("slow"), was_handed_over=True).verdict is Verdict.UNKNOWN


@pytest.mark.parametrize(
    ("error", "verdict"),
    [
        (smtplib.SMTPAuthenticationError(535, b"wrong"), Verdict.HALT),
        (smtplib.SMTPAuthenticationError(454, b"not now"), Verdict.RETRY),
        (smtplib.SMTPNotSupportedError("no STARTTLS"), Verdict.HALT),
        (smtplib.SMTPConnectError(554, b"go away"), Verdict.HALT),
        (smtplib.SMTPConnectError(421, b"busy"), Verdict.RETRY),
        (smtplib.SMTPHeloError(550, b"not you"), Verdict.HALT),
        (ConnectionRefusedError(111, "refused"), Verdict.RETRY),
        (smtplib.SMTPServerDisconnected("gone"), Verdict.RETRY),
    ],
)
def test_trouble_before_any_message_ends_the_run_and_kills_no_row(error: Exception, verdict: Verdict) -> None:
    outcome = judge_opening(error)
    assert outcome.verdict is verdict
    assert outcome.ends_run


def test_the_server_s_words_are_kept_on_one_line() -> None:
    assert judge(at_receiver(550), was_handed_over=False).reply == "550 4.2.1 said in two lines"


def test_waits_double_under_a_ceiling_and_are_spread_from_zero() -> None:
    """Exponential backoff with full jitter: uniform from 0 to min(cap, base * 2**attempt), common practice, no source."""
    assert [wait_s(attempt=n, roll=1.0) for n in (1, 2, 3)] == [60, 120, 240]
    assert wait_s(attempt=3, roll=0.0) == 0
    assert wait_s(attempt=3, roll=0.5) == 120
    assert wait_s(attempt=60, roll=1.0) == LONGEST_WAIT_S == 1800


def test_a_server_that_refused_the_service_is_left_alone_longer_each_time_up_to_an_hour() -> None:
    """From five minutes, doubling, as the promise to the operator says; common practice, no source."""
    minutes = [probe_wait(probes=n).total_seconds() / 60 for n in range(6)]
    assert minutes == [5, 10, 20, 40, 60, 60]
    assert probe_wait(probes=10_000) == LONGEST_PROBE
