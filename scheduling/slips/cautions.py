"""Cautions for the work, as data.

A caution is short and ends with who has the last word: the machine's manual, the label, local law, licensed people, the
grower. It replaces none of them. The hazards are those of US farm safety teaching: overhead power lines, rollover and extra
riders (29 CFR 1928.51), turning shafts (29 CFR 1928.57), noise (NIOSH 98-126), heat (OSHA's heat campaign and its levels of
the heat index), pesticides and entry after them (the Worker Protection Standard, 40 CFR 170; the label itself has the last
word), lightning (the US weather service: inside a closed vehicle at the first thunder).
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType
from typing import Protocol

from farmops.farms.operations import SPRAYING, Operation
from scheduling.slips.facts import CallFor, FieldPlace, HeatToday, NewHand, StayOut
from scheduling.slips.kinds import DEEP, FERTILIZING, GATHERING, MACHINE_WORK, ON_FOOT, PIVOT_VISITS, SOWING
from scheduling.slips.warmth import step_words, temp_words
from scheduling.slips.words import Said, moment_words

HOT_FROM_F = 80.0
"""Air temperature from which the heat caution is printed: common practice, the farm may choose a lower one."""
STORMY_FROM = 0.2
"""Rain chance from which the lightning caution is printed: farm judgement."""

SERVICE_SAFE = Said(
    "Engine off, key out. Block the wheels. Let it cool. The maker's manual says how.",
    "Motor apagado, sin llave. Calce las ruedas. Deje enfriar. El manual del fabricante dice cómo.",
)
NOT_SAFE = Said("Not safe? Stop and call {boss}.", "¿No es seguro? Pare y llame a {boss}.")
CAUTIONS: dict[str, Said] = {
    "electricity": Said(
        "Deadly voltage: never open the box. Call a licensed electrician. The manual decides.",
        "Voltaje mortal: nunca abra la caja. Llame a un electricista con licencia. El manual manda.",
    ),
    "starts_alone": Said(
        "A pivot can start by itself. Lock the main switch before you touch it. The manual decides.",
        "El pivote puede arrancar solo. Ponga candado al interruptor antes de tocar. El manual manda.",
    ),
    "stings": Said(
        "Wasps and ants live in pivot boxes. Stung and short of breath? Call {emergency}.",
        "Hay avispas y hormigas en las cajas. ¿Picado y sin aire? Llame al {emergency}.",
    ),
    "label": Said(
        "The label wins. Only trained, licensed people spray.",
        "La etiqueta manda. Fumiga solo gente capacitada y con licencia.",
    ),
    "reentry": Said(
        "Nobody goes in until the label allows. Several products: the longest time counts.",
        "Nadie entra hasta que la etiqueta lo permita. Varios productos: cuenta el tiempo más largo.",
    ),
    "drift": Said(
        "Wind to people, houses, water? No wind at all? Stop. The label decides.",
        "¿Viento hacia gente, casas o agua? ¿Nada de viento? Pare. La etiqueta manda.",
    ),
    "poison": Said(
        "Never in a drink bottle. On skin or in eyes? Rinse with water now. Call {emergency}, show the label.",
        "Nunca en botella de bebida. ¿En la piel o los ojos? Enjuague con agua ya. "
        "Llame al {emergency}, enseñe la etiqueta.",
    ),
    "plugged": Said(
        "Plugged? Engine off, key out, all parts still. Then clear it. The manual decides.",
        "¿Se tapó? Apague, saque la llave, espere. Luego límpielo. El manual manda.",
    ),
    "fire": Said(
        "Smoke? Stop, get out, stay away. Call {emergency}.",
        "¿Humo? Pare, baje, aléjese. Llame al {emergency}.",
    ),
    "thrown": Said(
        "It throws stones and wire. Nobody near. Guards on. The manual decides.",
        "Avienta piedras y alambre. Nadie cerca. Guardas puestas. El manual manda.",
    ),
    "fertilizer": Said(
        "Lime and fertilizer hurt eyes and skin. Goggles and gloves. The label decides.",
        "Cal y fertilizante dañan ojos y piel. Lentes y guantes. La etiqueta manda.",
    ),
    "sharp": Said(
        "Wire, bone and metal cut. Gloves on. Too heavy? Flag it, tell the boss.",
        "Alambre, hueso y fierro cortan. Use guantes. ¿Muy pesado? Ponga bandera. Pregunte primero.",
    ),
    "snakes": Said(
        "Look where you step: snakes, holes, ants. Bitten? Call {emergency}.",
        "Mire dónde pisa: víboras, hoyos, hormigas. ¿Lo mordió? Llame al {emergency}.",
    ),
    "raised": Said(
        "Never go under a raised implement. Lower it or block it first. The manual decides.",
        "Nunca se meta bajo un implemento levantado. Bájelo o cálcelo primero. El manual manda.",
    ),
    "riders": Said(
        "No riders: one seat, one person. Belt on where there is a rollover bar. The manual decides.",
        "Nadie de pasajero: un asiento, una persona. Cinturón puesto si hay barra antivuelco. El manual manda.",
    ),
    "shafts": Said(
        "Turning shafts pull you in. Engine off, key out, wait. Guards stay on. The manual decides.",
        "La flecha que gira atrapa. Apague, saque la llave, espere. Guardas puestas. El manual manda.",
    ),
    "hydraulics": Said(
        "Look for oil leaks with cardboard. Never use your hand. Oil under skin: hospital now.",
        "Busque fugas con un cartón. Nunca con la mano. Aceite bajo la piel: al hospital ya.",
    ),
    "tires": Said(
        "Air in a tire: stand to the side. Ran flat or off the rim? Leave it to the tire man.",
        "Al inflar, párese a un lado. ¿Rodó sin aire o se salió? Déjela al llantero.",
    ),
    "buried": Said(
        "Wires, pipes or gas may be buried. Not marked? Do not rip. Call 811 and the boss first.",
        "Puede haber cables, tubos o gas enterrados. ¿Sin marcar? No subsuele. Llame antes al 811.",
    ),
    "overhead": Said(
        "Look up for power lines. Keep far away. Touched one? Stay in the cab, call {emergency}.",
        "Mire arriba: cables de luz. Quédese lejos. ¿Tocó uno? No baje, llame al {emergency}.",
    ),
    "road_wide": Said(
        "Wide load: daylight only on the road. Wings locked. Pins, chains, lights, sign on. State law decides.",
        "Carga ancha: en camino solo de día. Alas con seguro. Pernos, cadenas, luces, señal. La ley manda.",
    ),
    "road": Said(
        "On the road: pins, chains, lights, sign on. State law decides.",
        "En el camino: pernos, cadenas, luces, señal. La ley manda.",
    ),
    "seed": Said(
        "Treated seed: gloves on. Wash before you eat. The label decides.",
        "Semilla tratada: use guantes. Lávese antes de comer. La etiqueta manda.",
    ),
    "noise": Said(
        "Must you shout at arm's length? Ear muffs on, all day. The manual and the law decide.",
        "¿Hay que gritar de cerca? Use orejeras todo el día. El manual y la ley mandan.",
    ),
    "lightning": Said(
        "First thunder? Leave pivot, open tractor, open ground. Wait in a closed truck. Ask the boss.",
        "¿Primer trueno? Deje pivote, tractor abierto y campo. Espere en una troca cerrada. Pregunte antes de volver.",
    ),
    "heat": Said(
        "Heat: water and shade every 20 minutes. New here? Start short. "
        "Dizzy or confused? Call {emergency}. Local heat law decides.",
        "Calor: agua y sombra cada 20 minutos. ¿Es nuevo? Empiece poco a poco. "
        "¿Mareado o confundido? Llame al {emergency}. La ley local manda.",
    ),
}

STAY_OUT = Said(
    "Stay out of {field} until {until}. The label decides.",
    "Hasta {until}, no entre a {field}. La etiqueta manda.",
)
HEAT_FELT = Said(
    "It may feel like {index}: {level} heat. Full sun adds up to {sun}. Ask the boss for breaks.",
    "Puede sentirse como {index}: calor {level}. El sol suma hasta {sun}. Pregunte por descansos.",
)
NEW_IN_HEAT = Said(
    "Day {day} here: in the heat, work only {most} % of the day. Ask the boss who takes over.",
    "Día {day} aquí: con calor, trabaje solo {most} % del día. Pregunte al jefe quién sigue.",
)
SUN_ADDS_F = 15
"""What full sun adds to the heat index at the most (National Weather Service, on its page of the heat index; from memory)."""
HEAT_WORDS: Mapping[str, Said] = MappingProxyType(
    {
        "moderate": Said("moderate", "moderado"),
        "high": Said("high", "alto"),
        "very_high": Said("very high", "muy alto"),
    }
)
"""The levels of the heat index that are told; a lower one has the heat caution alone."""


class Slip(Protocol):
    """One pass of a hand's day, as far as its cautions ask."""

    @property
    def operation(self) -> Operation: ...

    @property
    def wide_on_road(self) -> bool: ...

    @property
    def temp_max_f(self) -> float | None: ...

    @property
    def rain_chance(self) -> float | None: ...

    @property
    def heat(self) -> HeatToday | None: ...

    @property
    def new_hand(self) -> NewHand | None: ...

    @property
    def stay_out(self) -> StayOut | None: ...

    @property
    def field(self) -> FieldPlace: ...

    @property
    def call(self) -> CallFor: ...


