"""The words of a sheet, English beside Spanish. Data: a speaker of the crew has the last word and changes it here.

Every sentence has fewer than nine words. `{name}` marks what is filled in.
"""

import datetime as dt
from dataclasses import dataclass

from farmops.farms.operations import WORDS, Operation


@dataclass(frozen=True)
class Said:
    """One thing said in both languages."""

    en: str
    es: str

    def in_(self, language: str) -> str:
        return self.es if language == "es" else self.en


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

# How wet the topsoil is, as a share of the most this work bears: the shares are the farm's judgement.
GROUND_WORDS: tuple[tuple[float, Said], ...] = (
    (0.60, Said("dry on top", "seco arriba")),
    (0.85, Said("a little damp", "apenas húmedo")),
    (1.00, Said("damp, still fit", "húmedo, aún se puede")),
    (1.15, Said("sticks to the boot", "se pega a la bota")),
)
WETTEST = Said("wet", "mojado")

WEEKDAYS = (
    Said("Monday", "lunes"),
    Said("Tuesday", "martes"),
    Said("Wednesday", "miércoles"),
    Said("Thursday", "jueves"),
    Said("Friday", "viernes"),
    Said("Saturday", "sábado"),
    Said("Sunday", "domingo"),
)
MONTHS = (
    Said("January", "enero"),
    Said("February", "febrero"),
    Said("March", "marzo"),
    Said("April", "abril"),
    Said("May", "mayo"),
    Said("June", "junio"),
    Said("July", "julio"),
    Said("August", "agosto"),
    Said("September", "septiembre"),
    Said("October", "octubre"),
    Said("November", "noviembre"),
    Said("December", "diciembre"),
)


def say(key: str, language: str, **values: object) -> str:
    """Return a phrase in a language, filled in."""
    return PHRASES[key].in_(language).format(**values)


def work_words(operation: Operation, language: str) -> str:
    """Return the verb of an operation."""
    words = WORDS[operation]
    return words.spanish if language == "es" else words.english


def day_words(day: dt.date, language: str) -> str:
    """Return a date with its weekday, as said."""
    weekday, month = WEEKDAYS[day.weekday()].in_(language), MONTHS[day.month - 1].in_(language)
    return f"{weekday} {day.day} de {month}" if language == "es" else f"{weekday}, {month} {day.day}"


def clock_words(instant: dt.time, language: str) -> str:
    """Return a time of day on the twelve-hour clock, in both languages; midnight and noon are 12."""
    half = ("a.m.", "p.m.") if language == "es" else ("am", "pm")
    return f"{instant.hour % 12 or 12}:{instant.minute:02d} {half[instant.hour >= 12]}"


def span_words(minutes: int) -> str:
    """Return a length of work in hours and minutes."""
    hours, rest = divmod(minutes, 60)
    parts = ([f"{hours} h"] if hours else []) + ([f"{rest} min"] if rest or not hours else [])
    return " ".join(parts)


def ground_words(share: float, language: str) -> str:
    """Return the word for topsoil water as a share of the most that the work bears."""
    for below, said in GROUND_WORDS:
        if share < below:
            return said.in_(language)
    return WETTEST.in_(language)
