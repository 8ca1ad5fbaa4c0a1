"""The command that measures what is promised; nothing here is timed."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from farmops.bench import benches, children
from farmops.bench.benches import BENCHES, Bench
from farmops.bench.ground import AHEAD, FIELDS, LEAST_TIMES_PEER, MOST_MB, MOST_SECONDS, SIZES
from farmops.bench.rows import BenchReport, BenchRow, Choices, Grid


def bench(*arguments: str) -> str:
    out = StringIO()
    call_command("bench", *arguments, stdout=out)
    return out.getvalue()


def of_rows(monkeypatch: pytest.MonkeyPatch, *rows: BenchRow, packages: tuple[str, ...] = ()) -> None:
    one = Bench(
        "sums", "how fast sums are", packages, lambda choices: BenchReport("sums", ("One core.",), rows)
    )
    monkeypatch.setattr("farmops.bench.management.commands.bench.BENCHES", {**BENCHES, "sums": one})


MET = BenchRow("sums", "10 numbers", 0.5, 20.0, "numbers", 2.0, "at least 1 times by hand", True)
MISSED = BenchRow("sums", "20 numbers", 4.0, 5.0, "numbers", 0.5, "at least 1 times by hand", False)


def test_small_sizes_of_the_ground_give_the_whole_table_without_a_verdict() -> None:
    report = json.loads(bench("ground", "--small", "--json"))
    assert (report["format"], report["name"], report["is_met"]) == ("bench/1", "ground", True)
    assert "OMP_NUM_THREADS=1" in report["conditions"][0]
    assert report["conditions"][-1] == "Small sizes: no limit is judged."
    whats = [row["what"] for row in report["rows"]]
    assert whats[:2] == ["pyfao56: ET0 and topsoil", "ET0 and topsoil"]
    assert whats.count("growth: ET0 and topsoil") == 3
    assert "hours of a farm worked out and judged" in whats
    for row in report["rows"]:
        assert row["is_met"] is None
        assert row["seconds"] > 0
        assert row["rate"] > 0
    judged = next(row for row in report["rows"] if row["what"].startswith("hours of a farm"))
    assert judged["size"] == "4 fields x 2 zones x 3 days x 20 members"
    peak = next(row for row in report["rows"] if "memory" in row["what"])
    assert 0.02 < peak["ratio"] < 1  # an interpreter with NumPy holds some 50 MB
    growing = [row for row in report["rows"] if row["what"] == "growth: hours of a farm"]
    assert [row["size"].split()[0] for row in growing] == ["1", "2", "4"]
    assert growing[1]["ratio"] == 1
    assert growing[2]["limit"] == "at most 1.5 times a field's time at 2"


def test_full_sizes_and_limits_are_those_that_were_promised() -> None:
    assert (FIELDS, LEAST_TIMES_PEER) == (1_000, 5_000)
    assert len(SIZES) == 3
    assert AHEAD == {"fields": 100, "zones": 3, "days": 16, "members": 200}
    assert (MOST_SECONDS, MOST_MB) == (3.0, 1_000.0)


def test_the_table_names_sizes_rates_ratios_and_verdicts(monkeypatch: pytest.MonkeyPatch) -> None:
    of_rows(monkeypatch, MET, BenchRow("a look", "3 numbers", 0.001, 3000.0, "numbers"))
    lines = bench("sums").splitlines()
    assert lines[0] == "One core."
    assert lines[2].split() == ["what", "size", "seconds", "per", "second", "ratio", "limit"]
    assert [part.strip() for part in lines[3].split("  ") if part.strip()] == [
        "sums",
        "10 numbers",
        "0.500",
        "20 numbers",
        "2.00",
        "at least 1 times by hand",
        "met",
    ]
    assert "3,000 numbers" in lines[4]


def test_a_missed_limit_is_named_and_exits_1(monkeypatch: pytest.MonkeyPatch) -> None:
    of_rows(monkeypatch, MET, MISSED)
    out = StringIO()
    with pytest.raises(CommandError, match="Missed: sums, 20 numbers: at least 1 times by hand") as missed:
        call_command("bench", "sums", stdout=out)
    assert missed.value.returncode == 1
    assert "MISSED" in out.getvalue()


def test_json_says_whether_every_limit_was_met(monkeypatch: pytest.MonkeyPatch) -> None:
    of_rows(monkeypatch, MET, MISSED)
    out = StringIO()
    with pytest.raises(CommandError):
        call_command("bench", "sums", "--json", stdout=out)
    report = json.loads(out.getvalue())
    assert report["is_met"] is False
    assert [row["is_met"] for row in report["rows"]] == [True, False]


def test_a_package_that_is_not_installed_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    of_rows(monkeypatch, MET, packages=("json", "no_such_package_here"))
    with pytest.raises(CommandError, match="compares with no_such_package_here, not installed here"):
        bench("sums")


def test_a_bench_nobody_knows_is_wrong_usage() -> None:
    with pytest.raises(CommandError, match="invalid choice: 'nothing'"):
        bench("nothing")


def test_a_measurement_that_fails_says_why(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(children.MeasurementFailed, match="no_such_function"):
        children.measured("farmops.bench.rows.no_such_function")

    def fail(choices: Choices) -> BenchReport:
        raise children.MeasurementFailed("the child ended with 9: out of memory")

    failing = Bench("sums", "", (), fail)
    monkeypatch.setattr("farmops.bench.management.commands.bench.BENCHES", {"sums": failing})
    with pytest.raises(CommandError, match="the child ended with 9"):
        bench("sums")


def test_each_bench_is_registered_under_its_own_name() -> None:
    assert {name: one.name for name, one in benches.BENCHES.items()} == {
        name: name for name in benches.BENCHES
    }
    assert BENCHES["ground"].packages == ("pyfao56", "pandas")
    assert BENCHES["plan"].packages == ("pyjobshop",)


def test_a_table_that_only_tells_stands_before_the_judged_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    grid = Grid("Two sums: seconds", ("way", "s"), (("by hand", "12"), ("by machine", "0.5")))
    one = Bench("sums", "", (), lambda choices: BenchReport("sums", ("One core.",), (MET,), (grid,)))
    monkeypatch.setattr("farmops.bench.management.commands.bench.BENCHES", {**BENCHES, "sums": one})
    lines = bench("sums").splitlines()
    assert lines[2:6] == ["Two sums: seconds", "way         s", "by hand     12", "by machine  0.5"]
    assert lines[7].startswith("what")
    assert json.loads(bench("sums", "--json"))["tables"] == [
        {
            "title": "Two sums: seconds",
            "columns": ["way", "s"],
            "lines": [["by hand", "12"], ["by machine", "0.5"]],
        }
    ]


def test_a_row_that_counts_nothing_shows_no_rate(monkeypatch: pytest.MonkeyPatch) -> None:
    of_rows(monkeypatch, BenchRow("a plan", "10 fields", 5.0, ratio=0.9, limit="no dearer", is_met=True))
    row = bench("sums").splitlines()[-1]
    assert row.split() == ["a", "plan", "10", "fields", "5.000", "0.90", "no", "dearer", "met"]


def test_parts_limits_of_time_and_minutes_reach_the_bench(monkeypatch: pytest.MonkeyPatch) -> None:
    heard: list[Choices] = []

    def run(choices: Choices) -> BenchReport:
        heard.append(choices)
        return BenchReport("sums", (), ())

    one = Bench("sums", "", (), run, parts=("long", "short"), has_limits=True, keeps_best=True)
    monkeypatch.setattr("farmops.bench.management.commands.bench.BENCHES", {**BENCHES, "sums": one})
    bench("sums", "--only", "short", "long", "--seconds", "5", "60", "--keep-best", "2.5")
    bench("sums")
    first, second = heard
    assert (first.only, first.seconds, first.keep_best_minutes) == (("short", "long"), (5, 60), 2.5)
    assert (second.is_small, second.only, second.seconds, second.keep_best_minutes) == (False, (), (), None)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (
            ("plan", "--only", "45"),
            "bench plan has no part '45'; it has 10, 30, 60, 120, proofs, anew, job-shops.",
        ),
        (
            ("plan", "--only", "proofs", "--keep-best", "1"),
            "--keep-best looks for plans of farms: 10, 30, 60, 120 fields.",
        ),
        (("ground", "--only", "rain"), "bench ground has no part 'rain'; it has no parts."),
        (
            ("ground", "--seconds", "5"),
            "bench ground is not measured at limits of time: leave --seconds out.",
        ),
        (("ground", "--keep-best", "5"), "bench ground keeps no best outcomes: leave --keep-best out."),
        (("plan", "--seconds", "0"), "--seconds must be whole numbers from 1 to 3600, not 0."),
        (("plan", "--seconds", "2.5"), "--seconds must be whole numbers from 1 to 3600, not 2.5."),
        (("plan", "--keep-best", "nan"), "--keep-best must be minutes above 0, at most 1440, not nan."),
        (("plan", "--keep-best", "long"), "--keep-best must be minutes above 0, at most 1440, not long."),
    ],
)
def test_a_choice_that_a_bench_does_not_offer_is_wrong_usage(arguments: tuple[str, ...], says: str) -> None:
    with pytest.raises(CommandError) as refused:
        bench(*arguments)
    assert (str(refused.value), refused.value.returncode) == (says, 2)
