"""The words of the hand's page, English and Spanish side by side; short, since they are read in the yard."""

from farmops.core.problems import DomainError
from farmops.pages import words

PHRASES: dict[str, dict[str, str]] = {
    "title": {"en": "My day", "es": "Mi día"},
    "first": {
        "en": "First: {work} on {field}, {begins} to {ends}.",
        "es": "Primero: {work} en {field}, de {begins} a {ends}.",
    },
    "part": {"en": "part {number} of {count}", "es": "parte {number} de {count}"},
    "with_water": {"en": "with water, {depth} in", "es": "con agua, {depth} pulgadas"},
    "strip": {"en": "the strip under the pivot", "es": "la franja bajo el pivote"},
    "nothing": {"en": "No work is planned for you that day.", "es": "No hay trabajo para usted ese día."},
    "to": {"en": "to", "es": "a"},
    "with": {"en": "With {outfit}.", "es": "Con {outfit}."},
    "hitch": {"en": "{machine} and {implement}", "es": "{machine} y {implement}"},
    "way_in": {"en": "Way in", "es": "Entrada"},
    "road": {"en": "Road address", "es": "Dirección"},
    "place": {"en": "Place", "es": "Lugar"},
    "acres": {"en": "acres", "es": "acres"},
    "before": {"en": "Before going out", "es": "Antes de salir"},
    "cautions": {"en": "Take care", "es": "Cuidado"},
    "report": {"en": "Report", "es": "Reporte"},
    "hours": {"en": "Your hours", "es": "Sus horas"},
    "machine_hours": {"en": "Hours of the engine", "es": "Horas del motor"},
    "meter": {"en": "Hour meter now", "es": "Lo que marca el horómetro"},
    "done_ac": {"en": "Acres done", "es": "Acres hechos"},
    "finished": {"en": "All done", "es": "Todo terminado"},
    "not_done": {"en": "Not done. Why?", "es": "No se hizo. ¿Por qué?"},
    "too_wet": {"en": "Too wet for this work", "es": "Muy mojado para este trabajo"},
    "no": {"en": "no", "es": "no"},
    "all_of_it": {"en": "all of it", "es": "todo"},
    "puncture": {"en": "Flat tire here", "es": "Ponchadura aquí"},
    "met": {"en": "What it hit (bone, wire …)", "es": "Con qué (hueso, alambre …)"},
    "wheel": {"en": "Which tire", "es": "Qué llanta"},
    "note": {"en": "Anything else", "es": "Algo más"},
    "send": {"en": "Send report", "es": "Mandar reporte"},
    "sent": {"en": "Report kept. Thank you.", "es": "Reporte guardado. Gracias."},
    "again": {"en": "This report was already kept.", "es": "Este reporte ya estaba guardado."},
    "reported": {"en": "Reported", "es": "Reportado"},
    "first_service": {
        "en": "First: {what}, {tool}, {begins} to {ends}.",
        "es": "Primero: {what}, {tool}, de {begins} a {ends}.",
    },
    "at_yard": {"en": "At the yard.", "es": "En el patio."},
    "where_it_stands": {"en": "Where it stands.", "es": "Donde está parado."},
    "service_done": {"en": "It is done", "es": "Ya está hecho"},
    "minutes": {"en": "Minutes it took", "es": "Minutos que tomó"},
    "service_kept": {
        "en": "The service is kept. Thank you.",
        "es": "El mantenimiento quedó guardado. Gracias.",
    },
    "emergency": {"en": "Emergency", "es": "Emergencia"},
    "boss": {"en": "Boss", "es": "Jefe"},
    "other_days": {"en": "Other days", "es": "Otros días"},
    "sign_out": {"en": "Sign out", "es": "Salir"},
    "skip": {"en": "Skip to the work", "es": "Ir al trabajo"},
    "what_number": {"en": "is not a number", "es": "no es un número"},
    "below_zero": {"en": "cannot be below zero", "es": "no puede ser menos de cero"},
    "manual": {
        "en": "The machine's manual and the boss have the last word.",
        "es": "El manual de la máquina y el jefe mandan.",
    },
}

# A refusal comes with an English sentence; where its code stands here, the hand reads it in Spanish.
REFUSED_ES: dict[str, str] = {
    "over_24_hours": "El día tiene 24 horas. Con este reporte serían más. Revise las horas.",
    "acres_over": "Son más acres de los que tiene el campo. Revise los acres.",
    "meter_runs_backwards": "El horómetro no puede ir para atrás. Mírelo otra vez.",
    "meter_runs_too_fast": "El horómetro no puede subir tanto en tan poco tiempo. Mírelo otra vez.",
    "client_id_reused": "Este reporte ya se mandó con otros datos. Abra la página otra vez y mande uno nuevo.",
    "bad_record": "Así no se puede guardar: falta algo o un número no puede ser. Revise horas y acres.",
}

