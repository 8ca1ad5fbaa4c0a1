"""Long work: asked twice is one, claimed by one, told while it runs, called off whole, and seen when its worker dies."""

import datetime as dt
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from pytest_django.fixtures import Settings

from farmops.core.long_work import (
    FILE_KEPT,
    KEPT,
    PIECE_BYTES,
    CalledOff,
    NoSuchKind,
    Progress,
    Result,
    ResultFile,
    begin,
    call_off,
    forget_old,
    pieces,
)
from farmops.core.models import JobRun, LongWork, LongWorkPiece, LongWorkState
from farmops.core.problems import DomainError
from farmops.farms.models import Farm
from tests.factories import make_farm

NOON = dt.datetime(2026, 4, 20, 16, tzinfo=dt.UTC)


def race(env: dict[str, str]) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "tests.farmops.core.long_work_races"],
        cwd=django_settings.BASE_DIR,
        env={**os.environ, **env},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    found = json.loads(ran.stdout)
    assert found["pressed"] == {"rows": 1, "claimed": 1, "under_way": 1}
    assert found["called_off"]["wrong"] == []
    assert set(found["called_off"]["ends"]) <= {"called_off", "finished"}
    assert found["lost"] == {
        "before": [-9, "under_way", True],
        "after": [1, "stopped", True, True],
        "slow": [True, "finished"],
    }
    assert found["watched"] == [[[3, 10, "waiting to be seen", "under_way"]], "called_off"]


@pytest.mark.long
def test_on_one_sqlite_file_presses_claims_and_ends_meet(sqlite_file: Path) -> None:
    race(
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded",
            "FARMOPS_DATABASE": str(sqlite_file),
        }
    )


@pytest.mark.long
def test_on_one_postgresql_presses_claims_and_ends_meet(postgres_database: dict[str, str]) -> None:
    race(
        {
            "DJANGO_SETTINGS_MODULE": "farmops.settings.service",
            "FARMOPS_SECRET_KEY": "only-this-race-uses-it-0123456789-0123456789-0123456789",
            **postgres_database,
        }
    )


def writes(work: LongWork, progress: Progress) -> Result:
    path = Path(str(work.asked["folder"])) / "lines.csv"
    path.write_bytes(b"x" * (PIECE_BYTES + 3))
    progress.keep_file(ResultFile(path, path.name, "text/csv"))
    return Result({"lines": 1})


def refused(work: LongWork, progress: Progress) -> Result:
    return Result({"rules": ["one"]}, refused=DomainError("It cannot be."))


def called_off(work: LongWork, progress: Progress) -> Result:
    call_off(work=work, by=None, now=NOON)
    JobRun.objects.create(job="a trace", slot=0, started_at=NOON)
    progress(1, 2)
    raise AssertionError("it went on")


def broken(work: LongWork, progress: Progress) -> Result:
    raise KeyError("an error of the program")


@pytest.fixture
def farm(db: None, settings: Settings) -> Farm:
    here = "tests.farmops.core.test_long_work"
    settings.LONG_WORK = {kind: f"{here}.{kind}" for kind in ("writes", "refused", "called_off", "broken")}
    return make_farm()


def asked(farm: Farm, kind: str, **what: str) -> LongWork:
    return begin(farm=farm, kind=kind, asked_by=None, asked=what, key="once", now=NOON)


def test_each_way_to_end_is_told_and_what_ended_can_be_asked_again(farm: Farm) -> None:
    work = asked(farm, "refused")
    assert (work.state, work.code, work.says) == (LongWorkState.REFUSED, "domain_error", "It cannot be.")
    assert work.result == {"rules": ["one"]}
    assert asked(farm, "called_off").state == LongWorkState.CALLED_OFF
    with pytest.raises(KeyError):
        asked(farm, "broken")
    failed = LongWork.objects.get(kind="broken")
    assert (failed.state, failed.is_over) == (LongWorkState.FAILED, True)
    assert asked(farm, "refused").pk != work.pk
    with pytest.raises(NoSuchKind):
        asked(farm, "unknown")
    over = Progress(lambda: None)
    over.ends = True
    with pytest.raises(CalledOff):
        over(1, 1)


def test_a_file_is_kept_in_pieces_for_a_week_and_its_row_for_thirty_days(farm: Farm, tmp_path: Path) -> None:
    work = asked(farm, "writes", folder=str(tmp_path))
    assert (work.file_name, work.file_bytes, work.state) == ("lines.csv", PIECE_BYTES + 3, "finished")
    assert [len(one) for one in pieces(work=work)] == [PIECE_BYTES, 3]
    assert work.ended_at is not None
    assert forget_old(now=work.ended_at + FILE_KEPT - dt.timedelta(seconds=1)) == 0
    assert LongWorkPiece.objects.count() == 2
    assert forget_old(now=work.ended_at + FILE_KEPT) == 0
    work.refresh_from_db()
    assert (LongWorkPiece.objects.count(), work.file_bytes, list(pieces(work=work))) == (0, None, [])
    assert forget_old(now=work.ended_at + KEPT) == 1
