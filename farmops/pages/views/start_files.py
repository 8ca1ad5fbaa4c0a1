"""Setting a farm up from files: boundaries, tables of facts, weather and prices; looked at first, then kept."""

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farmops.core import clock
from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.desk.long_start import begin_boundaries
from farmops.farms.models import Farm, Membership, Role, StartFile, StartKind
from farmops.farms.services.fact_tables import keep_facts, template_text
from farmops.farms.services.outline_fields import hand_in_outlines, keep_outlines, put_start_file
from farmops.farms.services.table_text import TableRefused, decoded
from farmops.pages import words
from farmops.pages.access import for_roles
from farmops.pages.boxes import Boxes, plain
from farmops.pages.start_boundaries_page import AT_ONCE, EDITABLE, preview_facts
from farmops.pages.start_choices import texture_choices
from farmops.pages.start_rates_page import priced_rows, rates_facts
from farmops.pages.start_table_page import NEXT, table_facts
from farmops.pages.views.start_uploads import content_of
from farmops.weather.services.imports import Format, ImportRefused, import_weather
from ledger.services.rate_files import load_rates

TABLES = tuple(kind for kind in StartKind if kind != StartKind.BOUNDARIES)
CSV_TYPE = "text/csv; charset=utf-8"  # not said
MOST_TEXT = 1024 * 1024
WEATHER_EXAMPLE = "date,temp_min_f,temp_max_f,rain_in\n2026-03-01,41,66,0\n2026-03-02,48,70,0.35"


