"""The trial balance, the lines of an account, and the books as files: general ledger and journal."""

import datetime as dt
import tempfile
from collections.abc import Callable, Iterator
from functools import partial
from http import HTTPStatus
from pathlib import Path
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import translation

from farmops.core import clock
from farmops.desk.long_exports import JOURNAL, LEDGER
from farmops.farms.models import Farm, Membership, Role
from farmops.pages.access import for_roles
from farmops.pages.asked_days import DaysTurned, asked_day, asked_days, asked_page
from farmops.pages.kept_parts import KeptParts
from farmops.pages.trial_balance_page import account_facts, account_said, trial_balance_facts
from farmops.pages.views.exports import too_long
from ledger.exports.about import About, manifest_path, write_manifest
from ledger.exports.general_ledger import write_general_ledger
from ledger.exports.journal_csv import write_journal
from ledger.models import Account
from ledger.selectors.cost_marks import lines_mark

OFFICE = (Role.BOOKKEEPER, Role.MANAGER)
PIECE_BYTES = 1 << 16
MANIFEST, MANIFEST_TYPE = "manifest", "application/json"
"""What an address asks with for the manifest of a file instead of the file, and what that is."""
CSV_TYPE = "text/csv; charset=utf-8"  # not said
FILES_SPEAK = "en"
"""Files are read by other programs and by a preparer: one language, whoever fetches them."""


@for_roles(*OFFICE)
def trial_balance(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponse:
    """Show every account by what was booked up to a day; summed anew at least every minute, whatever the books' head says."""
    through = asked_day(request.GET, "through", _today(farm))
    body = KeptParts(partial(lines_mark, farm=farm)).part(
        "pages/trial_balance_body.html",
        asked=(through, int(clock.now().timestamp()) // 60),
        facts=lambda: {"farm": farm, **trial_balance_facts(farm=farm, through=through)},
        keep=through == _today(farm),
    )
    return render(request, "pages/trial_balance.html", {"farm": farm, "place": "costs", "body": body})


@for_roles(*OFFICE)
def account(request: HttpRequest, farm: Farm, membership: Membership, account: str) -> HttpResponse:
    """Show the lines of an account over some days, with the balance after each."""
    if account not in Account.values:
        raise Http404
    refused: dict[str, Any] = {}
    try:
        first, last = asked_days(request.GET, farm)
    except DaysTurned as error:
        first, last = asked_days({}, farm)
        refused = {"from": error.first, "to": error.last, "wrong": error.says}
    page = asked_page(request.GET)

    def facts() -> dict[str, Any]:
        told = account_facts(farm=farm, account=Account(account), first=first, last=last, page=page)
        return {"farm": farm, "refused": refused, **told}

    kept = KeptParts(partial(lines_mark, farm=farm))
    asked = (account, first, last, page, *refused.values())
    body = kept.part("pages/account_body.html", asked=asked, facts=facts, keep=not refused)
    context = {"farm": farm, "place": "costs", "name": account_said(Account(account)), "body": body}
    status = HTTPStatus.UNPROCESSABLE_ENTITY if refused else HTTPStatus.OK
    return render(request, "pages/account.html", context, status=status)


@for_roles(*OFFICE)
def general_ledger_file(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponseBase:
    """Give every account over some days as a file, or the page on which a large one is asked for."""
    first, last = asked_days(request.GET, farm)
    return too_long(request, farm, LEDGER, first, last) or csv_file(
        f"{farm.code}-general-ledger-{first}-to-{last}.csv",
        lambda path: write_general_ledger(farm=farm, first=first, last=last, path=path),
        wants_manifest=MANIFEST in request.GET,
    )


@for_roles(*OFFICE)
def journal_file(request: HttpRequest, farm: Farm, membership: Membership) -> HttpResponseBase:
    """Give every entry with its digest as a file, in the form that can be read into other books; a large one is asked for."""
    first, last = asked_days({}, farm)
    return too_long(request, farm, JOURNAL, first, last) or csv_file(
        f"{farm.code}-journal.csv",
        lambda path: write_journal(farm=farm, path=path),
        wants_manifest=MANIFEST in request.GET,
    )


def csv_file(name: str, write: Callable[[Path], About], *, wants_manifest: bool) -> StreamingHttpResponse:
    """Give a file that is written to the disk first and sent in pieces from there, so that memory stays flat.

    Or give its manifest alone: what the file is of, with the digest of its bytes.
    """
    sent_as = manifest_path(Path(name)).name if wants_manifest else name
    return StreamingHttpResponse(
        _pieces(name, write, wants_manifest),
        content_type=MANIFEST_TYPE if wants_manifest else CSV_TYPE,
        headers={"Content-Disposition": f'attachment; filename="{sent_as}"'},  # not said
    )


def written(write: Callable[..., object], name: str) -> bytes:
    """Return the bytes of a file that is written now."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        write(path=path)
        return path.read_bytes()


def _pieces(name: str, write: Callable[[Path], About], wants_manifest: bool) -> Iterator[bytes]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        with translation.override(FILES_SPEAK):
            facts = write(path)
        if wants_manifest:
            path = write_manifest(path=path, facts=facts)
        with path.open("rb") as file:
            while piece := file.read(PIECE_BYTES):
                yield piece


def _today(farm: Farm) -> dt.date:
    today: dt.date = clock.local_date(clock.now(), farm.zone)
    return today
