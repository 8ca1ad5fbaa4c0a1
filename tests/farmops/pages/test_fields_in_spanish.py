"""A manager who reads Spanish looks at fields, limits, debris, incidents, links and what waits, and fills their forms."""

import re
import uuid
from html import unescape
from typing import Any

import pytest

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Field
from scheduling.models import Incident, LimitChoice, ParkedReport, Remark, SaySo
from scheduling.services.receiving import receive_report
from tests.farmops.pages.conftest import Yard, signed_in
from tests.farmops.pages.test_field import AT_TEN
from tests.farmops.pages.test_markup import Document
from tests.scheduling.ground import make_dry_spring

FARM = "/farms/heron-slough/"
ENGLISH = re.compile(r"\b(the|and|with|wait|waits|fields|kept|choose|give|no report)\b", re.IGNORECASE)


@pytest.fixture
def yard_in_spanish(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Yard:
    make_dry_spring(yard.farm, rain_mm=9.0)
    monkeypatch.setattr(clock, "now", lambda: AT_TEN)
    User.objects.filter(username="mona").update(language="es")
    return yard


def page_of(path: str) -> str:
    answer = signed_in("mona").get(f"{FARM}{path}")
    assert answer.status_code == 200
    assert Document(answer.text).wrong == []
    return unescape(re.sub(r"\s+", " ", answer.text))


def told(path: str, status: int = 200, **boxes: Any) -> str:
    answer = signed_in("mona").post(f"{FARM}{path}", {"client_id": str(uuid.uuid4()), **boxes}, follow=True)
    assert answer.status_code == status
    return unescape(re.sub(r"\s+", " ", answer.text))


def words_of(page: str) -> str:
    """Return what is read on a page, without what the farm itself is called and what it wrote."""
    main = page[page.index("<main") :]
    return re.sub(r"<(script|style|svg)\b.*?</\1>|<[^>]+>", " ", main, flags=re.S)


@pytest.mark.parametrize(
    "path",
    [
        "fields/",
        "fields/pond-40/",
        "limits/",
        "limits/?limit=sticks",
        "debris/",
        "debris/pond-40/",
        "incidents/",
        "links/",
        "waiting/",
    ],
)
def test_no_english_is_left_on_a_page(yard_in_spanish: Yard, path: str) -> None:
    text = words_of(page_of(path)).replace("Cotton Incorporated", "").replace("and Better", "")
    text = text.replace("Building Soils for Better Crops", "")
    assert ENGLISH.findall(text) == []


def test_the_field_says_when_its_work_may_go_and_why_not(yard_in_spanish: Yard) -> None:
    page = page_of("fields/pond-40/")
    assert re.search(r"Pond 40: “rastrear” se puede (a partir de|el) .*(lunes|martes|miércoles|jueves)", page)
    assert "El tiempo se conoce hasta el" in page
    assert "A las 8 a.m. del lunes 20 de abril:" in page


def test_a_shut_hour_has_its_reason_in_spanish(yard_in_spanish: Yard) -> None:
    told("fields/pond-40/say/", day="2026-04-20", word="after", after_at="14:00", then="keep")
    page = page_of("fields/pond-40/")
    assert "dice el patrón: después de las 2 de la tarde" in page
    assert "no antes de 2:00 p.m." in page
    assert SaySo.objects.get().word == "after"


def test_a_word_on_the_field_is_kept_and_refused_in_spanish(yard_in_spanish: Yard) -> None:
    say = {"day": "2026-04-20", "word": "after", "then": "keep"}
    assert "Ponga la hora." in told("fields/pond-40/say/", 422, **say)
    said = told("fields/pond-40/say/", **say, after_at="14:00")
    assert "Guardado para el lunes 20 de abril: no antes de 2:00 p.m. Planee otra vez para usarlo." in said
    gauge = told("fields/pond-40/gauge/", 422, day="2026-04-19", rain_in="25")
    assert "25 pulgadas de lluvia en un día; un pluviómetro marca menos de 20. ¿No son mm?" in gauge
    remark = {"day": "2026-04-20", "hour": "09:00", "what": "too_wet", "operation": "disk"}
    assert "todavía no llega" in told("fields/pond-40/remark/", 422, **remark | {"day": "2027-04-20"})
    assert "muy mojado para rastrear" in told("fields/pond-40/remark/", **remark)
    assert Remark.objects.get().what == "too_wet"


def test_a_limit_reads_as_one_line_and_is_changed_in_spanish(yard_in_spanish: Yard) -> None:
    page = page_of("limits/?limit=cotton_soil")
    assert (
        "Cambiar: algodón: suelo a 4 pulgadas, promedio del día, cuando menos 65 °F 3 días seguidos" in page
    )
    assert "“se pega a la bota”" in page
    assert "práctica común, sin fuente" in page
    change = {"field": "", "number": "900", "is_used": "on", "effect": "shuts", "source": "lo vi"}
    assert "900 % no puede ser; va de 0 a 200 %." in told("limits/sticks/", 422, **change)
    off = {**change, "number": "", "is_used": "off"}
    assert "Manda la etiqueta; se puede hacer más estricto, nunca quitar." in told(
        "limits/re_entry/", 422, **off
    )
    kept = told("limits/sticks/", **change | {"number": "90"})
    assert "Guardado, en todos los campos sin elección propia. El próximo plan lo sigue." in kept
    assert "1 lo escogió usted" in kept
    told("limits/sticks/", **change, then="back")
    assert LimitChoice.objects.order_by("pk").last().source == "lo vi"  # type: ignore[union-attr]


def test_what_goes_back_keeps_its_source_in_one_language(yard_in_spanish: Yard) -> None:
    told("limits/sticks/", field="", then="back")
    assert LimitChoice.objects.get().source == "back to the shipped number"


def test_an_incident_is_entered_and_told_in_spanish_and_stored_as_ever(yard_in_spanish: Yard) -> None:
    field = Field.objects.get()
    typed = {"kind": "puncture", "day": "2026-04-20", "hour": "09:00", "field": field.pk, "met": "hueso"}
    assert "El día y la hora: el 20 de abril de 2027 todavía no llega." in told(
        "incidents/add/", 422, **typed | {"day": "2027-04-20"}
    )
    assert "Ponchadura en Pond 40: hueso." in told("incidents/add/", **typed)
    pk = Incident.objects.get().pk
    assert "va de 0 a 336 h, que son 14 días" in told(
        f"incidents/{pk}/mend/", 422, mending="repair", lost_h="999"
    )
    assert "está a" in told(f"incidents/{pk}/place/", 422, latitude_deg="10", longitude_deg="-83")
    assert "1 ponchadura; 1 de las ponchaduras no tiene lugar todavía." in page_of("incidents/")
    assert Incident.objects.get().kind == "puncture"


def test_a_report_that_waits_is_told_corrected_and_settled_in_spanish(yard_in_spanish: Yard) -> None:
    yard = yard_in_spanish
    body = {"pass_id": yard.field_pass.pk, "work_on": "2026-04-19", "hours": "25", "look": {"cut": "deep"}}
    receive_report(
        farm=yard.farm,
        hand=yard.hand,
        client_id=uuid.uuid4(),
        kind="work",
        body=body,
        sent_by=None,
        now=AT_TEN,
    )
    pk = ParkedReport.objects.get().pk
    page = page_of("waiting/")
    assert "Rosa: Pond 40, rastrear, algodón 2026, 19 de abril de 2026" in page
    assert "Rosa tendría 25 h 00 min el 19 de abril de 2026; un día tiene 24." in page
    assert "Llegó el lunes 20 de abril, 10:00 a.m.<" in page
    assert "<b>Cómo quedó:</b> corte muy hondo" in page
    values = {"value-pass_id": yard.field_pass.pk, "value-work_on": "2026-04-19"}
    assert "Horas “x” no es un número." in told(f"waiting/{pk}/take/", 422, **values, **{"value-hours": "x"})
    assert "Diga por qué se descarta el reporte." in told(f"waiting/{pk}/aside/", 422, **values)
    taken = told(f"waiting/{pk}/take/", **values, **{"value-hours": "5"})
    assert "El reporte de Rosa quedó aceptado." in taken
    assert "aceptado por mona, lunes 20 de abril, 10:00 a.m." in taken
    assert "Horas: 25 → 5" in taken


def test_links_are_made_and_taken_back_in_spanish(yard_in_spanish: Yard) -> None:
    made = told(f"links/hands/{yard_in_spanish.hand.pk}/make/")
    assert "1 trabajador puede entrar con un enlace." in made
    assert "Hecho el lunes 20 de abril, 10:00 a.m.; sirve hasta el lunes 27 de abril, 10:00 a.m." in made
    assert "Todos los enlaces del rancho quedaron anulados" in told("links/revoke/")
