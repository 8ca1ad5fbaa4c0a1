"""What a field cost in a crop year, as a statement to print or hand on: by category beside the budget, and every line.

The bytes hold no clock: the same books give the same file. The head of the chain stands at the foot of every page.
"""

from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib import colors
from reportlab.lib.pagesizes import letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from farmops.farms.models import Farm, Field
from ledger.costing.money import per_acre_usd
from ledger.exports.about import About, about, head_of
from ledger.exports.whole import ExportRefused, refusing, whole_file
from ledger.selectors.break_even_facts import BreakEven, break_evens
from ledger.selectors.budgets import BudgetRow, budget_rows, budget_totals
from ledger.selectors.cost_cells import CostWhere
from ledger.selectors.drafts import ground_code
from ledger.selectors.lines import LineDetail, lines_of_cell

FORM = "statement/1"
TEXT, BOLD = "Vera", "VeraBd"
MARGIN_PT = 46
_SMALL = ParagraphStyle("small", fontName=TEXT, fontSize=7, leading=9)
_PLAIN = ParagraphStyle("plain", fontName=TEXT, fontSize=9, leading=12)
_HEAD = ParagraphStyle("head", fontName=BOLD, fontSize=13, leading=17, spaceBefore=6, spaceAfter=2)
_TITLE = ParagraphStyle("title", fontName=BOLD, fontSize=17, leading=22)


def write_statement(*, farm: Farm, field: Field, crop_year: int, path: Path) -> About:
    """Write the statement of a field and return what the file is of; it appears whole or not at all.

    Raises ExportRefused where the field has no season of that year, or where its lines do not come to its costs.
    """
    _know_letters()
    head = head_of(farm=farm)
    grounds = {ground_code(season) for season in field.seasons.filter(crop_year=crop_year)}
    seasons = [
        one
        for ground in sorted(grounds)
        for one in break_evens(farm=farm, crop_year=crop_year, where=CostWhere(field=ground))
    ]
    if not seasons:
        raise ExportRefused(f"{field.name} has no season of the crop year {crop_year}.")
    cents = sum(one.row.cents for one in seasons)
    story: list[Any] = [
        Paragraph(f"{escape(field.name)}: costs of {crop_year}", _TITLE),
        Paragraph(f"{escape(farm.name)}, all amounts in US dollars", _PLAIN),
    ]
    row_count = 0
    for one in seasons:
        flows, lines = _season(farm, crop_year, one)
        story += flows
        row_count += lines
    facts = about(
        farm=farm, form=FORM, period=f"crop year {crop_year}", row_count=row_count, cents=cents, head=head
    )
    with refusing(path), whole_file(path) as unfinished:
        _built(story, unfinished, title=f"{field.name} {crop_year}", foot=_foot(facts))
    return facts


def field_named(*, farm: Farm, code: str) -> Field:
    """Return the field of a code; ExportRefused says which the farm has."""
    field = Field.objects.filter(farm=farm, code=code).first()
    if field is None:
        known = ", ".join(Field.objects.filter(farm=farm).values_list("code", flat=True)) or "none"
        raise ExportRefused(f"{farm.name} has no field {code!r}; it has {known}.")
    return field


def _season(farm: Farm, crop_year: int, one: BreakEven) -> tuple[list[Any], int]:
    """Return what is printed of one season, and of how many lines."""
    budgets = budget_rows(farm=farm, crop_year=crop_year, where=one.row.where)
    lines = list(lines_of_cell(farm=farm, crop_year=crop_year, where=one.row.where))
    if sum(line.cents for line in lines) != one.row.cents or budget_totals(budgets)[0] != one.row.cents:
        raise ExportRefused(f"The lines of {one.row.says[0]} do not come to its costs; try again.")
    said = f"{one.row.says[0]}, {one.row.says[1]}, {one.row.area_ac:,.1f} acres"
    flows = [Paragraph(escape(said), _HEAD), _categories(one, budgets), Spacer(1, 6)]
    flows += [Paragraph(escape(says), _PLAIN) for says in _even(one)]
    flows += [Spacer(1, 8), _lines(lines)] if lines else [Paragraph("Nothing was booked.", _PLAIN)]
    return flows, len(lines)


def _categories(one: BreakEven, rows: Sequence[BudgetRow]) -> Table:
    cells: list[list[Any]] = [["", "Amount", "Per acre", "Budget", "Difference"]]
    for row in rows:
        cells.append(
            [
                Paragraph(escape(row.label[:1].upper() + row.label[1:]), _SMALL),
                *_amounts(row.actual_cents, row.budget_cents, one.row.area_ac),
            ]
        )
    cells.append(["All together", *_amounts(one.row.cents, one.budget_cents, one.row.area_ac)])
    return _table(cells, [190, 80, 80, 80, 80], numbers_from=1, has_total=True)


