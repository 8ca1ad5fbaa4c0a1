"""The whole demo by its own command, twice: the same bytes, and facts that would fail if the chain were wrong.

Long because one played week is looked at from every side: a second file would have to play it again.
"""

import csv
import datetime as dt
import email
import email.policy
import http.cookiejar
import json
import os
import re
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from farmops.tryout.scenario import read_scenario
from scheduling.solver import check, parse_problem
from scheduling.solver.plan import read_plan

MANAGE = [sys.executable, str(Path(settings.BASE_DIR) / "manage.py")]
COLUMNS = "crop_year,field,crop,area_ac,category,quantity,unit,amount_usd,usd_per_ac"
MINUTES_PER_DAY = 1440


@dataclass(frozen=True)
class Run:
    """A folder with what a run wrote, and what it printed."""

    folder: Path
    printed: str

    def read(self, name: str) -> Any:
        return json.loads((self.folder / name).read_text(encoding="utf-8"))

    def sql(self, query: str) -> list[tuple[Any, ...]]:
        connection = sqlite3.connect(f"file:{self.folder / 'farm.sqlite3'}?mode=ro", uri=True)
        try:
            return connection.execute(query).fetchall()
        finally:
            connection.close()

    def one(self, query: str) -> Any:
        return self.sql(query)[0][0]


def environment(**changes: str) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("FARMOPS_", "DJANGO_"))}
    return {**kept, "DJANGO_SETTINGS_MODULE": "farmops.settings.embedded", **changes}


def tryout(out: Path, **changes: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*MANAGE, "tryout", "--out", str(out), "--seconds", "0.5"],
        env=environment(**changes),
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """One run for the whole suite, however many processes share it: the first to come makes it, the rest wait."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "tryout-run"
    out, printed = shared / "out", shared / "printed.txt"
    try:
        shared.mkdir()
    except FileExistsError:
        give_up = time.monotonic() + 240
        while not printed.exists():
            assert time.monotonic() < give_up, "the process that makes the run does not end"
            time.sleep(0.2)
    else:
        done = tryout(out)
        (shared / "printing.txt").write_text(done.stdout + done.stderr, encoding="utf-8")
        (shared / "printing.txt").rename(printed)
        assert done.returncode == 0, done.stderr
        assert done.stderr == ""
    return Run(out, printed.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def costs(run: Run) -> list[dict[str, str]]:
    with (run.folder / "field_costs.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.long
def test_a_second_run_over_the_first_gives_the_same_bytes_whatever_database_the_settings_name(
    run: Run, tmp_path: Path
) -> None:
    """Over a copy of the first run, with a stranger's file beside it, and the service's settings, whose servers are
    not there: the demo's database is a file of its own in every mode."""
    out = tmp_path / "again"
    shutil.copytree(run.folder, out)
    (out / "sheets" / "a-note-of-mine.txt").write_text("mine")
    nowhere = {
        "DJANGO_SETTINGS_MODULE": "farmops.settings.service",
        "FARMOPS_SECRET_KEY": "for-this-test-only-0123456789-0123456789-0123456789",
        "FARMOPS_DB_HOST": "127.0.0.1",
        "FARMOPS_DB_PORT": "1",
        "FARMOPS_BROKER_URL": "redis://127.0.0.1:1/0",
        "FARMOPS_CACHE_URL": "redis://127.0.0.1:1/1",
    }
    done = tryout(out, **nowhere)
    assert done.returncode == 0, done.stderr
    after = contents(out)
    assert after.pop("sheets/a-note-of-mine.txt") == b"mine"
    before = contents(run.folder)
    assert sorted(after) == sorted(before)
    assert [name for name in before if before[name] != after[name]] == []


def test_the_folder_holds_what_is_promised_and_no_scraps(run: Run) -> None:
    names = set(contents(run.folder))
    assert {
        "problem.json",
        "week_plan.json",
        "windows.json",
        "field_costs.csv",
        "field_costs.xlsx",
        "farm.sqlite3",
    } <= names
    assert not [name for name in names if name.endswith(("-wal", "-shm", "-journal", ".settled"))]
    assert str(Path(settings.BASE_DIR)) not in (run.folder / "problem.json").read_text(encoding="utf-8")