def hazards_of(slips: Sequence[Slip]) -> list[str]:
    """Return the hazards of a day's slips and weather, in the order in which they are printed."""
    return list(
        _hazards(
            frozenset(slip.operation for slip in slips),
            is_wide=any(slip.wide_on_road for slip in slips),
            is_hot=any(_is_hot(slip) for slip in slips),
            is_stormy=any(slip.rain_chance is None or slip.rain_chance >= STORMY_FROM for slip in slips),
        )
    )


@lru_cache(maxsize=1024)
def _hazards(done: frozenset[Operation], *, is_wide: bool, is_hot: bool, is_stormy: bool) -> tuple[str, ...]:
    """Return the hazards of some operations; many hands' days are alike in them."""
    is_driven = bool(done & MACHINE_WORK)
    called: dict[str, bool] = {
        "heat": is_hot,
        "lightning": is_stormy,
        "electricity": bool(done & PIVOT_VISITS),
        "starts_alone": bool(done & PIVOT_VISITS),
        "stings": bool(done & PIVOT_VISITS),
        "road_wide": is_wide,
        "road": is_driven and not is_wide,
        "label": bool(done & SPRAYING),
        "reentry": bool(done & SPRAYING),
        "drift": bool(done & SPRAYING),
        "poison": bool(done & SPRAYING),
        "plugged": is_driven,
        "fire": bool(done & (GATHERING | {Operation.SHRED})),
        "thrown": Operation.SHRED in done,
        "fertilizer": bool(done & FERTILIZING),
        "sharp": bool(done & ON_FOOT),
        "snakes": bool(done & ON_FOOT),
        "overhead": is_driven,
        "buried": bool(done & DEEP),
        "raised": is_driven,
        "shafts": bool(done & (MACHINE_WORK | PIVOT_VISITS)),
        "riders": is_driven,
        "hydraulics": is_driven,
        "tires": bool(done & (MACHINE_WORK | PIVOT_VISITS)),
        "seed": bool(done & SOWING),
        "noise": is_driven,
    }
    return tuple(hazard for hazard, is_called in called.items() if is_called)


