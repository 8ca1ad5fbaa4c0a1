"""What a hand reads of his or her report, in English and Spanish: short, since it is read in the field.

A crew's own speaker has the last word on the wording.
"""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from string import Formatter
from typing import Any

from farmops.core.problems import DomainError
from scheduling.services.refusals import BadRecord
from scheduling.services.report_body import Said
from scheduling.slips.words import day_words

KEPT = Said("Report kept. Thank you.", "Reporte guardado. Gracias.")
AGAIN = Said("This report was already kept.", "Este reporte ya estaba guardado.")
PARKED = Said(
    "This report waits for the boss to look at it; nothing is lost.",
    "Este reporte espera a que el jefe lo revise; no se pierde nada.",
)
DONE_BEFORE = Said(
    "{who} reported this work done on {day}: is this another?",
    "{who} ya reportó este trabajo terminado el {day}: ¿es otro?",
)
DONE_BEFORE_BY_YOU = Said(
    "You reported this work done on {day} already: is this another?",
    "Usted ya reportó este trabajo terminado el {day}: ¿es otro?",
)
WHY: dict[str, Said] = {
    "over_24_hours": Said(
        "With this report the day would have more than 24 hours.",
        "Con este reporte el día tendría más de 24 horas.",
    ),
    "acres_over": Said(
        "These are more acres than the field has.", "Son más acres de los que tiene el campo."
    ),
    "meter_runs_backwards": Said(
        "The hour meter shows less than before.", "El horómetro marca menos que antes."
    ),
    "meter_runs_too_fast": Said(
        "The hour meter has gone up more than the clock.", "El horómetro subió más que el reloj."
    ),
    "bad_record": Said("Something in it cannot be.", "Algo en el reporte no puede ser."),
    "not_this_farm": Said(
        "It names something that this farm does not have.", "Nombra algo que este rancho no tiene."
    ),
    "pass_called_off": Said("This work was called off.", "Este trabajo se canceló."),
    "not_your_pass": Said("The plan gives this work to somebody else.", "El plan le da este trabajo a otro."),
    "report_too_old": Said("It is about a day long ago.", "Es de un día de hace tiempo."),
    "clock_off": Said(
        "The clock of your phone jumped, so the hour of this is not known.",
        "El reloj de su teléfono brincó y no se sabe a qué hora fue esto.",
    ),
    "hours_overlap": Said(
        "These hours lie over hours that you reported before.",
        "Estas horas se enciman con otras que ya reportó.",
    ),
    "hours_ahead": Said(
        "It is not that late yet: is it morning for evening, or another day?",
        "Todavía no es esa hora: ¿es de la mañana o de la tarde, o de otro día?",
    ),
    "no_valid_license": Said(
        "A product is restricted-use, and no license of yours is on file for that day.",
        "Un producto es de uso restringido, y no hay licencia suya vigente para ese día.",
    ),
    "looks_like_a_repeat": Said("It looks like one that you sent before.", "Se parece a uno que ya mandó."),
}
OTHERWISE = Said("It does not fit with what is known.", "No cuadra con lo que se sabe.")


WITH_FACTS: dict[str, tuple[Said, ...]] = {
    "over_24_hours": (
        Said(
            "With this report {day} would have {day_h} hours. A day has 24.",
            "Con este reporte el {day} tendría {day_h} horas. Un día tiene 24.",
        ),
    ),
    "acres_over": (
        Said(
            "{who} reported this work done on {done_on}. With this report {all_ac} acres are done; the field has {field_ac}.",
            "{who} ya reportó este trabajo terminado el {done_on}. Con este reporte van {all_ac} acres; el campo tiene {field_ac}.",
        ),
        Said(
            "With this report {all_ac} acres are done. The field has {field_ac}.",
            "Con este reporte van {all_ac} acres. El campo tiene {field_ac}.",
        ),
    ),
    "meter_runs_backwards": (
        Said(
            "You wrote {reading_h} on the hour meter. Before, it showed {before_h}.",
            "Usted anotó {reading_h} del horómetro. Antes marcaba {before_h}.",
        ),
        Said(
            "You wrote {reading_h} on the hour meter. Later, it showed {later_h}.",
            "Usted anotó {reading_h} del horómetro. Después marcó {later_h}.",
        ),
    ),
    "meter_runs_too_fast": (
        Said(
            "The hour meter went up {gained_h} hours in {passed_h} hours.",
            "El horómetro subió {gained_h} horas en {passed_h} horas.",
        ),
    ),
    "report_too_old": (Said("It is about {day}, {days} days ago.", "Es del {day}, hace {days} días."),),
    "hours_overlap": (
        Said(
            "These hours of {day} lie over hours that you reported before.",
            "Estas horas del {day} se enciman con otras que ya reportó.",
        ),
    ),
    "not_your_pass": (Said("The plan gives this work to {names}.", "El plan le da este trabajo a {names}."),),
}
"""Sentences that speak of what an error knows; the first that has all it speaks of is said."""
OF_FIELD = {
    "ends": Said("Is the stop before the start?", "¿Terminó antes de empezar?"),
    "starts": Said("Is the start right?", "¿Está bien la hora en que empezó?"),
    "break_minutes": Said("The break is longer than the day.", "El descanso es más largo que el día."),
    "work_on": Said("Is the day right?", "¿Está bien el día?"),
    "done_ac": Said("Are the acres right?", "¿Están bien los acres?"),
    "gallons": Said("Are the gallons right?", "¿Están bien los galones?"),
    "meter_h": Said("Only a machine has an hour meter.", "Solo una máquina tiene horómetro."),
}
"""What is asked of a value that cannot be, where no more is known."""


def done_before(*, who: str, day: dt.date, is_own: bool) -> Said:
    """Return what a hand is asked who reports work done that somebody reported done before."""
    asked = DONE_BEFORE_BY_YOU if is_own else DONE_BEFORE
    return Said(
        *(
            text.format(who=who, day=day_words(day, language))
            for text, language in zip(asked, ("en", "es"), strict=True)
        )
    )


def why(error: DomainError) -> Said:
    """Return why a report was parked, in the words of the hands, with the numbers and days that it is about."""
    for said in WITH_FACTS.get(error.code, ()):
        asked = {name for _text, name, _spec, _conversion in Formatter().parse(said.en) if name}
        if asked <= error.facts.keys():
            return Said(
                *(
                    text.format(**_told(error.facts, language))
                    for text, language in zip(said, ("en", "es"), strict=True)
                )
            )
    if error.code == BadRecord.code:
        found = next((OF_FIELD[name] for name in error.fields if name in OF_FIELD), None)
        if found is not None:
            return found
    return WHY.get(error.code, OTHERWISE)


def _told(facts: Mapping[str, Any], language: str) -> dict[str, str]:
    return {name: _fact(value, language) for name, value in facts.items()}


def _fact(value: Any, language: str) -> str:
    if isinstance(value, dt.date):
        return day_words(value, language)
    if isinstance(value, Decimal):
        return f"{value:,.1f}".removesuffix(".0")
    return str(value)
