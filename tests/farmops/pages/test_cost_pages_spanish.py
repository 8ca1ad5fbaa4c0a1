"""The books in Spanish: pages speak it, files and what is stored stay English, whoever books and whoever reads."""

import datetime as dt
import re

import pytest

from farmops.core import clock
from farmops.core.models import User
from ledger.models import Entry, Line
from ledger.services.posting import post_pending
from tests.farmops.pages.conftest import signed_in
from tests.farmops.pages.test_cost_pages import HERE, kept, kept_of_the_file, read
from tests.farmops.pages.test_share_out_pages import offered, typed
from tests.ledger.makers import NOON, Place, make_bill, make_hand, make_work
from tests.scheduling.care_facts import make_done, make_rule

__all__ = ["kept", "kept_of_the_file"]
FILES = (
    "costs/as/csv/?year=2026",
    "costs/as/lines/?year=2026",
    "costs/as/lines/?year=2026&manifest=yes",
    "journal.csv",
    "general-ledger.csv?from=2026-01-01&to=2026-06-30",
    "costs/pond-40/statement/?year=2026",
)


@pytest.fixture
def spanish(kept: Place, monkeypatch: pytest.MonkeyPatch) -> Place:
    monkeypatch.setattr(clock, "now", lambda: dt.datetime(2026, 5, 20, 16, tzinfo=dt.UTC))
    User.objects.filter(username="bo").update(language="es")
    return kept


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("costs/", "2 campos han costado"),
        ("costs/?by=operation", "Rastrear"),
        ("costs/?by=month", "Abril de 2026"),
        ("costs/?by=category", "Mano de obra"),
        ("costs/?by=crop&category=tires", "Solo llantas."),
        ("costs/?year=2031", "Ningún campo ha costado nada todavía."),
        ("costs/?month=2026-09", "Aquí no se ha asentado nada."),
        ("cost-lines/?category=seed", "Semilla: $2,238.44 en 2026, 1 renglón."),
        ("cost-lines/?category=seed", "insumo de cotton-seed desde el 1 de enero de 2026"),
        ("cost-lines/?category=seed", "Imani: rastrear, 20 de abril de 2026"),
        ("cost-lines/?category=payroll_burden", "Todavía no hay renglones."),
        ("pool-lines/?pool=tractor-1&side=charged", "Fondo de tractor-1, horas cobradas a los campos:"),
        ("costs/pond-40/", "en 2026 hasta ahora, en"),
        ("share-outs/", "cobrados por adelantado"),
    ],
)
def test_a_page_of_the_books_speaks_spanish(spanish: Place, address: str, says: str) -> None:
    assert says in read(signed_in("bo"), HERE + address)


def test_every_entry_and_its_source_is_told_in_spanish(spanish: Place) -> None:
    client = signed_in("bo")
    for number in Entry.objects.values_list("number", flat=True):
        page = read(client, f"{HERE}entries/{number}/")
        assert f"<h1>Asiento {number}: " in page
        assert "Huella" in page
        assert "de aquí salió el asiento" in read(client, f"{HERE}cost-sources/{number}/")


def test_files_are_the_same_for_every_reader(spanish: Place) -> None:
    def files() -> list[bytes]:
        return [b"".join(signed_in("bo").get(HERE + one)) for one in FILES]

    in_spanish = files()
    User.objects.filter(username="bo").update(language="en")
    assert in_spanish == files()


def test_what_a_spanish_reader_books_is_stored_in_english_and_read_in_spanish(spanish: Place) -> None:
    """The digests of the books and other databases that read the journal know one language."""
    make_bill(spanish, "90.00", category="insurance")
    make_work(spanish, hand=make_hand(spanish.farm, "zoe", name="Zoe"), implement=None)
    client = signed_in("bo")
    form = offered(client.post(f"{HERE}share-outs/", typed(then="look", why="abril")).text)
    page = client.post(f"{HERE}share-outs/", form, follow=True).content.decode()
    assert "Se repartieron $90.00." in page
    assert "se repartieron entre 2 temporadas según: acres." in page
    shared = Line.objects.filter(entry__share_out__isnull=False)
    assert {re.sub(r"[0-9.,]+", "0", line.says) for line in shared} == {
        "share of the farm as a whole: 0 of 0 ac",
        "shared out over seasons",
    }
    made = Entry.objects.get(share_out__isnull=False)
    assert "parte de todo el rancho: " in read(client, f"{HERE}entries/{made.number}/")


def test_a_service_is_told_in_the_words_that_it_has_in_the_readers_language(spanish: Place) -> None:
    rule = make_rule(spanish.machine, what="change engine oil", what_es="cambiar el aceite del motor")
    make_done(rule, NOON, hand=spanish.hand, hand_min=60)
    post_pending(now=NOON)
    entry = Entry.objects.get(care_done__isnull=False)
    page = read(signed_in("bo"), f"{HERE}entries/{entry.number}/")
    assert "Imani: cambiar el aceite del motor, tractor-1" in page
    assert "change engine oil" not in page
    User.objects.filter(username="bo").update(language="en")
    assert "Imani: change engine oil, tractor-1" in read(signed_in("bo"), f"{HERE}entries/{entry.number}/")