@pytest.mark.parametrize("suffix", ["", "_again"])
def test_both_plans_keep_every_rule_by_the_independent_check(run: Run, suffix: str) -> None:
    problem = parse_problem(run.read(f"problem{suffix}.json"))
    plan = read_plan(run.folder / f"week_plan{suffix}.json")
    found = check(problem, plan)
    assert list(found.violations) == []
    assert found.cost == plan.cost
    assert len(plan.tasks) > 5


def test_no_work_starts_in_a_shut_hour_and_every_shut_hour_says_why(run: Run) -> None:
    windows = {row["pass"]: row for row in run.read("windows.json")["passes"]}
    tasks = run.read("week_plan.json")["tasks"]
    assert any(task["id"].startswith("care:") for task in tasks), "service stops keep no field's hours"
    for task in tasks:
        if task["id"].startswith("care:"):
            continue
        row = windows[task["id"].partition("#")[0]]
        assert any(s["from"] <= task["from"] < s["to"] for s in row["open"]), task["id"]
    for row in windows.values():
        assert all(stretch["says"] and stretch["limit"] for stretch in row["shut"])
        minutes = sum(s["to"] - s["from"] for s in [*row["open"], *row["shut"]])
        assert minutes == 7 * MINUTES_PER_DAY


def test_after_the_wet_spell_heavy_ground_opens_later_than_sandy_ground(run: Run) -> None:
    windows = {row["pass"]: row for row in run.read("windows.json")["passes"]}

    def first_open(name: str) -> int:
        return windows[name]["open"][0]["from"]

    sandy, heavy = (
        ["blue-crane/disk", "widow-lane/rip_bed"],
        ["old-gin/disk", "brickyard/disk", "lantern-hill/disk"],
    )
    assert max(map(first_open, sandy)) + 240 <= min(map(first_open, heavy))
    assert any(s["limit"] == "sticks" for s in windows["brickyard/disk"]["shut"])
    two_textures = [s["says"] for s in windows["lantern-hill/disk"]["shut"]]
    assert two_textures[0].startswith("creek side")


def test_cold_soil_keeps_peanuts_in_the_bag_on_monday_while_cotton_and_corn_may_go(run: Run) -> None:
    windows = {row["pass"]: row for row in run.read("windows.json")["passes"]}
    assert windows["persimmon/plant"]["open"][0]["from"] >= MINUTES_PER_DAY
    assert windows["persimmon/plant"]["shut"][0]["limit"] == "peanut_soil"
    for name in ("crooked-mile/plant", "hickory-step/plant"):
        assert windows[name]["open"][0]["from"] < MINUTES_PER_DAY


def test_corn_that_is_planted_late_is_planted_first(run: Run) -> None:
    """1 % a day of 165 bu at 4.55 is 7.51 dollars an acre; 57 acres of it lose 427.93 a day, 17.83 an hour."""
    row = next(one for one in run.read("problem.json")["tasks"] if one["id"] == "crooked-mile/plant")
    assert (row["due"], row["late_cents_per_hour"]) == (0, 1783)
    tasks = {task["id"]: task["from"] for task in run.read("week_plan.json")["tasks"]}
    planted = [start for name, start in tasks.items() if "/plant" in name]
    assert tasks["crooked-mile/plant"] == min(planted)


def test_a_pivot_is_moved_by_start_walk_and_stop_outside_the_hours_its_well_is_shut(run: Run) -> None:
    tasks = {task["id"]: task for task in run.read("week_plan.json")["tasks"]}
    start, walk, stop = (tasks[f"blue-crane/pivot_{name}"] for name in ("start", "walk", "stop"))
    assert start["to"] <= walk["from"] <= start["to"] + 30
    assert walk["to"] <= stop["from"]
    assert stop["to"] <= tasks["blue-crane/disk"]["from"]
    assert walk["mode"] == "pivot:blue-crane"
    for one in (start, stop):
        assert not 14 * 60 <= one["from"] % MINUTES_PER_DAY < 19 * 60


def test_the_costs_of_the_file_are_the_lines_of_the_books_to_the_cent(
    run: Run, costs: list[dict[str, str]]
) -> None:
    assert (run.folder / "field_costs.csv").read_text(encoding="utf-8").splitlines()[0] == COLUMNS
    booked = run.one(
        "SELECT SUM(l.cents) FROM ledger_line l JOIN farms_season s ON s.id = l.season_id "
        "WHERE l.account = 'season' AND s.crop_year = 2026"
    )
    assert sum(Decimal(row["amount_usd"]) for row in costs) == Decimal(booked) / 100
    assert booked > 10_000_00
    assert run.one("SELECT SUM(cents) FROM ledger_line") == 0
    assert run.one("SELECT COUNT(*) FROM ledger_postingwait") == 0


