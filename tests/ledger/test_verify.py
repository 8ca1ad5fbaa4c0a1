"""What somebody changed behind the back of the books is found, with its place."""

import io
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from ledger.models import Entry, Line, PostingWait, Rate
from ledger.services.journal import reverse_entry
from ledger.services.posting import post_pending
from ledger.services.rates import set_rate
from ledger.services.verify import verify_ledger
from tests.factories import make_field, make_hand, make_pass, make_season
from tests.ledger.makers import NEW_YEAR, NOON, Place, behind_the_back, make_place, make_work, use_input

pytestmark = pytest.mark.django_db


def test_whole_books_are_whole(booked: Place) -> None:
    report = verify_ledger()
    assert report.is_whole
    assert (report.books[0].entries, report.books[0].farm) == (5, "heron-slough")
    assert report.books[0].lines == Line.objects.count()
    assert report.books[0].head == Entry.objects.get(number=5).hash


@pytest.mark.parametrize(
    ("statements", "where", "says"),
    [
        (
            [
                "UPDATE ledger_line SET cents = 2 * cents WHERE entry_id = (SELECT id FROM ledger_entry WHERE number = 2)"
            ],
            "entry 2",
            "digest differs",
        ),
        (
            ["UPDATE ledger_line SET cents = cents + 1 WHERE category = 'tires' AND cents > 0"],
            "entry 2",
            "its lines sum to 0.01 dollars instead of nothing",
        ),
        (
            ["UPDATE ledger_entry SET happened_on = '2026-04-19' WHERE number = 2"],
            "entry 2",
            "digest differs",
        ),
        (["UPDATE ledger_entry SET why = 'because' WHERE number = 3"], "entry 3", "digest differs"),
        (
            ["UPDATE ledger_entry SET hash = 'made up' WHERE number = 2"],
            "entry 3",
            "does not follow the entry before",
        ),
        (
            [
                "UPDATE ledger_line SET season_id = NULL, account = 'overhead' WHERE category = 'tires' AND cents > 0"
            ],
            "entry 2",
            "now points elsewhere",
        ),
        (
            [
                "DELETE FROM ledger_line WHERE entry_id = (SELECT id FROM ledger_entry WHERE number = 5)",
            ],
            "entry 5",
            "has 0 lines and was made with",
        ),
        (
            ["UPDATE ledger_line SET price_e4 = 10 * price_e4 WHERE category = 'labor'"],
            "entry 1",
            "its quantity and price give",
        ),
        (
            ["UPDATE ledger_bill SET cents = cents + 100"],
            "entry 2",
            "is over 51.00 dollars and 50.00 were booked",
        ),
        (
            ["UPDATE ledger_bill SET category = 'seed'"],
            "entry 2",
            "is of the category seed, and it was booked as an",
        ),
        (
            ["UPDATE scheduling_workrecord SET hand_min = 61 WHERE hand_min = 60"],
            "entry 4",
            "line 1 was booked for 60 min, and its work record says 61",
        ),
        (
            ["UPDATE scheduling_workrecord SET machine_min = 10"],
            "entry 5",
            "line 3 was booked for 270 min, and its work record says 10",
        ),
        (
            ["UPDATE ledger_rate SET price_e4 = 180001 WHERE kind = 'wage'"],
            "entry 1",
            "line 1 has the price 18.0000, and the rate it came from says 18.0001",
        ),
        (
            ["UPDATE ledger_line SET rate_id = NULL"],
            "entry 1",
            "line 1 does not say where its price comes from",
        ),
        (["UPDATE ledger_bill SET bill_on = '2026-05-01'"], "entry 2", "its source happened on 2026-05-01"),
        (
            ["UPDATE ledger_bill SET client_id = '00000000000000000000000000000001'"],
            "entry 2",
            "another one than was booked",
        ),
    ],
)
def test_a_change_behind_the_back_is_named_with_its_place(
    booked: Place, statements: list[str], where: str, says: str
) -> None:
    behind_the_back(*statements)
    faults = verify_ledger(farm=booked.farm).faults
    assert [fault for fault in faults if fault.place == where and says in fault.says], faults
    with pytest.raises(CommandError, match=f"heron-slough, {where}") as caught:
        call_command("verify_ledger", farm="heron-slough", stdout=io.StringIO())
    assert caught.value.returncode == 1


def test_an_entry_taken_out_leaves_a_gap(booked: Place) -> None:
    last = Entry.objects.get(number=5)
    reverse_entry(entry=last, why="not ours", now=NOON)
    behind_the_back(
        f"DELETE FROM ledger_entrybalance WHERE entry_id = {Entry.objects.get(number=2).pk}",
        f"DELETE FROM ledger_line WHERE entry_id = {Entry.objects.get(number=2).pk}",
        "DELETE FROM ledger_entry WHERE number = 2",
    )
    says = [str(fault) for fault in verify_ledger().faults]
    assert "heron-slough, entry 3: number 2 should come here; 1 are missing" in says
    assert len(says) == 2


def test_inputs_hands_and_seasons_of_the_work_are_compared_too(place: Place) -> None:
    set_rate(farm=place.farm, kind="wage", subject="imani", usd_per_unit="19", valid_from=NEW_YEAR, now=NOON)
    record = make_work(place)
    use_input(record, "urea", "120.5", "lb", usd="0.31")
    other_hand = make_hand(place.farm, "odell")
    other_pass = make_pass(make_season(make_field(place.farm, "sand-60")))
    post_pending(now=NOON)
    assert verify_ledger().is_whole
    behind_the_back(
        "UPDATE scheduling_inputuse SET quantity = 120.4",
        f"UPDATE scheduling_workrecord SET hand_id = {other_hand.pk}, field_pass_id = {other_pass.pk}",
    )
    says = " ".join(fault.says for fault in verify_ledger().faults)
    assert "another amount of urea was booked than its work record says" in says
    assert "line 1 was priced for another hand than that of its work record" in says
    assert "line 1 is on another season than its work" in says


