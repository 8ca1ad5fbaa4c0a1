"""A month over both changes of the clocks: everybody gets every day's mail once, or a reason why not stands in the row.

The hands have no plan: each wants a short sheet on such a day, or none. So rows, clocks, composing, printing, mail and
states are the real ones; slips of work are not composed here.
"""

import datetime as dt
from collections import Counter
from pathlib import Path

import pytest

from tests.faults.counting import counting
from tests.faults.month import IDLE_EVERY, ZONES, spans
from tests.faults.processes import SECRET_KEY, run_json
from tests.faults.sizes import SIZES

pytestmark = pytest.mark.faults


def test_over_both_changes_of_the_clocks_nobody_is_missing_and_nobody_gets_it_twice(
    postgres_database: dict[str, str], tmp_path: Path
) -> None:
    days, hands = SIZES.month_days, SIZES.month_hands_per_zone
    with counting() as server:
        env = {
            **postgres_database,
            **server.env(),
            "DJANGO_SETTINGS_MODULE": "tests.faults.played_service",
            "FARMOPS_SECRET_KEY": SECRET_KEY,
            "FARMOPS_MAIL_JOURNAL": str(tmp_path / "journal"),
        }
        found = run_json("-m", "tests.faults.month", str(days), str(hands), env=env)
    wanted_days = {
        (first + dt.timedelta(days=number)).isoformat()
        for first, last in spans(days)
        for number in range((last - first).days + 1)
    }
    by_day = Counter((zone, day) for zone, day, _state, _reason in found["rows"] if day in wanted_days)
    assert by_day == {(zone, day): hands for zone in ZONES for day in wanted_days}, "somebody has no row"
    states = Counter((state, reason) for _zone, _day, state, reason in found["rows"])
    assert set(states) <= {("sent", ""), ("empty", "nothing_to_do"), ("skipped", "too_late")}
    per_farm = min(hands, 50)
    idle = -(-per_farm // IDLE_EVERY) * (hands // per_farm) * len(ZONES) * len(wanted_days)
    in_days = Counter(state for _zone, day, state, _reason in found["rows"] if day in wanted_days)
    assert in_days["empty"] == idle
    assert in_days["skipped"] == 0, (
        "an outage of up to five hours is shorter than the six in which mail goes out late"
    )
    times = server.times()
    assert times == dict.fromkeys(found["sent"], 1)
    print(f"{days} days, {hands} hands in each of {len(ZONES)} zones: {dict(states)}, missing 0, twice 0")
