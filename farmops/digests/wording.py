"""The words of a sheet, English beside Spanish. Data: a speaker of the crew has the last word and changes it here.

Every sentence has fewer than nine words. `{name}` marks what is filled in.
"""

from scheduling.slips.words import Said

PHRASES: dict[str, Said] = {
    "first": Said("First: {field}: {work}", "Primero: {field}: {work}"),
    "first_service": Said("First: {tool}: {what}", "Primero: {tool}: {what}"),
    "at_yard": Said("at the yard", "en el patio"),
    "where_it_stands": Said("where it stands", "donde está parado"),
    "service_safe": Said(
        "Engine off, key out. Block the wheels. Let it cool. The maker's manual says how.",
        "Motor apagado, sin llave. Calce las ruedas. Deje enfriar. El manual del fabricante dice cómo.",
    ),
    "nothing": Said("No field work today", "Hoy no hay trabajo en el campo"),
    "nothing_more": Said("Ask {boss} what comes next.", "Pregunte a {boss} qué sigue."),
    "for_hand": Said("For {hand}, {farm}.", "Para {hand}, {farm}."),
    "one_task": Said("One task", "Un trabajo"),
    "tasks": Said("{count} tasks", "{count} trabajos"),
    "late_sheet": Said("This sheet is late. The mail was down.", "Esta hoja llega tarde. Falló el correo."),
    "from_to": Said("{start} to {end}", "{start} a {end}"),
    "about": Said("about {hours}", "cerca de {hours}"),
    "acres": Said("{acres} acres", "{acres} acres"),
    "day_part": Said("part {number} of {count}", "parte {number} de {count}"),
    "with_water": Said("with water, {depth} in", "con agua, {depth} pulgadas"),
    "strip": Said("the strip under the pivot", "la franja bajo el pivote"),
    "where": Said("Where", "Dónde"),
    "with": Said("With", "Con"),
    "ground": Said("Ground", "Suelo"),
    "soil_temp": Said("Soil at 8 am", "Suelo a las 8 a.m."),
    "give_or_take": Said("{temp}, give or take {band}", "{temp}, más o menos {band}"),
    "shut": Said("Shut", "No se puede"),
    "chance": Said("Chance it stays fit", "Probabilidad de que se pueda"),
    "chance_of_10": Said("{tenths} in 10", "{tenths} de 10"),
    "boss_says": Said("Boss says", "Dice quien manda"),
    "fit": Said("fit to work", "sí se puede"),
    "after": Said("not before {hour}", "no antes de las {hour}"),
    "not_today": Said("not today. Ask before you go.", "hoy no. Pregunte antes de ir."),
    "ground_value": Said(
        "{word}, {value} (must be under {limit})", "{word}, {value} (debe ser menos de {limit})"
    ),
    "moist": Said("moist", "húmedo"),
    "ground_unknown": Said("not known. Look before you work.", "no se sabe. Mire antes de trabajar."),
    "and": Said("{first} and {second}", "{first} y {second}"),
    "outfit": Said("{machine} with {implement}", "{machine} con {implement}"),
    "on_foot": Said("no machine", "sin máquina"),
    "checks": Said("Before you go out", "Antes de salir"),
    "cautions": Said("Take care", "Cuidado"),
    "not_safe": Said("Not safe? Stop and call {boss}.", "¿No es seguro? Pare y llame a {boss}."),
    "emergency": Said("Emergency", "Emergencia"),
    "you_are_at": Said("You are at", "Usted está en"),
    "boss": Said("Boss", "Quien manda"),
    "the_boss": Said("the boss", "quien manda"),
    "weather": Said("Weather", "Tiempo"),
    "high": Said("high {temp} °F", "máxima {temp} °F"),
    "rain_chance": Said("rain {tenths} in 10", "lluvia {tenths} de 10"),
    "known_on": Said("Ground and weather as known {day}.", "Suelo y tiempo según lo sabido el {day}."),
}


def say(key: str, language: str, **values: object) -> str:
    """Return a phrase in a language, filled in."""
    return PHRASES[key].in_(language).format(**values)
