"""The farm that the pages are measured on holds rows of every kind that they show, and its books are whole."""

import pytest

from farmops.bench.pages import SMALL
from farmops.bench.pages_place import lay_pages
from farmops.digests.models import OutboxRow, RowState
from ledger.models import BillPayment, BudgetLine, LandlordTerm, Payee, SeasonYield, ShareOut
from ledger.services.verify import verify_ledger
from scheduling.models import Incident, IncidentMended, SprayDetail, Spraying, SprayProduct


@pytest.mark.long
@pytest.mark.django_db(transaction=True)
def test_the_farm_of_the_pages_is_laid_with_all_that_they_show_and_its_books_are_whole() -> None:
    laid = lay_pages(fields=SMALL.fields, hands=SMALL.hands, outfits=SMALL.outfits)
    assert min(laid["fields"], laid["passes"], laid["incidents"], laid["bills"], laid["mails"]) > 0
    kinds = (BillPayment, BudgetLine, LandlordTerm, Payee, SeasonYield, ShareOut, Incident, IncidentMended)
    for model in (*kinds, SprayDetail, Spraying, SprayProduct):
        assert model._default_manager.exists(), model
    assert OutboxRow.objects.filter(state=RowState.SENT).exists()
    assert OutboxRow.objects.filter(state=RowState.SKIPPED).exists()
    report = verify_ledger()
    assert report.books
    assert report.faults == []
