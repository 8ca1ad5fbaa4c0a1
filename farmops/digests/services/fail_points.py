"""Named points at which the tests of faults kill this process; without FARMOPS_FAIL_AT they do nothing.

FARMOPS_FAIL_AT names one point, and after a colon which time it is passed: `after_claim:3`.
"""

import os
import signal
from collections import Counter

POINTS = (
    "after_make",
    "after_claim",
    "after_compose",
    "after_sending_commit",
    "after_data_before_250",
    "after_250_before_journal",
    "after_journal_before_settle",
    "after_settle_before_ack",
)

_NAME, _, _TIME = os.environ.get("FARMOPS_FAIL_AT", "").partition(":")
_passed: Counter[str] = Counter()


def fail_at(name: str) -> None:
    """End this process with a signal that nothing can catch, where the environment says so."""
    if name != _NAME:
        return
    _passed[name] += 1
    if _passed[name] == int(_TIME or 1):
        os.kill(os.getpid(), signal.SIGKILL)


def arm(spec: str) -> None:
    """Fail at another point than the environment says, counted from now on; an empty word disarms."""
    global _NAME, _TIME
    _NAME, _, _TIME = spec.partition(":")
    _passed.clear()