def cautions_of(slips: Sequence[Slip], language: str, *, is_metric: bool = False) -> list[str]:
    """Return the cautions of one or more slips of a hand's day, each once, in a language and its reader's units."""
    if not slips:
        return []
    emergency = slips[0].call.emergency_number
    found = [*_kept_out(slips, language), *_heat(slips, language, is_metric)]
    found += [CAUTIONS[hazard].in_(language).format(emergency=emergency) for hazard in hazards_of(slips)]
    return list(dict.fromkeys(found))


def cautions_of_service(*, of_pivot: bool, emergency: str, language: str) -> list[str]:
    """Return the cautions for who serves a machine, an implement or a pivot."""
    hazards = (
        ("electricity", "starts_alone", "stings", "shafts")
        if of_pivot
        else ("raised", "shafts", "hydraulics")
    )
    found = [SERVICE_SAFE, *(CAUTIONS[hazard] for hazard in hazards)]
    return [one.in_(language).format(emergency=emergency) for one in found]


def right_to_stop(*, boss: str, language: str) -> str:
    """Return what ends the cautions of every day with work."""
    return NOT_SAFE.in_(language).format(boss=boss)


def _is_hot(slip: Slip) -> bool:
    return slip.heat is not None or slip.temp_max_f is None or slip.temp_max_f >= HOT_FROM_F


def _kept_out(slips: Iterable[Slip], language: str) -> Iterable[str]:
    for slip in slips:
        if slip.stay_out is not None:
            until = moment_words(slip.stay_out.until_at, language)
            yield STAY_OUT.in_(language).format(field=slip.field.name, until=until)


def _heat(slips: Sequence[Slip], language: str, is_metric: bool) -> Iterable[str]:
    """Yield how hot it may feel at the hottest, and what a new hand may take of it."""
    felt = [slip.heat for slip in slips if slip.heat is not None and slip.heat.level in HEAT_WORDS]
    if felt:
        hottest = max(felt, key=lambda one: one.heat_index_f)
        level = HEAT_WORDS[hottest.level].in_(language)
        index, sun = (
            said(degrees, is_metric=is_metric)
            for said, degrees in ((temp_words, hottest.heat_index_f), (step_words, SUN_ADDS_F))
        )
        yield HEAT_FELT.in_(language).format(index=index, level=level, sun=sun)
    new = slips[0].new_hand
    if new is not None and any(_is_hot(slip) for slip in slips):
        yield NEW_IN_HEAT.in_(language).format(day=new.day_no, most=new.most_share_pct)
