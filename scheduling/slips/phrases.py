"""The words of a slip, English beside Spanish. Data: a speaker of the crew has the last word and changes it here.

Every sentence has fewer than nine words. `{name}` marks what is filled in.
"""

from functools import cache

from scheduling.slips.words import Said

PHRASES: dict[str, Said] = {
    "order": Said("{number} of {count}", "{number} de {count}"),
    "when": Said("When", "Cuándo"),
    "lacks": Said("Ask first", "Pregunte antes"),
    "from_to": Said("{start} to {end}", "{start} a {end}"),
    "about": Said("about {hours}", "cerca de {hours}"),
    "acres": Said("{acres} acres", "{acres} acres"),
    "day_part": Said("part {number} of {count}", "parte {number} de {count}"),
    "with_water": Said("with water, {depth} in", "con agua, {depth} pulgadas"),
    "strip": Said("the strip under the pivot", "la franja bajo el pivote"),
    "boss_says": Said("Boss says", "Dice el jefe"),
    "fit": Said("fit to work", "sí se puede"),
    "after": Said("not before {hour}", "no antes de: {hour}"),
    "not_today": Said("not today. Ask before you go.", "hoy no. Pregunte antes de ir."),
    "shut": Said("Shut", "No se puede"),
    "chance": Said("Chance it stays fit", "Probabilidad de que se pueda"),
    "chance_of_10": Said("{tenths} in 10", "{tenths} de 10"),
    "entrance": Said("Way in", "Entrada"),
    "way": Said("Way there", "Camino"),
    "way_from": Said(
        "{minutes} min from {place}, about {miles} miles", "{minutes} min desde {place}, unas {miles} millas"
    ),
    "way_near": Said("{minutes} min from {place}", "{minutes} min desde {place}"),
    "fetch": Said("Fetch first", "Recoja antes"),
    "fetch_at": Said("{tool} at {place}", "{tool} en {place}"),
    "leave_by": Said("Leave by", "Salga a más tardar"),
    "leave_by_says": Said("{leave}, to be there by {start}", "{leave}; hora de inicio: {start}"),
    "late_there": Said("Late", "Tarde"),
    "late_there_says": Said("you are not there before {hour}", "llegada: {hour} o después"),
    "leaves_early": Said("must leave by {leave}", "debe salir a más tardar: {leave}"),
    "comes_late": Said("not there before {hour}", "llegada: {hour} o después"),
    "hitch": Said("Hitching up takes {minutes} min of it.", "Enganchar toma {minutes} min de eso."),
    "way_none": Said("you are already there", "ya está ahí"),
    "yard": Said("the yard", "el patio"),
    "with": Said("With", "Con"),
    "outfit": Said("{machine} with {implement}", "{machine} con {implement}"),
    "on_foot": Said("no machine", "sin máquina"),
    "ground": Said("Ground", "Suelo"),
    "ground_value": Said(
        "{word}, {value} (must be under {limit})", "{word}, {value} (debe ser menos de {limit})"
    ),
    "moist": Said("moist", "húmedo"),
    "ground_unknown": Said("not known. Look before you work.", "no se sabe. Mire antes de trabajar."),
    "soil_temp": Said("Soil at 8 am", "Suelo a las 8 a.m."),
    "give_or_take": Said("{temp}, give or take {band}", "{temp}, más o menos {band}"),
    "effort": Said("Pace", "Ritmo"),
    "rate": Said("{acres} acres an hour", "{acres} acres por hora"),
    "fuel": Said("about {gallons} gallons of fuel", "cerca de {gallons} galones de combustible"),
    "speed_mph": Said("Speed", "Velocidad"),
    "depth_in": Said("Depth stop", "Tope de profundidad"),
    "gang_angle_deg": Said("Gang angle", "Ángulo de los discos"),
    "level": Said("Level", "Nivel"),
    "level_level": Said("level", "parejo"),
    "level_front_low": Said("front low", "bajo de frente"),
    "level_back_low": Said("back low", "bajo de atrás"),
    "level_says": Said("level front to back", "parejo de frente a atrás"),
    "speed_mph_unit": Said("mph", "mph"),
    "depth_in_unit": Said("in", "pulgadas"),
    "gang_angle_deg_unit": Said("degrees", "grados"),
    "range": Said("{low} to {high} {unit}", "{low} a {high} {unit}"),
    "one_value": Said("{low} {unit}", "{low} {unit}"),
    "look_behind": Said("After the first round", "Después de la primera vuelta"),
    "look_behind_says": Said(
        "Stop and look behind. Ridges or dips? Change one thing only.",
        "Pare y mire atrás. ¿Bordos o zanjas? Cambie una sola cosa.",
    ),
    "last_time": Said("Last time here", "La última vez aquí"),
    "last_time_set": Said("{day}: {settings}", "{day}: {settings}"),
    "stay_out": Said("Stay out until", "No entre hasta"),
    "stay_out_says": Said("{until}, sprayed: {products}.", "{until}, se fumigó {products}."),
    "nobody_in": Said("Nobody goes in until", "Nadie entra hasta"),
    "label_decides": Said("{until}, the label decides.", "{until}, la etiqueta manda."),
    "emergency": Said("Emergency", "Emergencia"),
    "you_are_at": Said("You are at", "Usted está en"),
    "place": Said("Place", "Lugar"),
    "boss": Said("Boss", "Jefe"),
    "the_boss": Said("the boss", "su jefe"),
}


def say(key: str, language: str, **values: object) -> str:
    """Return a phrase in a language, filled in."""
    return PHRASES[key].in_(language).format(**values) if values else _as_it_stands(key, language)


@cache
def _as_it_stands(key: str, language: str) -> str:
    return PHRASES[key].in_(language).format()
