"""The statement of a field as PDF, read back with another library."""

import hashlib
import re
from decimal import Decimal
from pathlib import Path

import pypdf
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from farmops.farms.models import LatePlantingFacts
from ledger.exports import statement
from ledger.exports.statement import write_statement
from ledger.exports.whole import ExportRefused
from ledger.models import Entry
from ledger.selectors.costs import field_costs
from ledger.services.budgets import set_budget
from ledger.services.posting import post_pending
from tests.factories import make_season
from tests.ledger.makers import NOON, Place, make_bill, make_work, use_input


@pytest.fixture
def worked(place: Place) -> Place:
    """A field with work, seed, a bill with signs of its own, and a budget; its north part has corn."""
    use_input(make_work(place), "cotton-seed", "8.125", "bag", usd="275.50", category="seed")
    make_bill(place, "-18.40", category="chemicals", season=place.season, payee="Núñez & <Sons>")
    north = make_season(place.season.field, crop="corn", part="north", area_ac=Decimal(12))
    make_bill(place, "1234.56", category="land_rent", season=north)
    set_budget(farm=place.farm, crop_year=2026, crop="cotton", category="seed", usd_per_ac="62.50", now=NOON)
    LatePlantingFacts.objects.create(
        farm=place.farm, crop="cotton", yield_per_ac=1200, yield_unit="lb", price_usd=Decimal("0.80")
    )
    post_pending(now=NOON)
    return place


def text_of(path: Path) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages)


def test_the_statement_says_what_the_ledger_holds(worked: Place, tmp_path: Path) -> None:
    path = tmp_path / "pond-40.pdf"
    about = write_statement(farm=worked.farm, field=worked.season.field, crop_year=2026, path=path)
    text = text_of(path)
    rows = field_costs(farm=worked.farm, crop_year=2026)
    for crop in ("cotton", "corn"):
        cents = sum(row.cents for row in rows if row.crop == crop)
        assert f"All together\n{Decimal(cents).scaleb(-2):,.2f}" in text, crop
    assert about.sum_usd == f"{Decimal(sum(row.cents for row in rows)).scaleb(-2)}"
    for says in ("Pond 40: costs of 2026", "Pond 40 (north), corn, 12.0 acres", "Núñez & <Sons>", "-18.40"):
        assert says in text
    assert "2,238.44\n55.96\n2,500.00\n-261.56" in text  # 8.125 bags at 275.50; 40 ac at 62.50
    assert "114.05 of fuel\n15 %\n17.11" in text
    assert re.search(r"Yield expected: 48,000 lb\. It breaks even at 0\.0[0-9]+ dollars a lb\.", text)
    assert "input of cotton-seed from 2026-01-01" in text.replace("\n", " ")


def test_the_head_of_the_chain_stands_on_every_page_and_the_bytes_repeat(
    worked: Place, tmp_path: Path
) -> None:
    for number in range(60):
        make_bill(worked, f"{number + 1}.00", category="freight", season=worked.season)
    post_pending(now=NOON)
    first, second = tmp_path / "a.pdf", tmp_path / "b.pdf"
    for path in (first, second):
        write_statement(farm=worked.farm, field=worked.season.field, crop_year=2026, path=path)
    assert hashlib.sha256(first.read_bytes()).digest() == hashlib.sha256(second.read_bytes()).digest()
    last = Entry.objects.filter(farm=worked.farm).latest("number")
    pages = pypdf.PdfReader(first).pages
    assert len(pages) > 1
    for number, page in enumerate(pages, start=1):
        text = page.extract_text()
        assert last.hash in text
        assert f"through entry {last.number} of 2026-04-20T16:00:00Z" in text
        assert f"Page {number}" in text
    assert pypdf.PdfReader(first).metadata.get("/Author") in ("", None)  # type: ignore[union-attr]


def test_a_field_without_a_season_has_no_statement(worked: Place, tmp_path: Path) -> None:
    with pytest.raises(ExportRefused, match="Pond 40 has no season of the crop year 2031"):
        write_statement(farm=worked.farm, field=worked.season.field, crop_year=2031, path=tmp_path / "a.pdf")
    assert list(tmp_path.iterdir()) == []


def test_lines_that_do_not_come_to_the_costs_are_not_printed(
    worked: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = statement.lines_of_cell
    monkeypatch.setattr(statement, "lines_of_cell", lambda **given: list(whole(**given))[1:])
    with pytest.raises(ExportRefused, match="do not come to its costs"):
        write_statement(farm=worked.farm, field=worked.season.field, crop_year=2026, path=tmp_path / "a.pdf")
    assert list(tmp_path.iterdir()) == []


def test_the_command_writes_statements_with_their_manifest(worked: Place, tmp_path: Path) -> None:
    where = ["--farm", worked.farm.code, "--crop-year", "2026", "--out", str(tmp_path / "pond.pdf")]
    call_command("export_costs", *where, "--what", "statement", "--field", "pond-40")
    assert (tmp_path / "pond.pdf").read_bytes().startswith(b"%PDF-")
    assert '"version": "statement/1"' in (tmp_path / "pond.pdf.manifest.json").read_text()
    with pytest.raises(CommandError, match="Give --field: whose statement"):
        call_command("export_costs", *where, "--what", "statement")
    with pytest.raises(CommandError, match=r"Heron Slough has no field 'pond-9'; it has pond-40"):
        call_command("export_costs", *where, "--what", "statement", "--field", "pond-9")