def test_the_workbook_says_the_same_and_its_totals_sheet_adds_up(
    run: Run, costs: list[dict[str, str]]
) -> None:
    book = openpyxl.load_workbook(run.folder / "field_costs.xlsx", data_only=False)
    rows = list(book.worksheets[0].iter_rows(values_only=True))
    assert list(rows[0]) == COLUMNS.split(",")
    amount = rows[0].index("amount_usd")
    in_rows = [Decimal(str(row[amount])) for row in rows[1:] if row[0] == 2026]
    assert in_rows == [Decimal(row["amount_usd"]) for row in costs]
    total = f"{sum(in_rows):.2f}"
    in_totals = {
        f"{cell:.2f}"
        for row in book["Totals"].iter_rows(values_only=True)
        for cell in row
        if isinstance(cell, (int, float))
    }
    assert total in in_totals


def test_seed_of_the_planted_corn_goes_by_the_acre(costs: list[dict[str, str]]) -> None:
    """31 thousand kernels an acre at $3.95 a thousand are $122.45 an acre, whichever field it is."""
    corn = [row for row in costs if row["crop"] == "corn" and row["category"] == "seed"]
    assert len(corn) == 4
    assert {row["usd_per_ac"] for row in corn} == {"122.45"}


def test_the_puncture_costs_the_field_it_happened_in(run: Run, costs: list[dict[str, str]]) -> None:
    puncture = read_scenario().puncture
    ((field, lost_min, day),) = run.sql(
        "SELECT f.code, i.lost_min, i.happened_at FROM scheduling_incident i "
        "JOIN farms_field f ON f.id = i.field_id WHERE i.kind = 'puncture'"
    )
    assert lost_min == puncture.lost_min
    assert day.startswith(puncture.on.isoformat())
    ((row),) = [row for row in costs if row["category"] == "tires"]
    assert (row["field"], Decimal(row["amount_usd"])) == (field, puncture.amount_usd)


def test_the_pass_called_off_after_the_rain_is_in_no_later_plan(run: Run) -> None:
    called_off = run.sql(
        "SELECT f.code, p.operation, p.called_off_why FROM scheduling_fieldpass p "
        "JOIN farms_season s ON s.id = p.season_id JOIN farms_field f ON f.id = s.field_id "
        "WHERE p.state = 'called_off'"
    )
    wanted = read_scenario().called_off
    assert called_off == [(wanted.field, wanted.operation, wanted.why)]
    name = f"{wanted.field}/{wanted.operation}"
    assert name in {task["id"] for task in run.read("problem.json")["tasks"]}
    assert name not in {task["id"] for task in run.read("problem_again.json")["tasks"]}


def test_the_storm_stops_the_work_and_shuts_hours_that_were_open_before(run: Run) -> None:
    assert run.one(
        "SELECT COUNT(*) FROM scheduling_workrecord WHERE work_on = '2026-04-22' AND not_done_why LIKE 'storm%'"
    )
    late = run.sql("SELECT MAX(work_on) FROM scheduling_workrecord")[0][0]
    assert late <= "2026-04-26"
    first, again = (run.read(name) for name in ("windows.json", "windows_again.json"))

    def open_on(document: dict[str, Any], name: str, day: str) -> int:
        start = dt.datetime.fromisoformat(document["start"])
        begins = (dt.date.fromisoformat(day) - start.date()).days * MINUTES_PER_DAY
        row = next(one for one in document["passes"] if one["pass"] == name)
        return sum(
            max(0, min(s["to"], begins + MINUTES_PER_DAY) - max(s["from"], begins)) for s in row["open"]
        )

    assert open_on(again, "brickyard/rip_bed", "2026-04-23") < open_on(
        first, "brickyard/rip_bed", "2026-04-23"
    )


