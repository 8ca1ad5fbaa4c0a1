"""A clockwork that is killed at any of eight points comes back: nobody is missing, and who is mailed twice can be told.

Only between the moment at which the server holds the message and the line in the journal may a message go out again:
SMTP has no way around it (RFC 1047). It has the same Message-ID then.
"""

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from farmops.digests.services.fail_points import POINTS
from tests.faults.counting import counting
from tests.faults.processes import SECRET_KEY, run_json
from tests.faults.sizes import SIZES

pytestmark = pytest.mark.faults

IN_THE_GAP = ("after_data_before_250", "after_250_before_journal")
found: Counter[tuple[str, str]] = Counter()


@pytest.fixture(scope="module", autouse=True)
def _say_what_was_found() -> Iterator[None]:
    yield
    for (point, what), count in sorted(found.items()):
        print(f"{point}: {what} {count}")


@pytest.mark.parametrize("point", POINTS)
def test_nobody_is_missing_and_nobody_is_mailed_twice_beyond_the_gap(
    point: str, postgres_database: dict[str, str], tmp_path: Path
) -> None:
    with counting() as server:
        env = {
            **postgres_database,
            **server.env(),
            "DJANGO_SETTINGS_MODULE": "tests.faults.played_service",
            "FARMOPS_SECRET_KEY": SECRET_KEY,
            "FARMOPS_MAIL_JOURNAL": str(tmp_path / "journal"),
        }
        days = run_json("-m", "tests.faults.killed", point, str(SIZES.seeds), env=env)
        times = server.times()
    holds(point, days, times)


def test_the_same_holds_on_one_file(sqlite_file: Path, tmp_path: Path) -> None:
    """The embedded mode, at the point that matters most for it."""
    point = "after_journal_before_settle"
    with counting() as server:
        env = {
            **server.env(),
            "DJANGO_SETTINGS_MODULE": "tests.faults.played_file",
            "FARMOPS_DATABASE": str(sqlite_file),
            "FARMOPS_MAIL_JOURNAL": str(tmp_path / "journal"),
        }
        days = run_json("-m", "tests.faults.killed", point, str(SIZES.seeds), env=env)
        times = server.times()
    holds(point, days, times)


def holds(point: str, days: list[dict[str, object]], times: Counter[str]) -> None:
    kills = sum(bool(day["killed"]) for day in days)
    assert kills == len(days), "the point was not passed: nothing was killed"
    rows = {identity: state for day in days for identity, state in day["rows"].items()}  # type: ignore[attr-defined]
    assert len(rows) == 8 * len(days)
    assert set(rows.values()) == {"sent"}
    missing = [identity for identity in rows if not times[identity]]
    assert missing == []
    assert set(times) == set(rows), "a message with an identity that no row has"
    twice = sum(count - 1 for count in times.values())
    found.update({(point, "killed"): kills, (point, "twice"): twice})
    assert twice <= (kills if point in IN_THE_GAP else 0)
