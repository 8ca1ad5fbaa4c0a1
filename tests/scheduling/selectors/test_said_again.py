"""Whatever the planner says of a plan is known again by its form and said in Spanish; what is not known stays whole.

The Spanish itself is that of the catalogue; no source outside of it says how these sentences should read.
"""

import copy
from collections.abc import Iterator
from random import Random
from typing import Any

import pytest
from django.utils import translation

from farmops.farms.operations import WORDS
from scheduling.selectors.said_again import length_said, limits_of_windows, said_again, supposed_again
from scheduling.solver import ProblemError, parse_problem, solve
from scheduling.solver.compare import compare
from scheduling.solver.reasons import explain, to_json
from scheduling.solver.supposing import in_words, parse_supposition
from tests.scheduling.solver import example, rows, tiny
from tests.scheduling.solver.shapes import SHAPES, draw

ENGLISH_WORDS = {
    "the",
    "it",
    "is",
    "are",
    "and",
    "with",
    "would",
    "than",
    "of",
    "in",
    "to",
    "at",
    "which",
    "until",
}


@pytest.fixture(autouse=True)
def spanish() -> Iterator[None]:
    with translation.override("es"):
        yield


def _english_in(text: str) -> set[str]:
    return ENGLISH_WORDS & set(text.lower().replace(",", " ").replace(".", " ").replace(":", " ").split())