def _amounts(actual: int, budget: int | None, area_ac: Decimal) -> list[str]:
    per_ac = f"{per_acre_usd(cents=actual, area_ac=area_ac):,.2f}"
    return [_usd(actual), per_ac, _usd(budget), "" if budget is None else _usd(actual - budget)]


def _even(one: BreakEven) -> list[str]:
    said = []
    if one.harvest is not None:
        how = "expected" if one.harvest.is_expected else "harvested"
        said.append(f"Yield {how}: {one.harvest.quantity.normalize():,f} {one.harvest.unit}.")
    if one.even_price_usd is not None:
        said.append(f"It breaks even at {one.even_price_usd:f} dollars a {one.unit}.")
    if one.even_yield_per_ac is not None:
        said.append(
            f"At {one.price_usd:f} dollars a {one.unit} it breaks even at {one.even_yield_per_ac:,f} "
            f"{one.unit} an acre."
        )
    return [" ".join(said)] if said else []


def _lines(lines: Sequence[LineDetail]) -> Table:
    cells: list[list[Any]] = [["Date", "Entry", "What", "Quantity", "Rate", "Amount", "From"]]
    for line in lines:
        what = ", ".join(one for one in (line.category_label, line.operation, line.says) if one)
        lot = f", lot {line.lot}" if line.lot else ""
        source = line.source_says + (f"; {line.price_from}" if line.price_from else "")
        cells.append(
            [
                line.happened_on.isoformat(),
                str(line.entry_number),
                Paragraph(escape(what[:1].upper() + what[1:] + lot), _SMALL),
                _quantity(line),
                _rate(line),
                _usd(line.cents),
                Paragraph(escape(source), _SMALL),
            ]
        )
    return _table(cells, [50, 32, 142, 72, 46, 60, 118], numbers_from=3, until=5)


def _quantity(line: LineDetail) -> str:
    if line.quantity is None:
        return ""
    if line.unit.startswith("$ "):
        return f"{line.quantity:,.2f} {line.unit[2:]}"
    return f"{line.quantity.normalize():,f} {line.unit}"


def _rate(line: LineDetail) -> str:
    """Return the price of one unit; a share of other dollars is a share, not a price."""
    if line.price_usd is None:
        return ""
    if line.unit.startswith("$ "):
        return f"{(line.price_usd * 100).normalize():f} %"
    return f"{line.price_usd.normalize():,f}"


def _table(
    cells: list[list[Any]],
    widths: Sequence[int],
    *,
    numbers_from: int,
    until: int = -1,
    has_total: bool = False,
) -> Table:
    style = [
        ("FONT", (0, 0), (-1, -1), TEXT, 7),
        ("FONT", (0, 0), (-1, 0), BOLD, 7),
        ("ALIGN", (numbers_from, 0), (until, -1), "RIGHT"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, colors.Color(0.7, 0.7, 0.7)),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ]
    if has_total:
        style += [("FONT", (0, -1), (-1, -1), BOLD, 7), ("LINEABOVE", (0, -1), (-1, -1), 1, colors.black)]
    return Table(cells, colWidths=list(widths), repeatRows=1, style=TableStyle(style), hAlign="LEFT")


def _know_letters() -> None:
    """Let the letters be those that come with the library and go into the file, accents and all."""
    if TEXT not in pdfmetrics.getRegisteredFontNames():
        for name in (TEXT, BOLD):
            pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
        pdfmetrics.registerFontFamily(TEXT, normal=TEXT, bold=BOLD, italic=TEXT, boldItalic=BOLD)


def _usd(cents: int | None) -> str:
    return "" if cents is None else f"{Decimal(cents).scaleb(-2):,.2f}"


def _foot(facts: About) -> list[str]:
    head = facts.head
    return [
        f"{facts.farm_name}, {facts.period}, {facts.row_count} lines, together {facts.sum_usd}. "
        f"Books through entry {head.number} of {head.posted_at}, zone {facts.zone}, version {facts.form}.",
        f"Digest of the last entry: {head.digest}",
    ]


def _built(story: list[Any], path: Path, *, title: str, foot: Sequence[str]) -> None:
    document = SimpleDocTemplate(
        str(path),
        pagesize=letter,
        leftMargin=MARGIN_PT,
        rightMargin=MARGIN_PT,
        topMargin=MARGIN_PT,
        bottomMargin=MARGIN_PT + 14,
        title=title,
        author="",
        invariant=1,
    )
    document.build(story, onFirstPage=_footer(foot), onLaterPages=_footer(foot))


def _footer(foot: Sequence[str]) -> Callable[[Canvas, Any], None]:
    def drawn(canvas: Canvas, document: Any) -> None:
        canvas.saveState()
        canvas.setFont(TEXT, 6)
        for at, says in enumerate((*foot, f"Page {document.page}")):
            canvas.drawString(MARGIN_PT, MARGIN_PT - 8 * at, says)
        canvas.restoreState()

    return drawn
