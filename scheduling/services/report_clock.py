"""When a report was written, by our clock: worked out from what the sender's clock showed.

A phone's clock may be wrong by minutes or by years; what it measures between two of its own hours is right all the
same. So a sender tells with each try what its clock shows then, and the report was written that long before it came.
"""

import datetime as dt

from scheduling.services.refusals import ClockOff

CLOCK_SLACK = dt.timedelta(minutes=10)  # farm judgement: a phone on the network is right within seconds
OLDEST_CLOCK = dt.timedelta(days=62)  # farm judgement: no phone lies in a drawer with a report for longer


def written_at(
    *, made_at: dt.datetime | None, sent_at: dt.datetime | None, received_at: dt.datetime
) -> dt.datetime | None:
    """Return when a report was written by our clock, never later than it came; None where the sender does not say.

    `made_at` and `sent_at` are of the sender's clock. Where that shows another hour than ours as the report comes in,
    the time that passed on it counts, back from when it came. Raises ClockOff where nothing can be worked out: by the
    sender's own clock it was written after it was sent, or too long before, so the clock was set in between; or that
    clock tells nothing of itself and dates the report ahead of ours or very long ago.
    """
    if made_at is None:
        return None
    is_off = sent_at is not None and abs(sent_at - received_at) > CLOCK_SLACK
    passed = (sent_at if sent_at is not None and is_off else received_at) - made_at
    if passed < -CLOCK_SLACK:
        raise ClockOff(
            f"The phone's clock was set after this was written, so when that was cannot be worked out: "
            f"it says {_apart(-passed)} from now.",
        )
    if passed > OLDEST_CLOCK:
        raise ClockOff(
            f"The phone says that it was written on {made_at:%Y-%m-%d}, {_apart(passed)} ago.",
        )
    return received_at - max(passed, dt.timedelta())


def _apart(gap: dt.timedelta) -> str:
    minutes = gap // dt.timedelta(minutes=1)
    if minutes < 2 * 60:
        return f"{minutes} minutes"
    return f"{minutes // 60} hours" if minutes < 3 * 24 * 60 else f"{minutes // (24 * 60)} days"
