"""The canonical form of an entry must never move: a digest made today is checked in ten years."""

import hashlib
from dataclasses import replace

import pytest

from ledger.costing.chain import ChainEntry, ChainLine, entry_digest

LINE = ChainLine(1, "season", "pond-40 cotton 2026", "labor", 9000, 3_000_000, "min", 180_000, "Imani Núñez")
ENTRY = ChainEntry(
    1,
    "work_record",
    "5a0c0b64-0000-4000-8000-000000000001",
    "cost",
    "2026-04-20",
    "2026-04-20T16:00:00.000000Z",
    "",
    (LINE, replace(LINE, line_no=2, account="wages_owed", subject="", cents=-9000, quantity_e4=-3_000_000)),
)


def test_form_1_is_what_it_was() -> None:
    """Written out by hand once; hashlib is the reference for SHA-256 (FIPS 180-4)."""
    text = (
        '[1,"before",1,"work_record","5a0c0b64-0000-4000-8000-000000000001","cost","2026-04-20",'
        '"2026-04-20T16:00:00.000000Z","",'
        '[[1,"season","pond-40 cotton 2026","labor",9000,3000000,"min",180000,"Imani Núñez"],'
        '[2,"wages_owed","","labor",-9000,-3000000,"min",180000,"Imani Núñez"]]]'
    )
    first = replace(ENTRY, form_no=1)
    assert entry_digest(before="before", entry=first) == hashlib.sha256(text.encode()).hexdigest()


def test_form_2_is_what_it_was() -> None:
    """As above; form 2 adds the day of booking, and outfit, operation, item and lot of a line."""
    text = (
        '[2,"before",1,"work_record","5a0c0b64-0000-4000-8000-000000000001","cost","2026-04-20","2026-05-01",'
        '"2026-04-20T16:00:00.000000Z","",'
        '[[1,"season","pond-40 cotton 2026","labor",9000,3000000,"min",180000,"Imani Núñez",'
        '"tractor-1+disk-1","disk","",""],'
        '[2,"wages_owed","","labor",-9000,-3000000,"min",180000,"Imani Núñez","","","",""]]]'
    )
    cost = replace(LINE, outfit="tractor-1+disk-1", operation="disk")
    entry = replace(ENTRY, lines=(cost, ENTRY.lines[1]), booked_on="2026-05-01")
    assert entry_digest(before="before", entry=entry) == hashlib.sha256(text.encode()).hexdigest()


def test_the_same_word_in_another_form_of_unicode_is_the_same() -> None:
    apart = replace(LINE, says="Imani Nu\u0301n\u0303ez")
    assert entry_digest(before="", entry=replace(ENTRY, lines=(apart,))) == entry_digest(
        before="", entry=replace(ENTRY, lines=(LINE,))
    )


def test_the_order_in_which_lines_are_read_does_not_matter() -> None:
    turned = replace(ENTRY, lines=ENTRY.lines[::-1])
    assert entry_digest(before="", entry=turned) == entry_digest(before="", entry=ENTRY)


@pytest.mark.parametrize(
    "changed",
    [
        replace(ENTRY, number=2),
        replace(ENTRY, source_key="another"),
        replace(ENTRY, happened_on="2026-04-21"),
        replace(ENTRY, booked_on="2026-05-01"),
        replace(ENTRY, form_no=1),
        *(
            replace(ENTRY, lines=(replace(LINE, **{name: "x"}), ENTRY.lines[1]))
            for name in ("outfit", "operation", "item", "lot")
        ),
        replace(ENTRY, why="x"),
        replace(ENTRY, lines=()),
        replace(ENTRY, lines=(replace(LINE, cents=9001), ENTRY.lines[1])),
        replace(ENTRY, lines=(replace(LINE, subject="pond-80 cotton 2026"), ENTRY.lines[1])),
        replace(ENTRY, lines=(replace(LINE, quantity_e4=None), ENTRY.lines[1])),
    ],
)
def test_any_change_changes_the_digest(changed: ChainEntry) -> None:
    assert entry_digest(before="", entry=changed) != entry_digest(before="", entry=ENTRY)
    assert entry_digest(before="0", entry=ENTRY) != entry_digest(before="", entry=ENTRY)
