"""What a hand reads of his or her report, in English and Spanish: short, since it is read in the field.

A crew's own speaker has the last word on the wording.
"""

from farmops.core.problems import DomainError
from scheduling.services.report_body import Said

KEPT = Said("Report kept. Thank you.", "Reporte guardado. Gracias.")
AGAIN = Said("This report was already kept.", "Este reporte ya estaba guardado.")
PARKED = Said(
    "Report kept for the boss to look at; nothing is lost.",
    "El reporte quedó con el jefe para revisarlo; no se pierde nada.",
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


def why(error: DomainError) -> Said:
    """Return why a report was parked, in the words of the hands."""
    return WHY.get(error.code, OTHERWISE)
