"""The pages of the plan for a manager who reads Spanish: no English is left on them, and nothing but English is stored.

That a page is Spanish is judged by words that only English has; names of the farm's own rows are not among them.
"""

import datetime as dt
import json
import re
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client

from farmops.core import clock
from farmops.core.models import User
from farmops.farms.models import Crop, Farm, LatePlantingFacts, Machine, Membership
from scheduling.models import FieldPass, WeekPlan
from tests.factories import make_farm
from tests.farmops.pages.test_markup import Document
from tests.farmops.pages.two_fields import two_fields_to_disk
from tests.scheduling.ground import MONDAY
from tests.scheduling.weeks import made, working_farm

AT = "/farms/heron-slough/"
SIX = MONDAY + dt.timedelta(hours=6)
ENGLISH = re.compile(
    r"\b(the|it|is|are|was|and|with|would|than|of|until|which|this|that|not|no plan|fit|shut|open|all|day|days|field|"
    r"hand|hands|word|kept|plant|disk on|on|at|from|for|so|by|to)\b",
    re.IGNORECASE,
)
HARMLESS = re.compile(r"<(style|script)\b.*?</\1>|<header>.*?</header>|<head>.*?</head>", re.DOTALL)
READ_OUT = re.compile(r'(?:aria-label|title|alt|placeholder|data-label)="([^"]*)"')


@pytest.fixture
def farm(db: None, monkeypatch: pytest.MonkeyPatch) -> Farm:
    """A farm with two fields to disk, and one manager, who reads Spanish; Monday, 6 am."""
    monkeypatch.setattr(clock, "now", lambda: SIX)
    farm = working_farm()
    _manager(farm)
    two_fields_to_disk(farm)
    return farm


def _manager(farm: Farm) -> None:
    user = User.objects.create_user("mona", password="x" * 12, language="es")
    Membership.objects.create(farm=farm, user=user, role="manager")


def _client() -> Client:
    client = Client()
    client.force_login(User.objects.get(username="mona"))
    return client


def _read(page: str) -> str:
    """Return all that a page has people read or hear, without its markup."""
    assert Document(page).wrong == []
    shown = HARMLESS.sub(" ", page)
    return unescape(" ".join([re.sub(r"<[^>]*>", " ", shown), *READ_OUT.findall(shown)]))


def _spanish(page: str, *names: str) -> str:
    text = _read(page)
    for name in names:
        text = text.replace(name, "")
    assert ENGLISH.findall(text) == [], [
        text[max(0, m.start() - 60) : m.end() + 60] for m in ENGLISH.finditer(text)
    ]
    return text


def _page(address: str, *names: str) -> str:
    answer = _client().get(f"{AT}{address}")
    assert answer.status_code == 200
    return _spanish(answer.text, *names)


def _pressed(address: str, *names: str, **boxes: str) -> tuple[int, str]:
    answer = _client().post(f"{AT}{address}", boxes, follow=True)
    return answer.status_code, _spanish(answer.text, *names)


def test_the_week_is_spanish_with_its_reasons_and_what_it_changes(farm: Farm) -> None:
    made(farm, now=SIX, as_of=MONDAY.date(), rounds=60)
    status, page = _pressed("week/1/send/")
    assert status == 200
    assert "El plan 1 está enviado: las próximas hojas del día lo siguen." in page
    Machine.objects.filter(code="tractor-1").update(down_until=MONDAY + dt.timedelta(days=9))
    status, page = _pressed("week/plan/", first_on="2026-04-20", seen="1")
    assert status == 200
    assert "El plan 2 está hecho. Léalo y luego envíelo." in page
    assert "Caben las dos pasadas esta semana." in page
    assert re.search(r"están? con rastrear en (Pond 40|Hill 20) hasta el", page), "why the other waits"
    assert "Lo que cuesta el plan" in page
    assert "Segunda opción:" in page


def test_what_a_plan_stores_is_english_whoever_made_it(farm: Farm) -> None:
    FieldPass.objects.filter(season__field__code="hill-20").update(earliest_on=dt.date(2026, 5, 20))
    status, page = _pressed("week/plan/", first_on="2026-04-20", seen="0")
    assert status == 200
    assert "Cabe la única pasada que ya toca esta semana." in page, "what is not due does not count as left"
    assert "A 1 pasada todavía no le toca: puede empezar el miércoles 20 de mayo de 2026." in page
    assert re.search(r"20 may 2026\s*rastrear\s*Hill 20", page)
    plan = WeekPlan.objects.get()
    assert plan.not_offered == [["hill-20/disk", "It may not start before Wednesday, May 20."]]
    stored = json.dumps(
        [plan.problem, plan.plan, plan.not_offered, [one.get("says") for one in plan.windows["passes"]]]
    )
    assert not re.search(r"rastrear|abr\b|está|antes del", stored)


def test_rules_that_clash_are_said_in_spanish(farm: Farm) -> None:
    FieldPass.objects.update(leave_cents=None, fixed_from=MONDAY + dt.timedelta(hours=33))
    status, page = _pressed("week/plan/", first_on="2026-04-20", seen="0")
    assert status == 409
    assert re.search(r"Ningún plan cumple todas las reglas: estas \d+ no se pueden cumplir juntas\.", page)
    assert "Rastrear en Pond 40" in page
    assert "Esto tiene que hacerse. Sin esta regla" in page
    assert "mar 21 abr 9:00 a.m." in page