def test_what_is_read_and_said_in_the_week_changes_the_ground_or_the_hours_and_is_printed(run: Run) -> None:
    scenario = read_scenario()
    printed = run.printed.partition("What was read and said in the week")[2].partition(
        "passes are still open"
    )[0]
    lines = printed.splitlines()[1:-1]
    everything = (*scenario.said, *scenario.gauges, *scenario.thermometers, *scenario.remarks)
    assert len(lines) == len(everything)
    for one in everything:
        name = one.field.replace("-", " ").title()
        (line,) = [line for line in lines if name in line and f"{one.on:%a} {one.on.month}/" in line]
        change = re.search(r"by (0\.\d{3}|\d+\.\d °F)|(?:shuts|opens) (\d+\.\d) hours", line)
        assert change is not None, line
        assert re.search(r"[1-9]", change[0]), line
    gauges = run.sql(
        "SELECT f.code, g.day, g.rain_in FROM weather_gaugereading g JOIN farms_field f ON f.id = g.field_id "
        "ORDER BY g.id"
    )
    assert [(code, day, Decimal(str(rain))) for code, day, rain in gauges] == [
        (one.field, one.on.isoformat(), one.rain_in) for one in scenario.gauges
    ]
    assert run.one("SELECT COUNT(*) FROM weather_soilreading") == len(scenario.thermometers)
    assert run.one("SELECT COUNT(*) FROM scheduling_remark") == len(scenario.remarks)


def test_of_three_fields_on_the_same_sand_the_evening_s_plan_has_that_with_the_least_rain_driest(
    run: Run,
) -> None:
    """Blue Crane's gauge showed 0.35 in, Three Wells' 0.70 in, Widow Lane goes by the station's 1.04 in."""
    zones = run.read("windows_again.json")["ground"]
    topsoil = {zone["field"]: zone["days"][0]["topsoil_8am_m3_m3"] for zone in zones}
    assert topsoil["blue-crane"] < topsoil["three-wells"] < topsoil["widow-lane"]


def test_meters_show_the_hours_of_the_engines(run: Run) -> None:
    rows = run.sql(
        "SELECT m.code, m.meter_start_h, MAX(r.reading_h), COUNT(*) FROM scheduling_hourreading r "
        "JOIN farms_machine m ON m.id = r.machine_id GROUP BY m.code, m.meter_start_h"
    )
    assert {row[0] for row in rows} >= {"tractor-1", "tractor-3"}
    for code, at_start, shown, readings in rows:
        minutes = run.one(
            "SELECT SUM(w.machine_min) FROM scheduling_workrecord w JOIN farms_machine m ON m.id = w.machine_id "
            f"WHERE m.code = '{code}' AND w.work_on >= '2026-04-20'"
        )
        assert shown - at_start == pytest.approx(minutes / 60, abs=0.05 * readings + 0.001)


def test_no_acre_is_worked_twice(run: Run) -> None:
    over = run.sql(
        "SELECT p.id FROM scheduling_fieldpass p JOIN scheduling_workrecord w ON w.field_pass_id = p.id "
        "GROUP BY p.id, p.area_ac HAVING SUM(w.done_ac) > p.area_ac + 0.005"
    )
    assert over == []


def test_sheets_are_mail_in_text_and_html_in_the_hand_s_language(run: Run) -> None:
    paths = sorted((run.folder / "sheets").glob("*.eml"))
    monday = [path for path in paths if path.name.startswith("2026-04-20-")]
    last_named = {task["mode"].split("+")[-1] for task in run.read("week_plan.json")["tasks"]}
    planned = {name for name in last_named if not name.startswith(("pivot:", "pump:"))}
    assert len(monday) >= 3
    assert {path.stem.removeprefix("2026-04-20-") for path in monday} <= planned
    for path in paths:
        message = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
        kinds = [part.get_content_type() for part in message.walk() if not part.is_multipart()]
        assert kinds == ["text/plain", "text/html"]
        language = "es" if path.stem.endswith("-rosa") else "en"
        assert message["Content-Language"] == language
        assert message["Date"].datetime.astimezone(dt.UTC).hour == 9
        text = message.get_body(("plain",)).get_content()  # type: ignore[union-attr]
        assert "911" in text
        assert max(len(line) for line in text.splitlines()) <= 72


def test_weather_came_in_whole_and_day_by_day(run: Run) -> None:
    assert run.one("SELECT COUNT(*) FROM weather_dailyweather WHERE is_filled = 0") == 157
    assert run.one("SELECT COUNT(*) FROM weather_forecastissue") == 2


