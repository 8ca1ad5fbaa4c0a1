"""Maps of a farm's own: read whole or not at all, with the line of what is wrong."""

import io
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from ledger.models import CategoryMap, CategoryMapLine
from ledger.selectors.form_lines import form_rows
from ledger.selectors.form_maps import form_map, map_codes
from ledger.services.maps import MapRefused, load_map
from tests.ledger.makers import DAY, Place, make_bill, make_place

GOOD = "category,line,label\r\nrepairs,7,Upkeep\r\ndues,9a,Clubs\r\n"


def kept(place: Place, tmp_path: Path, text: str = GOOD, form_year: int = 2026) -> None:
    path = tmp_path / "map.csv"
    path.write_bytes(text.encode())
    load_map(farm=place.farm, path=path, code="state", name="State form 1", form_year=form_year)


def test_another_form_is_a_file_away(place: Place, tmp_path: Path) -> None:
    make_bill(place, "30.00", category="dues", number="D 1", paid_on=DAY)
    make_bill(place, "20.00", category="repairs", number="R 1", paid_on=DAY)
    make_bill(place, "10.00", category="seed", number="S 1", paid_on=DAY)
    kept(place, tmp_path)
    rows = form_rows(farm=place.farm, tax_year=2026, map_code="state")
    assert [(row.line, row.label, row.cents) for row in rows] == [
        ("7", "Upkeep", 20_00),
        ("9a", "Clubs", 30_00),
        ("", "on no line of this form: the preparer says where", 10_00),
    ]
    assert map_codes(farm=place.farm) == [
        ("schedule_f", "Schedule F (Form 1040), part II"),
        ("state", "State form 1"),
    ]
    assert map_codes(farm=make_place("fox-hollow").farm) == [
        ("schedule_f", "Schedule F (Form 1040), part II")
    ]


def test_a_map_holds_from_its_form_year_on_and_is_replaced_by_the_same(place: Place, tmp_path: Path) -> None:
    kept(place, tmp_path)
    kept(place, tmp_path, "category,line,label\nrepairs,8,Upkeep\n", 2028)
    kept(place, tmp_path, "category,line,label\nrepairs,6,Upkeep\n")
    assert (CategoryMap.objects.count(), CategoryMapLine.objects.count()) == (2, 2)
    lines = [
        form_map(farm=place.farm, code="state", form_year=year).lines["repairs"].line for year in (2027, 2028)
    ]
    assert lines == ["6", "8"]


BAD = [
    ("", "map.csv, line 1: the columns are category, line, label."),
    ("category;line;label\nrepairs;7;x\n", "map.csv, line 1: the columns are category, line, label."),
    ("category,line,label\n", "map.csv holds a header and no rows."),
    ("category,line,label\nrepairs,7,x\ngifts,8,y\n", "map.csv, line 3, column category: 'gifts' is not a category."),
    ("category,line,label\nrepairs,7,x\nrepairs,8,y\n", "map.csv, line 3: repairs stands there twice."),
    ("category,line,label\nrepairs,,x\n", "map.csv, line 2, column line: it has 1 to 12 signs that can be printed."),
    ("category,line,label\nrepairs,7\n", "map.csv, line 2: a row has 3 cells."),
    ("category,line,label\nrepairs,7,x,y\n", "map.csv, line 2: a row has 3 cells."),
    ('category,line,label\nrepairs,7,"x\n', "map.csv, after line 1: unexpected end of data."),
    ("category,line,label\nrepairs,7,x\0\n", "map.csv holds zero bytes; it is not a text file."),
]  # fmt: skip


@pytest.mark.parametrize(("text", "says"), BAD)
def test_a_wrong_file_is_refused_with_its_line_and_the_map_before_stays(
    place: Place, tmp_path: Path, text: str, says: str
) -> None:
    kept(place, tmp_path)
    with pytest.raises(MapRefused) as refused:
        kept(place, tmp_path, text)
    assert refused.value.says == says
    assert CategoryMapLine.objects.count() == 2


def test_the_command_says_what_it_kept(place: Place, tmp_path: Path) -> None:
    path, out = tmp_path / "map.csv", io.StringIO()
    path.write_text(GOOD)
    asked = {"farm": place.farm.code, "code": "state", "name": "State form 1", "form_year": 2026}
    call_command("load_map", str(path), stdout=out, **asked)
    call_command("load_map", str(path), stdout=out, **asked)
    assert out.getvalue().splitlines() == [
        "State form 1 2026: 2 categories, kept.",
        "State form 1 2026: 2 categories, kept in the place of the one before.",
    ]
    path.write_bytes(GOOD.encode("utf-16"))
    with pytest.raises(CommandError, match="is not UTF-8 text"):
        call_command("load_map", str(path), stdout=out, **asked)
    with pytest.raises(CommandError, match="'a b' is no code"):
        call_command("load_map", str(path), stdout=out, **{**asked, "code": "a b"})
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        call_command("load_map", str(tmp_path / "none.csv"), stdout=out, **asked)
