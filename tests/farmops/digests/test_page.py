"""A sheet as text and as HTML: the answer first, everything in the text, nothing that runs."""

import dataclasses
import datetime as dt
import html
import re
from decimal import Decimal

import pytest

from farmops.digests.facts import SheetService
from farmops.digests.services.composing import Sheet, print_sheet
from farmops.farms.operations import Operation
from scheduling.slips.facts import (
    BossWord,
    GroundToday,
    LastTime,
    ShutHours,
    SlipCheck,
    StartSetting,
    StayOut,
)
from scheduling.slips.words import Said
from tests.farmops.digests.planned import MONDAY, at
from tests.farmops.digests.sheet_facts import sheet_day, task

HOSTILE = "Pond\r\nBcc: x@y.example <script>alert(1)</script> {{ 7 }} \u202eevil\u2028end \x00" + "long" * 60


def visible(sheet: Sheet) -> str:
    body = re.sub(r"<style>.*?</style>|<title>.*?</title>", "", sheet.html, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def test_the_headline_and_the_subject_say_what_comes_first() -> None:
    sheet = print_sheet(
        sheet_day(task(hours=(13, 15)), task(Operation.PIVOT_START, (7, 8), field_name="Long Row")), "en"
    )
    assert sheet.text.splitlines()[0] == "First: Long Row: start pivot and look."
    assert sheet.subject == "First: Long Row: start pivot and look (Monday, April 20)"


def test_in_spanish_the_headline_is_the_verb_and_the_field() -> None:
    sheet = print_sheet(sheet_day(task()), "es")
    assert sheet.text.splitlines()[:2] == ["Primero: Pond 80: rastrear.", "Lunes 20 de abril."]
    assert "7:00 a.m. a 12:00 p.m." in sheet.text
    assert ".." not in sheet.text


def test_a_task_says_when_where_with_what_and_how_the_ground_is() -> None:
    shut = ShutHours(at(MONDAY, 15), at(MONDAY, 20), Said("rain: 0.10 in in this hour", "lluvia"))
    sheet = print_sheet(
        sheet_day(
            task(part_no=2, part_count=3, shut=(shut,), open_chance=0.82, ground=GroundToday("a", 0.2, 0.18))
        ),
        "en",
    )
    block = sheet.text.split("\n\n")[1].splitlines()
    assert block == [
        "1. POND 80: DISK",
        "When: 7:00 am to 12:00 pm, about 5 h, 62.5 acres, part 2 of 3",
        "Shut: 3:00 pm to 8:00 pm, rain: 0.10 in in this hour",
        "Chance it stays fit: 8 in 10",
        "Way in: north road, gate 3",
        "With: Tractor 2 with Disk 1",
        "Ground: sticks to the boot, 0.20 (must be under 0.18)",
        "Start with:",
        "- After the first round: Stop and look behind. Ridges or dips? Change",
        "  one thing only.",
        "Emergency: 911",
        "You are at: Pond 80, 2140 Cane Branch Road",
        "Place: 31.60180, -83.51790",
        "Boss: Marlene, 555-0142",
    ]


def test_whole_acres_are_not_said_as_a_power_of_ten() -> None:
    assert "about 5 h, 120 acres" in print_sheet(sheet_day(task(area_ac=Decimal("120.00"))), "en").text


def test_only_tillage_is_measured_against_what_a_disk_bears() -> None:
    planting = print_sheet(sheet_day(task(Operation.PLANT, ground=GroundToday("a", 0.19, 0.18))), "en").text
    assert "Ground: moist, 0.19\n" in planting
    ripping = print_sheet(sheet_day(task(Operation.RIP_BED, ground=GroundToday("a", 0.19, 0.18))), "en").text
    assert "Ground: sticks to the boot, 0.19 (must be under 0.18)\n" in ripping


def test_two_numbers_that_differ_look_different() -> None:
    text = print_sheet(sheet_day(task(ground=GroundToday("a", 0.2294, 0.2302))), "en").text
    assert "damp, still fit, 0.229 (must be under 0.230)" in text
    assert (
        "0.23 (must be under 0.23)"
        in print_sheet(sheet_day(task(ground=GroundToday("a", 0.23, 0.23))), "en").text
    )


@pytest.mark.parametrize(
    ("work_min", "says"), [(307, "5 h"), (308, "5 h 15 min"), (52, "50 min"), (1, "5 min")]
)
def test_a_length_is_said_as_one_says_it(work_min: int, says: str) -> None:
    assert f", about {says}, " in print_sheet(sheet_day(task(work_min=work_min)), "en").text


def test_a_pivot_move_is_not_said_in_acres() -> None:
    text = print_sheet(
        sheet_day(task(Operation.PIVOT_START, ground=None, machine_name="", implement_name="")), "en"
    ).text
    assert "acres" not in text
    assert "With: no machine" in text
    assert "Ground" not in text.replace("Ground and weather", "")


def test_whoever_starts_a_pivot_reads_how_much_water_it_puts_on() -> None:
    start = task(Operation.PIVOT_START, area_ac=Decimal(0), machine_name="", implement_name="")
    turn = dataclasses.replace(start, water_in=Decimal("0.50"))
    assert "with water, 0.5 in" in visible(print_sheet(sheet_day(turn), "en"))
    assert "con agua, 0.5 pulgadas" in visible(print_sheet(sheet_day(turn), "es"))
    assert "water, " not in visible(print_sheet(sheet_day(start), "en"))


def test_planting_says_the_soil_temperature() -> None:
    ground = GroundToday("a", 0.1, 0.18, soil_temp_8am_f=66.4)
    day = sheet_day(task(Operation.PLANT, ground=ground))
    assert "Soil at 8 am: 66 °F, give or take 4" in print_sheet(day, "en").text
    assert "Suelo a las 8 a.m.: 66 °F, más o menos 4" in print_sheet(day, "es").text


@pytest.mark.parametrize(
    ("word", "says"),
    [
        (BossWord("fit"), "Boss says: fit to work"),
        (BossWord("after", dt.time(10, 30)), "Boss says: not before 10:30 am"),
        (BossWord("not_today", zone="low end"), "Boss says: low end: not today. Ask before you go."),
        (BossWord("not_today"), "Boss says: not today. Ask before you go."),
    ],
)
def test_the_grower_s_own_word_comes_before_everything_else_of_a_task(word: BossWord, says: str) -> None:
    sheet = print_sheet(sheet_day(task(boss_words=(word,))), "en")
    assert sheet.text.split("\n\n")[1].splitlines()[1] == says


def test_ground_that_is_not_known_is_said_so() -> None:
    assert "Ground: not known. Look before you work." in print_sheet(sheet_day(task(ground=None)), "en").text


def test_a_late_sheet_says_so_in_its_first_line() -> None:
    assert print_sheet(sheet_day(task(), is_late=True), "en").text.startswith("This sheet is late.")


def test_where_to_send_help_stands_at_the_end_of_each_slip_and_of_the_sheet() -> None:
    other = task(field_name="Long Row", road_address="9 Row Road", hours=(13, 15))
    parts = print_sheet(sheet_day(task(), other), "en").text.split("\n\n")
    assert parts[1].splitlines()[-4:] == [
        "Emergency: 911",
        "You are at: Pond 80, 2140 Cane Branch Road",
        "Place: 31.60180, -83.51790",
        "Boss: Marlene, 555-0142",
    ]
    assert "You are at: Long Row, 9 Row Road" in parts[2].splitlines()
    assert parts[-1].splitlines() == ["Emergency: 911", "Boss: Marlene, 555-0142"]


def test_for_a_service_at_the_yard_the_yards_address_is_told() -> None:
    at_yard = SheetService("change the oil", "Tractor 2", True, at(MONDAY, 13), at(MONDAY, 14), 60)
    foot = print_sheet(sheet_day(services=(at_yard,)), "en").text.split("\n\n")[-1].splitlines()
    assert foot == ["Emergency: 911", "The yard is at: 1 Slough Road", "Boss: Marlene, 555-0142"]
    there = dataclasses.replace(at_yard, is_at_yard=False)
    assert "yard" not in print_sheet(sheet_day(services=(there,)), "en").text.split("\n\n")[-1]


def test_passes_and_services_come_by_the_clock_each_with_its_number() -> None:
    services = [
        SheetService(what, "Tractor 2", True, at(MONDAY, hour), at(MONDAY, hour + 1), 60)
        for what, hour in (("grease it", 12), ("check the oil", 6))
    ]
    day = sheet_day(
        task(hours=(13, 15)), task(hours=(7, 12), field_name="Long Row"), services=tuple(services)
    )
    text = print_sheet(day, "en").text
    assert re.findall(r"^\d\. .*", text, re.MULTILINE) == [
        "1. TRACTOR 2: CHECK THE OIL",
        "2. LONG ROW: DISK",
        "3. TRACTOR 2: GREASE IT",
        "4. POND 80: DISK",
    ]
    assert text.startswith("First: Tractor 2: check the oil.\n")


SETTINGS = (
    StartSetting(
        "speed_mph",
        Decimal("4.5"),
        Decimal(6),
        Said("Too fast throws soil out.", "Muy rápido avienta tierra."),
    ),
    StartSetting("level", None, None, Said("Nose low digs a ridge.", "De punta hace bordos.")),
)
LAST = LastTime(
    dt.date(2026, 3, 30),
    "Odell",
    "low end",
    "damp",
    (("speed_mph", Decimal("5.0"), ""), ("depth_in", Decimal(4), "")),
)


def test_what_to_start_with_its_reason_and_what_worked_last_time_are_told() -> None:
    day = sheet_day(task(settings=SETTINGS, last_times=(LAST,)))
    text = " ".join(print_sheet(day, "en").text.split())
    assert "Start with: - Speed: 4.5 to 6 mph. Too fast throws soil out." in text
    assert "- Level: level front to back. Nose low digs a ridge." in text
    assert "Last time here: Monday, March 30, low end, damp, still fit: 5 mph, 4 in" in text
    spanish = visible(print_sheet(day, "es"))
    assert "Velocidad: 4.5 a 6 mph Muy rápido avienta tierra." in spanish
    assert "La última vez aquí: lunes 30 de marzo" in spanish


def test_checks_are_boxes_to_tick_with_their_counts_each_once() -> None:
    checks = (
        SlipCheck(
            "rule:grease",
            Said("Grease 10 bearings front, 12 back.", "Engrase 10 baleros adelante, 12 atrás."),
        ),
        SlipCheck("work:walk_around", Said("Walk around it.", "Dé la vuelta.")),
    )
    of_another = dataclasses.replace(checks[1], machine_code="tractor-3")
    day = sheet_day(task(checks=checks), task(hours=(13, 15), checks=(*checks[1:], of_another)))
    part = next(one for one in print_sheet(day, "en").text.split("\n\n") if one.startswith("BEFORE"))
    assert part.splitlines() == [
        "BEFORE YOU GO OUT",
        "[ ] Grease 10 bearings front, 12 back.",
        "[ ] Walk around it.",
    ]


def test_until_when_to_stay_out_is_told_first_and_warns() -> None:
    out = StayOut(at(MONDAY, 18), "Brightleaf 4L")
    sheet = print_sheet(sheet_day(task(stay_out=out)), "en")
    assert sheet.text.split("\n\n")[1].splitlines()[1].startswith("Stay out until: Monday, April 20, 6:00 pm")
    assert re.search(r'class="warn"[^>]*>Stay out until', sheet.html)


def test_the_shape_of_each_field_is_drawn_in_the_html() -> None:
    one = task()
    page = print_sheet(sheet_day(one, task(hours=(13, 15))), "en").html
    assert page.count(f'<path d="{one.shape.path}"') == 2
    assert 'aria-hidden="true"' in page


def test_the_link_to_report_by_stands_in_one_piece_and_says_whose_it_is() -> None:
    address = "https://a-rather-long-name-of-a-farm-service.heron-slough.example/in/AbCdEfGhIjKlMnOpQrStUv/"
    sheet = print_sheet(sheet_day(task(), report_at=address, is_own_link=True), "en")
    assert sheet.text.split("\n\n")[1].splitlines() == [
        "Report from your phone:",
        address,
        "It opens your day only. Pass it on to nobody.",
    ]
    assert re.findall(r"https?://[^\"<> ]+", sheet.html) == [address, address]
    assert (
        "No se lo pase a nadie."
        in print_sheet(sheet_day(task(), report_at=address, is_own_link=True), "es").text
    )
    assert "Sign in with your name." in print_sheet(sheet_day(task(), report_at=address), "en").text


def test_a_day_without_work_is_short_and_has_no_cautions() -> None:
    sheet = print_sheet(sheet_day(), "en")
    assert sheet.text.startswith("No field work today.")
    assert "TAKE CARE" not in sheet.text
    assert len(sheet.text) < 300


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("count", [0, 1, 40])
def test_text_and_html_hold_the_same_and_stay_small(language: str, count: int) -> None:
    """Sizes: the design's own limits of 8 kB of text for an ordinary day and 100 kB for a message."""
    operations = list(Operation)
    tasks = [task(operations[i % 6], (6 + i // 4, 7 + i // 4), field_name=f"Field {i}") for i in range(count)]
    sheet = print_sheet(sheet_day(*tasks, temp_max_f=97, rain_chance=0.6), language)
    assert max(len(line) for line in sheet.text.splitlines()) <= 72
    said = visible(sheet).lower()
    for line in (
        " ".join(sheet.text.replace("[ ] ", "").replace("! ", "").replace("\n- ", "\n").split())
        .lower()
        .split(". ")
    ):
        assert line.strip(". ") in said, line
    assert len(sheet.html.encode()) + len(sheet.text.encode()) < 100_000
    assert count == 40 or len(sheet.text.encode()) < 8_000


@pytest.mark.parametrize("language", ["en", "es"])
def test_what_somebody_typed_neither_runs_nor_breaks_a_line(language: str) -> None:
    hostile = task(
        field_name=HOSTILE,
        entrance=HOSTILE,
        road_address=HOSTILE,
        machine_name=HOSTILE,
        implement_name=HOSTILE,
    )
    sheet = print_sheet(
        sheet_day(hostile, farm_name=HOSTILE, hand_name=HOSTILE, boss_name=HOSTILE, boss_phone=HOSTILE),
        language,
    )
    assert "<script" not in sheet.html
    assert "&lt;script&gt;" in sheet.html
    assert "{{ 7 }}" in visible(sheet)
    for text in (sheet.subject, sheet.text, sheet.html):
        assert not re.search("[\u202e\u2028\u2029\x00\r]", text)
    assert "\n" not in sheet.subject
    assert "\nBcc:" not in sheet.text
    assert max(len(line) for line in sheet.text.splitlines()) <= 72


def test_the_html_reads_by_lamplight_and_fetches_nothing() -> None:
    page = print_sheet(sheet_day(task()), "en").html
    assert "prefers-color-scheme:dark" in page
    assert '<meta name="color-scheme" content="light dark">' in page
    assert not re.search(r"<img|<script|<link|url\(|https?://|src=|@import", page)
    assert 'lang="en"' in page