def test_the_printed_result_says_what_there_is_to_know(run: Run, costs: list[dict[str, str]]) -> None:
    printed = run.printed
    total = sum(Decimal(row["amount_usd"]) for row in costs)
    assert f"${total:,.2f}" in printed
    for field in {row["field"] for row in costs}:
        assert re.search(
            rf"^  {field.replace('-', ' ').title()} +(corn|cotton|peanuts) +[\d.]+ +\$[\d,.]+ +\$[\d,.]+$",
            printed,
            re.M,
        ), field
    assert "Left, and why:" in printed
    assert f"python manage.py serve --database {run.folder / 'farm.sqlite3'}" in printed
    assert read_scenario().password in printed
    assert "8.9 % apart" in printed
    assert "The books were walked from end to end and hold." in printed
    assert "\x1b" not in printed


def test_a_foreign_file_in_the_way_is_left_alone_and_named(tmp_path: Path) -> None:
    (tmp_path / "farm.sqlite3").write_text("mine")
    with pytest.raises(CommandError, match=r"farm\.sqlite3 was not written by a tryout, and is left alone"):
        call_command("tryout", out=tmp_path)
    assert (tmp_path / "farm.sqlite3").read_text() == "mine"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["tryout", "--seconds", "0"], "0 is not above 0 and at most 600"),
        (["tryout", "--seconds", "soon"], "'soon' is not a number"),
        (["serve", "--port", "99999"], "'99999' is not a port"),
        (["serve", "--database", "nowhere.sqlite3"], "nowhere.sqlite3: there is no such file"),
    ],
)
def test_bad_options_are_refused_with_a_sentence(arguments: list[str], says: str) -> None:
    with pytest.raises(CommandError, match=re.escape(says)):
        call_command(*arguments)


@pytest.fixture
def served(run: Run, tmp_path: Path) -> Iterator[tuple[str, Path, str]]:
    """The pages of a copy of the demo's database: address, file and what was printed at the start."""
    database = tmp_path / "farm.sqlite3"
    shutil.copy(run.folder / "farm.sqlite3", database)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    process = subprocess.Popen(
        [*MANAGE, "serve", "--port", str(port), "--database", str(database)],
        env=environment(FARMOPS_EMAIL_DIR=str(tmp_path / "mail")),
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert process.stdout is not None
    try:
        printed = [process.stdout.readline()]
        while printed[-1] and "teo" not in printed[-1]:
            printed.append(process.stdout.readline())
        address = f"http://127.0.0.1:{port}"
        _wait_for(address)
        yield address, database, "".join(printed)
    finally:
        process.terminate()
        process.wait(timeout=20)
        process.stdout.close()


def _wait_for(address: str) -> None:
    give_up = time.monotonic() + 60
    while time.monotonic() < give_up:
        try:
            urllib.request.urlopen(f"{address}/sign-in/", timeout=5).close()
        except urllib.error.URLError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError(f"{address} does not answer")


def test_serve_shows_the_pages_with_their_styles_and_runs_the_jobs(served: tuple[str, Path, str]) -> None:
    address, database, printed = served
    assert f"{address}/" in printed
    assert read_scenario().password in printed
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))
    with opener.open(f"{address}/sign-in/", timeout=20) as answer:
        page = answer.read().decode()
    style = re.search(r'href="(/static/[^"]+\.css)"', page)
    assert style
    with opener.open(address + style.group(1), timeout=20) as answer:
        assert answer.headers["Content-Type"].startswith("text/css")
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)
    assert token
    form = {
        "csrfmiddlewaretoken": token.group(1),
        "username": "marlene",
        "password": read_scenario().password,
    }
    request = urllib.request.Request(
        f"{address}/sign-in/", urllib.parse.urlencode(form).encode(), {"Referer": f"{address}/sign-in/"}
    )
    with opener.open(request, timeout=20) as answer:
        assert answer.url.endswith("/farms/sweetgum-bend/week/")
        assert "Blue Crane" in answer.read().decode()
    connection = sqlite3.connect(database)
    jobs = {row[0] for row in connection.execute("SELECT job FROM core_jobrun WHERE finished_at IS NOT NULL")}
    connection.close()
    assert jobs == {job["name"] for job in settings.JOBS}
