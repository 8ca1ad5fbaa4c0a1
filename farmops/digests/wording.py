"""The words of a sheet, English beside Spanish. Data: a speaker of the crew has the last word and changes it here.

Every sentence has fewer than nine words. `{name}` marks what is filled in.
"""

from functools import cache

from farmops.digests.wording_calendar import CALENDAR_PHRASES
from farmops.digests.wording_change import CHANGE_PHRASES
from farmops.digests.wording_costs import COST_PHRASES
from farmops.digests.wording_farm import FARM_PHRASES
from scheduling.slips.words import Said

PHRASES: dict[str, Said] = {
    **FARM_PHRASES,
    **CHANGE_PHRASES,
    **COST_PHRASES,
    **CALENDAR_PHRASES,
    "first": Said("First: {field}: {work}", "Primero: {field}: {work}"),
    "first_service": Said("First: {tool}: {what}", "Primero: {tool}: {what}"),
    "at_yard": Said("at the yard", "en el patio"),
    "where_it_stands": Said("where it stands", "donde está parado"),
    "brought_to": Said("bring it to {field}", "llévelo a {field}"),
    "stands_on": Said("it stands at {field}", "está en {field}"),
    "nothing": Said("No field work today", "Hoy no hay trabajo en el campo"),
    "nothing_more": Said("Ask {boss} what comes next.", "Pregunte a {boss} qué sigue."),
    "for_hand": Said("For {hand}, {farm}.", "Para {hand}, {farm}."),
    "one_task": Said("One task", "Un trabajo"),
    "tasks": Said("{count} tasks", "{count} trabajos"),
    "late_sheet": Said(
        "This sheet is late. The mail was held up.", "Esta hoja llega tarde. El correo se atrasó."
    ),
    "changed_since": Said("This changed since last evening.", "Esto cambió desde ayer en la tarde."),
    "from_to": Said("{start} to {end}", "{start} a {end}"),
    "about": Said("about {hours}", "cerca de {hours}"),
    "when": Said("When", "Cuándo"),
    "where": Said("Where", "Dónde"),
    "start_with": Said("Start with", "Empiece con"),
    "checks": Said("Before you go out", "Antes de salir"),
    "cautions": Said("Take care", "Cuidado"),
    "report_here": Said("Report from your phone", "Reporte desde su teléfono"),
    "link_is_yours": Said(
        "It opens your day only. Pass it on to nobody.", "Abre solo su día. No se lo pase a nadie."
    ),
    "sheet_has_last_word": Said("The morning sheet has the last word.", "La hoja del día manda."),
    "door_scan": Said("Scan this to report.", "Escanee esto para reportar."),
    "door_type": Said("Or type the code at {address}", "O escriba el código en {address}"),
    "more_on_page_one": Said("1 more task is on your page.", "Hay 1 trabajo más en su página."),
    "more_on_page": Said("{count} more tasks are on your page.", "Hay {count} trabajos más en su página."),
    "more_to_ask_one": Said("1 more task. Ask {boss}.", "Hay 1 trabajo más. Pregunte a {boss}."),
    "more_to_ask": Said("{count} more tasks. Ask {boss}.", "Hay {count} trabajos más. Pregunte a {boss}."),
    "sign_in": Said("Sign in with your name.", "Entre con su nombre."),
    "stop_title": Said("To stop these mails", "Para ya no recibir estos correos"),
    "stop_ask": Said(
        "To stop these mails, tell the manager.", "Si no quiere estos correos, avise al encargado."
    ),
    "yard_is_at": Said("The yard is at", "El patio está en"),
    "emergency": Said("Emergency", "Emergencia"),
    "boss": Said("Boss", "Jefe"),
    "the_boss": Said("the boss", "su jefe"),
    "weather": Said("Weather", "Tiempo"),
    "high": Said("high {temp}", "máxima {temp}"),
    "rain_chance": Said("rain {tenths} in 10", "lluvia {tenths} de 10"),
    "known_on": Said("Ground and weather as known {day}.", "Suelo y tiempo según lo sabido el {day}."),
}


def say(key: str, language: str, **values: object) -> str:
    """Return a phrase in a language, filled in."""
    return PHRASES[key].in_(language).format(**values) if values else _as_it_stands(key, language)


@cache
def _as_it_stands(key: str, language: str) -> str:
    return PHRASES[key].in_(language).format()


def say_count(key: str, language: str, count: int, **values: object) -> str:
    """Return a phrase that counts, with its own words for one."""
    return say(f"{key}_one" if count == 1 else key, language, count=f"{count:,}", **values)