@for_roles(Role.MANAGER)
def boundaries(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Take a file of boundaries, show it before it is kept, and keep what is ticked, all or none."""
    waiting = StartFile.objects.filter(farm=farm, kind=StartKind.BOUNDARIES).first()
    boxes = Boxes(request.POST)
    then = request.POST.get("then", "")
    if request.method == "POST" and then == "read":
        content = content_of(request, boxes, "file", is_needed=True)
        if content is not None:
            try:
                hand_in_outlines(
                    farm=farm,
                    content=content,
                    name=request.FILES["file"].name or "",  # type: ignore[union-attr]
                    made_by=_who(request),
                    now=clock.now(),
                )
            except DomainError as error:
                boxes.wrong["file"] = error.says
            else:
                return redirect("pages:start_boundaries", farm_code=farm.code)
    elif request.method == "POST" and waiting is None:
        messages.error(request, _("There is no file of boundaries any more: it was kept or put away."))
        return redirect("pages:start_boundaries", farm_code=farm.code)
    elif waiting is not None and then == "away":
        waiting.delete()
        return redirect("pages:start_boundaries", farm_code=farm.code)
    elif waiting is not None and then == "swap":
        waiting.content = {**waiting.content, "is_swapped": not waiting.content["is_swapped"]}
        waiting.save(update_fields=["content"])
        return redirect("pages:start_boundaries", farm_code=farm.code)
    elif waiting is not None and then == "keep":
        answer = _keep_boundaries(request, farm, waiting, boxes)
        if answer is not None:
            return answer
    context: dict[str, Any] = {"farm": farm, "place": "start", "wrong": boxes.wrong}
    if waiting is not None:
        context |= preview_facts(
            farm=farm,
            waiting=waiting,
            named_by=request.POST.get("named_by") or request.GET.get("named_by", ""),
            typed=boxes.typed if then == "keep" else None,
            wrong=boxes.wrong,
        )
    return render(request, "pages/start_boundaries.html", context, status=422 if boxes.wrong else 200)


def _keep_boundaries(
    request: HttpRequest, farm: Farm, waiting: StartFile, boxes: Boxes
) -> HttpResponse | None:
    """Keep the outlines that are ticked; None where something is wrong, which then stands at its box."""
    named_by, texture = boxes.text("named_by"), boxes.text("texture")
    if texture not in {key for key, _said in texture_choices()}:
        boxes.wrong["texture"] = _("Choose the texture of the topsoil; single fields can be changed after.")
        return None
    facts = preview_facts(farm=farm, waiting=waiting, named_by=named_by, typed=None, wrong={})
    if facts["right_count"] > EDITABLE:
        names = dict(facts["all_names"])
    else:
        names = {
            row["number"]: boxes.text(f"name-{row['number']}", most=200)
            for row in facts["rows"]
            if f"take-{row['number']}" in request.POST
        }
    try:
        if len(names) > AT_ONCE:
            work = begin_boundaries(
                farm=farm,
                names=names,
                texture=texture,
                named_by=facts["named_by"],
                asked_by=_who(request),
                now=clock.now(),
            )
            return redirect("pages:one_long_work", farm_code=farm.code, work_id=work.pk)
        count = keep_outlines(farm=farm, names=names, texture=texture, named_by=facts["named_by"])
    except DomainError as error:
        boxes.wrong.update(error.fields or {"keep": error.says})
        boxes.wrong["keep"] = error.says
        return None
    said = ngettext("{count} field is kept.", "{count} fields are kept.", count)
    messages.success(request, said.format(count=count))
    return redirect("pages:start_fields", farm_code=farm.code)


@for_roles(Role.MANAGER)
def table(request: HttpRequest, farm: Farm, membership: Membership, kind: str) -> HttpResponse:
    """Take rows of machines, implements, hands, pumps or pivots, name each bad cell, and keep all of them or none."""
    if kind not in TABLES:
        raise Http404
    of = StartKind(kind)
    boxes = Boxes(request.POST)
    waiting = StartFile.objects.filter(farm=farm, kind=of).first()
    then = request.POST.get("then", "")
    if request.method == "POST" and then == "away":
        if waiting is not None:
            waiting.delete()
        return redirect("pages:start_table", farm_code=farm.code, kind=kind)
    if request.method == "POST":
        text = _text_of(request, boxes)
        if text is not None:
            waiting = put_start_file(
                farm=farm, kind=of, name="", content={"text": text}, made_by=_who(request), now=clock.now()
            )
            if then != "keep":
                return redirect("pages:start_table", farm_code=farm.code, kind=kind)
            try:
                report = keep_facts(farm=farm, kind=of, text=text)
            except DomainError as error:
                boxes.wrong["rows"] = error.says
            else:
                waiting.delete()
                count = report.counts[kind]
                said = ngettext("{count} row is kept.", "{count} rows are kept.", count)
                messages.success(request, said.format(count=count))
                onward = NEXT.get(of)
                return (
                    redirect("pages:start_table", farm_code=farm.code, kind=onward.value)
                    if onward
                    else redirect("pages:start", farm_code=farm.code)
                )
    context = {
        "farm": farm,
        "place": "start",
        "wrong": boxes.wrong,
        **table_facts(
            farm=farm,
            kind=of,
            text=waiting.content["text"] if waiting is not None else None,
            typed=request.POST.get("rows") if boxes.wrong else None,
        ),
    }
    return render(request, "pages/start_table.html", context, status=422 if boxes.wrong else 200)


@for_roles(Role.MANAGER)
def template(request: HttpRequest, farm: Farm, membership: Membership, kind: str) -> HttpResponse:
    """Hand out a table to fill in."""
    if kind not in TABLES:
        raise Http404
    answer = HttpResponse("\ufeff" + template_text(StartKind(kind)), content_type=CSV_TYPE)
    answer["Content-Disposition"] = f'attachment; filename="{kind}.csv"'  # not said
    return answer


@for_roles(Role.MANAGER)
def weather(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Take a file of weather: first read only, then kept."""
    formats = {
        Format.DAILY_CSV.value: _("a table of days of your own (CSV)"),
        Format.GHCN_DAILY.value: _("the public station archive (GHCN daily, CSV)"),
        Format.NWS_GRID.value: _("the national forecast grid (JSON)"),
    }

    def keep(path: Path) -> str:
        report = import_weather(
            farm=farm,
            format=request.POST.get("format", ""),
            path=path,
            today=clock.local_date(clock.now(), farm.zone),
        )
        if report.issued_at is not None:
            return _("A forecast is kept.")
        said = ngettext(
            "{count} day is kept, to {last}.", "{count} days are kept, to {last}.", report.changes
        )
        return said.format(count=report.changes, last=words.table_date(report.last) if report.last else "")

    more = {"formats": list(formats.items()), "example": WEATHER_EXAMPLE}
    return _from_file(request, farm, "pages/start_weather.html", keep, **more)


@for_roles(Role.MANAGER, Role.BOOKKEEPER)
def rates(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Take wages and prices, as rows in the box or as a file; rows without a price are passed over."""
    boxes = Boxes(request.POST)
    now = clock.now()
    text = _text_of(request, boxes) if request.method == "POST" else None
    priced = priced_rows(text) if text is not None else ""
    if text is not None and len(priced.splitlines()) < 2:
        boxes.wrong["rows"] = _("No row has a price yet.")
    elif text is not None:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "rates.csv"
            path.write_text(priced, encoding="utf-8")
            try:
                report = load_rates(farm=farm, path=path, now=now)
            except DomainError as error:
                says = plain(error.says.replace(str(path), _("The file")).replace(path.name, _("The file")))
                boxes.wrong["file" if request.FILES.get("file") else "rows"] = says
            else:
                said = ngettext("{count} rate is kept.", "{count} rates are kept.", report.new)
                messages.success(request, said.format(count=report.new))
                is_manager = Role.MANAGER in request.farm_roles  # type: ignore[attr-defined]
                return redirect("pages:start" if is_manager else "pages:start_rates", farm_code=farm.code)
    typed = request.POST.get("rows") if request.method == "POST" else None
    facts = rates_facts(farm=farm, today=clock.local_date(now, farm.zone), typed=typed)
    context = {"farm": farm, "place": "start", "wrong": boxes.wrong, **facts}
    return render(request, "pages/start_rates.html", context, status=422 if boxes.wrong else 200)


def _from_file(
    request: HttpRequest, farm: Farm, page: str, keep: Callable[[Path], str], **more: Any
) -> HttpResponse:
    """Show a page with a file box, or hand the file to who keeps it; nothing of a refused file is kept."""
    boxes = Boxes(request.POST)
    bad_rows: dict[str, str] = {}
    if request.method == "POST":
        content = content_of(request, boxes, "file", is_needed=True)
        if content is not None:
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / "file.csv"
                path.write_bytes(content)
                try:
                    messages.success(request, keep(path))
                except DomainError as error:
                    says = plain(
                        error.says.replace(str(path), _("The file")).replace(path.name, _("The file"))
                    )
                    boxes.wrong["file"] = says
                    bad_rows = error.fields if isinstance(error, ImportRefused) else {}
                else:
                    return redirect("pages:start", farm_code=farm.code)
    context = {
        "farm": farm,
        "place": "start",
        "typed": boxes.typed,
        "wrong": boxes.wrong,
        "bad_rows": bad_rows,
        **more,
    }
    return render(request, page, context, status=422 if boxes.wrong else 200)


def _text_of(request: HttpRequest, boxes: Boxes) -> str | None:
    """Return the rows that were handed in, as a file or in the box."""
    if request.FILES.get("file"):
        content = content_of(request, boxes, "file", is_needed=True)
        if content is None:
            return None
        try:
            return decoded(content)
        except TableRefused as error:
            boxes.wrong["file"] = error.says
            return None
    text = request.POST.get("rows", "")
    if not text.strip():
        boxes.wrong["rows"] = _("Choose a file, or write rows into the box.")
        return None
    if len(text) > MOST_TEXT or "\0" in text:
        boxes.wrong["rows"] = _("That is no table: it is too long, or holds signs that no text has.")
        return None
    return text


def _who(request: HttpRequest) -> User:
    assert isinstance(request.user, User), "only who is signed in comes here"
    return request.user