def test_a_farm_without_a_plan_says_in_spanish_what_is_missing(
    db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock, "now", lambda: SIX)
    _manager(make_farm())
    page = _page("week/")
    assert "Todavía no hay ninguna semana planeada." in page
    assert "El tiempo de los últimos meses." in page
    assert "Todavía no hay ningún campo descrito." in _page("morning/", "load_farm", "import_weather")
    assert "Aquí todavía no se siembra ningún cultivo." in _page("late/")


def test_the_morning_is_spanish_kept_and_refused(farm: Farm) -> None:
    page = _page("morning/")
    assert (
        "Lunes: según el modelo, en los 2 campos con trabajo se puede a alguna hora. ¿Usted qué dice?" in page
    )
    form = _client().get(f"{AT}morning/").text
    form_id = re.search(r'name="client_id" value="([^"]+)"', form)
    rain = re.search(r'name="(rain-\d+)"', form)
    word = re.search(r'name="(word-\d+)"', form)
    assert form_id
    assert rain
    assert word
    asked = {"client_id": form_id[1], "day": "2026-04-20", "rain_on": "2026-04-19", "seen": "0"}
    status, page = _pressed("morning/", **asked, **{rain[1]: "99"})
    assert status == 422
    assert "99 pulgadas de lluvia en un día; un pluviómetro marca menos de 20." in page
    status, page = _pressed("morning/", **asked, **{rain[1]: "0.2", word[1]: "fit"})
    assert status == 200
    assert "Quedaron guardadas 1 palabra y 1 lectura de pluviómetro. El plan 1 está hecho." in page


def test_a_pass_is_held_and_refused_in_spanish(farm: Farm) -> None:
    made(farm, now=SIX, as_of=MONDAY.date())
    row = FieldPass.objects.get(season__field__code="pond-40")
    assert "Rastrear en Pond 40: el plan escoge quién lo hace y cuándo." in _page(f"passes/{row.pk}/hold/")
    for boxes, says in (
        ({}, "Diga a qué fijarlo: quién y con qué, una hora, o las dos cosas."),
        (
            {"day": "2026-04-20", "hour": "05:59"},
            "ya pasó; antes del lunes 20 de abril, 6:00 a.m. no empieza nada.",
        ),
        (
            {"outfit": "tractor-2+disk-1+teo", "day": "2026-04-26", "hour": "09:00"},
            "no trabaja el domingo 26 de abril.",
        ),
    ):
        status, page = _pressed(f"passes/{row.pk}/hold/", **boxes)
        assert status == 422
        assert says in page
    status, page = _pressed(f"passes/{row.pk}/hold/", day="2026-04-21", hour="09:00", then="keep")
    assert status == 200
    assert "Rastrear en Pond 40: fijado." in page
    assert "Rastrear en Pond 40, martes 21 de abril, 9:00 a.m.: fijado." in page


def test_what_would_help_is_answered_and_refused_in_spanish(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("farmops.pages.views.helping.ONE_SECONDS", 2.0)
    made(farm, now=SIX, as_of=MONDAY.date(), rounds=60)
    assert "¿Qué ayudaría en los días del plan 1?" in _page("week/1/help/")
    status, page = _pressed("week/1/help/", what="disk:+1", day="", usd_per_h="", then="one")
    assert status == 200
    assert re.search(r"Un implemento más para rastrear todos los días: ahorra \$[\d.]+\.", page)
    status, page = _pressed("week/1/help/", "hand", what="hand:+1", day="2026-04-26")
    assert status == 422
    assert "trabaja el domingo 26 de abril, así que no hay horas de dónde partir." in page


def test_what_planting_late_costs_is_said_in_spanish(farm: Farm) -> None:
    LatePlantingFacts.objects.create(
        farm=farm, crop=Crop.COTTON, yield_per_ac=1000, yield_unit="lb", price_usd=Decimal("0.70")
    )
    assert "Lo que se pierde de algodón" in _read(_client().get(f"{AT}late/").text)
    right = {
        "yield_per_ac": "1000",
        "yield_unit": "lb",
        "price_usd": "0.70",
        "curve": "own",
        "is_in_pct": "yes",
    }
    for boxes, says in (
        ({"yield_per_ac": "x"}, "“x” no es un número."),
        ({}, "Una curva propia necesita un renglón"),
        ({"after-0": "13-45", "per_day-0": "1"}, "Algodón: renglón 1: '13-45' no es un día como 05-20."),
        (
            {"after-0": "05-20", "per_day-0": "x"},
            "Algodón: renglón 1: “se pierde cada día” dice 'x', que no es un número.",
        ),
        (
            {"yield_per_ac": "-1", "after-0": "05-20", "per_day-0": "1"},
            "El rendimiento por acre: -1 está fuera de",
        ),
    ):
        typed = {f"{name}-0": "" for name in ("after", "per_day", "at_once")}
        refused = _client().post(f"{AT}late/cotton/", {**right, **typed, **boxes})
        assert refused.status_code == 422
        text = _read(refused.text)
        assert "No se guardó: lo que está mal se dice junto a su casilla." in text
        assert says in text, text[text.find("Cambiar") :][:900]