def _harder(problem: dict[str, Any], seed: int) -> dict[str, Any]:
    rng, harder = Random(seed), copy.deepcopy(problem)
    for task in harder["tasks"]:
        if rng.random() < 0.5:
            cut = rng.randrange(4, harder["horizon"] // 2)
            task["open"] = [{**one, "from": max(one["from"], cut)} for one in task["open"] if one["to"] > cut]
        if rng.random() < 0.3 and len(task["modes"]) > 1 and "under_way" not in task:
            task["modes"] = task["modes"][1:]
    return harder


def _drawn() -> Iterator[tuple[str, dict[str, Any]]]:
    for seed in range(24):
        yield f"row {seed}", rows.random_problem(seed) if seed % 2 else tiny.random_problem(seed, tasks=4)
    for shape in SHAPES:
        for seed in range(2):
            yield f"{shape} {seed}", draw(shape, seed)


def _told_of(raw: dict[str, Any], seed: int) -> Iterator[str]:
    """Yield what the planner says of a problem, of its plan and of the plan of a harder one beside it."""
    problem = parse_problem(raw)
    plan = solve(problem, seconds=1, rounds=1)
    yield from (one.why for one in plan.left)
    yield from (one.says for one in plan.why)
    told = to_json(explain(problem, plan))
    for row in (*told["tasks"], *told["left"]):
        yield row["says"]
        yield from (
            row[name]["says"]
            for name in ("next_best", "other_outfit", "other_day", "sooner")
            if row.get(name)
        )
    try:
        harder = parse_problem(_harder(raw, seed))
    except ProblemError:
        return
    then = solve(harder, seconds=1, rounds=1)
    if plan.status != "none" and then.status != "none":
        yield from (
            one.says
            for one in compare(problem, plan, harder, then).changes
            if one.kind not in ("same", "new", "gone")
        )


@pytest.mark.long
def test_all_that_the_planner_says_of_drawn_problems_has_a_form() -> None:
    count = 0
    unknown: dict[str, str] = {}
    for seed, (name, raw) in enumerate(_drawn()):
        for says in _told_of(raw, seed):
            count += 1
            spanish = said_again(says)
            if spanish == says or _english_in(spanish):
                unknown.setdefault(name, f"{says} → {spanish}")
    assert count > 300
    assert unknown == {}


def test_a_reason_keeps_its_names_hours_and_dollars() -> None:
    assert said_again(
        "Tractor 1 and Rosa are taken by disk on Pond 80 until Mon Apr 20 7:05 pm, and then need 45 minutes to get ready "
        "here. No other outfit could start it sooner."
    ) == (
        "Tractor 1 y Rosa están con disk on Pond 80 hasta el lun 20 abr 7:05 p.m., y luego necesitan 45 minutos para "
        "llegar y prepararse aquí. Nadie más ni nada más lo podría empezar antes."
    )
    assert said_again(
        "Mon Apr 20 7:00 am with the same outfit would cost $1,204.50 more: $1,205.00 more on the road and for changing "
        "setups and $0.50 less for being late."
    ) == (
        "El lun 20 abr 7:00 a.m. con lo mismo costaría $1,204.50 más: $1,205.00 más en caminos y cambio de implementos y "
        "$0.50 menos por el retraso."
    )


def test_what_stands_behind_a_colon_begins_small_but_for_a_name() -> None:
    assert said_again(
        "It moves from Mon Apr 20 7:00 am to Tue Apr 21 8:15 am. It had to: it is shut Mon Apr 20 7:00 am."
    ) == (
        "Se mueve del lun 20 abr 7:00 a.m. al mar 21 abr 8:15 a.m. Era obligado: está cerrado el lun 20 abr 7:00 a.m."
    )
    assert said_again(
        "It was left, and is now planned for Mon Apr 20 7:00 am with ann. It had to: it is under way in ann."
    ) == (
        "Se quedaba sin hacer, y ahora está planeado para el lun 20 abr 7:00 a.m. con ann. Era obligado: ya está en "
        "marcha con ann."
    )
    assert said_again("Before that: Rosa is not at work before Mon Apr 20 7:00 am.") == (
        "Antes de eso: Rosa no trabaja antes del lun 20 abr 7:00 a.m."
    )


def test_words_are_drawn_together_as_spanish_does() -> None:
    assert said_again("It waits for el patio, which is left.") == "Espera al patio, que se queda sin hacer."
    assert said_again("It waits for el pivote camina en Pond 80, which is left.").startswith(
        "Espera a que el pivote camine en Pond 80"
    )
    assert "tractor 1 e Imani" in said_again("tractor 1 and Imani are not at work before Mon Apr 20 7:00 am.")


def test_what_could_not_be_offered_names_what_is_missing() -> None:
    assert said_again(
        "No tractor, implement and hand here can disk in these days: tractor 1 is down until Friday, May 1 and Rosa is "
        "away through Saturday, May 2."
    ) == (
        "Ningún tractor, implemento y trabajador de aquí puede rastrear en estos días: tractor 1 está sin servicio hasta "
        "el viernes 1 de mayo y Rosa no está hasta pasado el sábado 2 de mayo."
    )


@pytest.mark.parametrize("operation", WORDS, ids=lambda operation: operation.value)
def test_every_kind_of_work_is_said_in_a_stored_reason(operation: Any) -> None:
    assert WORDS[operation].spanish in said_again(
        f"No hand here can {WORDS[operation].english} in these days."
    )


def test_what_shuts_a_field_is_said_as_its_windows_have_it() -> None:
    shut = {
        "says": "too wet: 0.31; opens Tuesday about 10 am",
        "says_es": "muy mojado: 0.31; se abre el martes como a las 10",
    }
    limits = limits_of_windows({"passes": [{"shut": [shut]}]})
    assert said_again(
        "It is shut all through these days. Shut for longest: too wet: 0.31.", limits=limits
    ) == ("Está cerrado todos estos días. Lo que más tiempo lo cierra: muy mojado: 0.31.")
    assert said_again("It is shut until Mon Apr 20 7:00 am. Too wet: 0.31.", limits=limits) == (
        "Está cerrado hasta el lun 20 abr 7:00 a.m. Muy mojado: 0.31."
    )
    assert said_again(f"The field is shut in all these days: {shut['says']}", limits=limits) == (
        "El campo está cerrado todos estos días: muy mojado: 0.31; se abre el martes como a las 10"
    )


@pytest.mark.parametrize(
    "text",
    ["It is under way. And something that nobody foresaw.", "No such sentence", "It is shut until noon.", ""],
)
def test_what_is_not_known_stays_whole(text: str) -> None:
    assert said_again(text) == text


def test_english_stays_as_it_is() -> None:
    with translation.override("en"):
        assert said_again("It is under way.") == "It is under way."
        assert supposed_again("Rain on all days") == "Rain on all days"
        assert length_said(150) == "2 h 30 min"
    assert [length_said(minutes) for minutes in (1, 45, 150, 2880)] == [
        "1 minuto",
        "45 minutos",
        "2 h 30 min",
        "2 días",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "rain",
        "rain@monday",
        "overtime:+1h",
        "overtime:+2h=$4/h",
        "hand:+1",
        "hand:+2@monday",
        "hand:-1",
        "hand-1:+1h",
        "hand-1:-1",
        "disk:+1",
        "disk:+2=$12.50/h",
        "disk:-1",
        "outfit:disk:+1",
        "tractor-1:+1",
        "tractor-1:+2",
    ],
)
def test_whatever_is_supposed_has_a_form(text: str) -> None:
    says = in_words(parse_supposition(text, parse_problem(example.problem())))
    assert supposed_again(says) != says
    assert not _english_in(supposed_again(says))