def test_entries_cut_off_the_end_are_missed_by_a_digest_that_was_noted(booked: Place) -> None:
    noted = verify_ledger().books[0].head
    last = Entry.objects.get(number=5).pk
    call_command("verify_ledger", held=noted, stdout=io.StringIO())
    behind_the_back(
        f"DELETE FROM ledger_entrybalance WHERE entry_id = {last}",
        f"DELETE FROM ledger_line WHERE entry_id = {last}",
        f"DELETE FROM ledger_entry WHERE id = {last}",
    )
    report = verify_ledger()
    assert (report.is_whole, report.books[0].not_posted) == (True, 1)
    with pytest.raises(
        CommandError, match=f"heron-slough, the end: no entry has the digest {noted} any more"
    ):
        call_command("verify_ledger", farm="heron-slough", held=noted, stdout=io.StringIO())
    with pytest.raises(CommandError, match="all farms, the end: no entry has the digest"):
        call_command("verify_ledger", held=noted, stdout=io.StringIO())


def test_a_digest_of_another_farm_is_none_of_this_one(booked: Place) -> None:
    other = make_place("other-bend")
    make_work(other)
    post_pending(now=NOON)
    heads = {books.farm: books.head for books in verify_ledger().books}
    assert verify_ledger(farm=booked.farm, held=heads["heron-slough"]).is_whole
    assert not verify_ledger(farm=booked.farm, held=heads["other-bend"]).is_whole


def test_another_farms_books_are_another_matter(booked: Place) -> None:
    other = make_place("other-bend")
    make_work(other)
    post_pending(now=NOON)
    behind_the_back(f"UPDATE ledger_line SET says = 'x' WHERE farm_id = {booked.farm.pk}")
    assert verify_ledger(farm=other.farm).is_whole
    assert {fault.farm for fault in verify_ledger().faults} == {"heron-slough"}


def test_the_commands_say_what_was_done_and_what_waits(tmp_path: Path) -> None:
    place = make_place(rated=False)
    make_work(place)
    out = io.StringIO()
    call_command("post_costs", farm="heron-slough", stdout=out)
    assert "0 posted, 0 reversed, 1 waiting" in out.getvalue()
    assert (
        "waits: heron-slough, work_record of 2026-04-20: No wage of Imani holds on 2026-04-20"
        in out.getvalue()
    )
    assert PostingWait.objects.count() == 1

    rates = tmp_path / "rates.csv"
    rates.write_text(
        "kind,subject,unit,usd_per_unit,valid_from\n"
        "wage,,h,18,2026-01-01\nfuel,,gal,3.20,2026-01-01\nmachine,,h,40,2026-01-01\nimplement,,h,12,2026-01-01\n"
    )
    call_command("load_rates", farm="heron-slough", rates=rates, stdout=(out := io.StringIO()))
    assert out.getvalue() == "rates.csv: 4 new, 0 known before.\n"
    call_command("post_costs", stdout=(out := io.StringIO()))
    assert out.getvalue() == "1 posted, 0 reversed, 0 waiting.\n"
    path = tmp_path / "costs.csv"
    call_command("export_costs", farm="heron-slough", crop_year=2026, out=path, stdout=(out := io.StringIO()))
    assert f"{path}: 5 rows, 455.16 dollars on fields." in out.getvalue()
    assert "pool of tractor-1: bills 0.00, charged to fields 197.11, left -197.11." in out.getvalue()
    assert "wages owed to hands: -90.00 dollars." in out.getvalue()
    call_command("verify_ledger", stdout=(out := io.StringIO()))
    assert out.getvalue().startswith("heron-slough: 1 entries, 10 lines, head ")
    call_command("verify_ledger", json=True, stdout=(out := io.StringIO()))
    assert '"faults": []' in out.getvalue()


@pytest.mark.parametrize("command", ["post_costs", "verify_ledger", "export_costs", "load_rates"])
def test_an_unknown_farm_is_named(place: Place, tmp_path: Path, command: str) -> None:
    extra = {"crop_year": 2026, "out": tmp_path / "x.csv"} if command == "export_costs" else {}
    with pytest.raises(CommandError, match="No farm has the code 'nowhere'") as caught:
        call_command(command, farm="nowhere", stdout=io.StringIO(), **extra)
    assert caught.value.returncode == 1
    assert list(tmp_path.iterdir()) == []


def test_a_faulty_second_file_stores_nothing_of_the_first(place: Place, tmp_path: Path) -> None:
    before = Rate.objects.count()
    rates, costs = tmp_path / "rates.csv", tmp_path / "machine_costs.csv"
    rates.write_text(f"kind,subject,unit,usd_per_unit,valid_from\ninput,urea,lb,0.31,{NEW_YEAR}\n")
    costs.write_text("nonsense\n")
    with pytest.raises(CommandError, match=r"machine_costs\.csv, line 1"):
        call_command(
            "load_rates", farm="heron-slough", rates=rates, machine_costs=costs, stdout=io.StringIO()
        )
    assert Rate.objects.count() == before