CHECKS: dict[str, list[dict[str, str]]] = {
    "field": [
        {"en": "Tires: look at each one, cold.", "es": "Llantas: mire cada una, en frío."},
        {"en": "Bearings greased as the book says.", "es": "Baleros engrasados como dice el manual."},
        {"en": "Pins, locks, lights and the slow sign.", "es": "Pernos, seguros, luces y triángulo."},
        {"en": "Nobody near when you start.", "es": "Nadie cerca al arrancar."},
    ],
    "pivot": [
        {"en": "Tires of every tower, from the ground.", "es": "Llantas de cada torre, desde el suelo."},
        {"en": "Nobody and nothing in the wheel tracks.", "es": "Nadie ni nada en las rodadas."},
        {"en": "Control box door shut.", "es": "Puerta de la caja de control cerrada."},
    ],
    "spray": [
        {"en": "Label read, gear on as it says.", "es": "Etiqueta leída, equipo puesto como dice."},
        {"en": "Clean water and soap go along.", "es": "Agua limpia y jabón."},
    ],
    "harvest": [
        {"en": "Charged fire extinguisher.", "es": "Extintor cargado."},
    ],
    "service": [
        {
            "en": "The manual, the right oil, filter or grease.",
            "es": "El manual, y el aceite, filtro o grasa correctos.",
        },
        {
            "en": "Gloves, glasses, something to catch old oil.",
            "es": "Guantes, lentes y algo para juntar el aceite viejo.",
        },
    ],
    "foot": [
        {"en": "Boots, thick gloves, a bag, flags.", "es": "Botas, guantes gruesos, costal, banderas."},
        {"en": "Water and a charged phone.", "es": "Agua y teléfono cargado."},
    ],
}

CAUTIONS: dict[str, list[dict[str, str]]] = {
    "field": [
        {
            "en": "Block a raised implement before you reach under it. Engine off, key out.",
            "es": "Calce la herramienta levantada antes de meter la mano. Motor apagado, sin llave.",
        },
        {"en": "Stay off turning shafts. Shields on.", "es": "Lejos de las flechas. Guardas puestas."},
        {
            "en": "A flat tire is for the tire man. Stand to the side when air goes in.",
            "es": "La ponchadura es del llantero. Párese a un lado al inflar.",
        },
        {"en": "No riders. Belt on with a roll bar.", "es": "Nadie de pasajero. Cinturón con barra."},
        {"en": "Loud? Muffs on. Hot? Water and shade.", "es": "¿Ruido? Orejeras. ¿Calor? Agua y sombra."},
    ],
    "pivot": [
        {
            "en": "480 volts: keep the box shut. If a tower will not walk, stop and call.",
            "es": "480 voltios: no abra la caja. Si algo no camina, pare y llame.",
        },
        {"en": "It can start by itself. Stay clear.", "es": "Puede arrancar solo. No se acerque."},
        {"en": "First thunder: get away from it.", "es": "Primer trueno: aléjese."},
    ],
    "spray": [
        {"en": "The label wins. Stay out until it says.", "es": "La etiqueta manda. No entre antes."},
        {
            "en": "Only trained, licensed people spray. Wind to people or water? Stop.",
            "es": "Fumiga solo gente capacitada y con licencia. ¿Viento hacia gente o agua? Pare.",
        },
        {
            "en": "On skin or in eyes? Rinse now, show the label, call for help.",
            "es": "¿En piel u ojos? Enjuague ya, enseñe la etiqueta, pida ayuda.",
        },
    ],
    "harvest": [
        {
            "en": "Plugged? Engine off, key out, all parts still. The manual decides.",
            "es": "¿Se atascó? Apague, saque la llave, espere. El manual manda.",
        },
        {"en": "Smoke? Get out and call.", "es": "¿Humo? Baje y llame."},
    ],
    "service": [
        {
            "en": "Engine off, key out, parked flat, wheels blocked, all parts still and cool.",
            "es": "Motor apagado, sin llave, en plano, ruedas calzadas, todo quieto y frío.",
        },
        {
            "en": "Never under a raised part that is not blocked. Oil under pressure cuts: no hands near a leak.",
            "es": "Nunca debajo de algo levantado sin calzar. El aceite a presión corta: no acerque la mano a una fuga.",
        },
        {
            "en": "The maker's manual says how; what is beyond it is for the mechanic.",
            "es": "El manual del fabricante dice cómo; lo demás es del mecánico.",
        },
    ],
    "foot": [
        {
            "en": "Look where you step: snakes, holes, wire.",
            "es": "Mire dónde pisa: víboras, hoyos, alambre.",
        },
        {"en": "Too heavy? Flag it and tell the boss.", "es": "¿Muy pesado? Ponga bandera y avise."},
    ],
}


def phrases(language: str) -> dict[str, str]:
    """Return every phrase in one language."""
    return {key: said[language] for key, said in PHRASES.items()}


def refused(error: DomainError, language: str) -> str:
    """Return why a report was refused: in the hand's language where it is known there, then as it was raised."""
    says = words.dates_said(error.says)
    spanish = REFUSED_ES.get(error.code) if language == "es" else None
    return f"{spanish} ({says})" if spanish else says


def said_list(rows: list[dict[str, str]], language: str) -> list[str]:
    """Return a list of sentences in one language."""
    return [row[language] for row in rows]
