"""Checks before going out and cautions for the work, as data.

A caution is short and ends with who has the last word: the machine's manual, the label, local law, licensed people,
the grower. It replaces none of them. The hazards are those of US farm safety teaching: overhead power lines, rollover
and extra riders (29 CFR 1928.51), turning shafts (29 CFR 1928.57), noise (NIOSH 98-126), heat (OSHA's heat campaign),
pesticides and entry after them (the Worker Protection Standard, 40 CFR 170; the label itself has the last word).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from farmops.farms.operations import NO_IMPLEMENT, SPRAYING, TILLAGE, Operation
from scheduling.slips.facts import CallFor
from scheduling.slips.words import Said

PIVOT_VISITS = frozenset({Operation.PIVOT_START, Operation.PIVOT_STOP})
MACHINE_WORK = frozenset(Operation) - NO_IMPLEMENT
ON_FOOT = frozenset({Operation.DEBRIS_WALK})
SOWING = frozenset({Operation.PLANT, Operation.COVER})
GATHERING = frozenset({Operation.COMBINE, Operation.PICK})
FERTILIZING = frozenset({Operation.SPREAD, Operation.SIDEDRESS})
DEEP = frozenset({Operation.RIP_BED, Operation.STRIP_TILL})

# Air temperature from which the heat caution is printed: common practice, the farm may choose a lower one.
HOT_FROM_F = 80.0
# Rain chance from which the lightning caution is printed: farm judgement.
STORMY_FROM = 0.2


class Work(Protocol):
    """One task of a day, as far as its cautions ask."""

    @property
    def operation(self) -> Operation: ...

    @property
    def wide_on_road(self) -> bool: ...


class DayOfWork(Protocol):
    """A hand's day, as far as its cautions ask."""

    @property
    def tasks(self) -> Sequence[Work]: ...

    @property
    def temp_max_f(self) -> float | None: ...

    @property
    def rain_chance(self) -> float | None: ...

    @property
    def emergency_number(self) -> str: ...


@dataclass(frozen=True)
class Check:
    """Something to look at, the operations that call for it, and the key by which a tick is recorded."""

    key: str
    operations: frozenset[Operation]
    says: Said


CHECKS: tuple[Check, ...] = (
    Check(
        "around",
        MACHINE_WORK,
        Said("Walk around machine and implement.", "Dé vuelta a la máquina e implemento."),
    ),
    Check(
        "tires",
        MACHINE_WORK,
        Said("Look at tires, wheel nuts, pins, leaks.", "Mire llantas, tuercas, pernos y fugas."),
    ),
    Check(
        "grease",
        TILLAGE,
        Said("Grease the bearings as the manual says.", "Engrase los baleros según el manual."),
    ),
    Check(
        "label",
        SPRAYING,
        Said("Read the label before you mix.", "Lea la etiqueta antes de mezclar."),
    ),
    Check(
        "gear",
        SPRAYING,
        Said("Wear everything the label asks for.", "Póngase todo lo que pide la etiqueta."),
    ),
    Check(
        "wash",
        SPRAYING,
        Said("Clean water and soap go along.", "Lleve agua limpia y jabón."),
    ),
    Check(
        "extinguisher",
        GATHERING | {Operation.SHRED},
        Said("Charged fire extinguisher on the machine.", "Extintor cargado en la máquina."),
    ),
    Check(
        "hot_parts",
        GATHERING,
        Said("Engine off: clean trash off hot parts.", "Motor apagado: quite basura de lo caliente."),
    ),
    Check(
        "boots",
        ON_FOOT,
        Said("Boots, thick gloves, a bag, flags.", "Botas, guantes gruesos, costal, banderas."),
    ),
    Check(
        "seed",
        frozenset({Operation.PLANT}),
        Said("Check seed, depth and every row unit.", "Revise semilla, profundidad y cada surco."),
    ),
    Check(
        "meter",
        MACHINE_WORK,
        Said("Write down the hour meter.", "Anote lo que marca el horómetro."),
    ),
    Check(
        "pivot_tires",
        PIVOT_VISITS,
        Said("Look at the tires of every tower.", "Mire las llantas de todas las torres."),
    ),
    Check(
        "tracks",
        PIVOT_VISITS,
        Said("Nobody and nothing in the wheel tracks.", "Nadie ni nada en las rodadas."),
    ),
    Check(
        "box_shut",
        PIVOT_VISITS,
        Said("Is the control box door shut?", "¿Está cerrada la caja de control?"),
    ),
    Check(
        "water",
        MACHINE_WORK | PIVOT_VISITS | ON_FOOT,
        Said("Take water and a charged phone.", "Lleve agua y el teléfono cargado."),
    ),
)

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
        "On skin or in eyes? Rinse with water now. Call {emergency}, show the label.",
        "¿En la piel o los ojos? Enjuague con agua ya. Llame al {emergency}, enseñe la etiqueta.",
    ),
    "plugged": Said(
        "Plugged? Engine off, key out, all parts still. Then look. The manual decides.",
        "¿Se atascó? Apague, saque la llave, espere. Luego mire. El manual manda.",
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
        "Never go under a raised implement. Lower it or lock it first. The manual decides.",
        "Nunca se meta bajo un implemento levantado. Bájelo o asegúrelo primero. El manual manda.",
    ),
    "riders": Said(
        "One seat, one person. Belt on where there is a rollover bar. The manual decides.",
        "Un asiento, una persona. Cinturón puesto si hay barra antivuelco. El manual manda.",
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
    "road": Said(
        "Wide load: daylight only on the road. Locks, chains, lights and sign on. State law decides.",
        "Carga ancha: en camino solo de día. Seguros, cadenas, luces y señal. La ley manda.",
    ),
    "seed": Said(
        "Treated seed: gloves on. Wash before you eat. The label decides.",
        "Semilla tratada: use guantes. Lávese antes de comer. La etiqueta manda.",
    ),
    "noise": Said(
        "Loud? Wear ear protection all day. The manual and the safety law decide.",
        "¿Mucho ruido? Use protección todo el día. El manual y la ley mandan.",
    ),
    "lightning": Said(
        "You hear thunder? Leave pivot and open tractor. Wait in a closed truck. Ask the boss.",
        "¿Oye truenos? Deje pivote y tractor abierto. Espere en una troca cerrada. Pregunte antes de volver.",
    ),
    "heat": Said(
        "Heat: water and shade every 20 minutes. New here? Start short. "
        "Dizzy or confused? Call {emergency}. Local heat law decides.",
        "Calor: agua y sombra cada 20 minutos. ¿Es nuevo? Empiece poco a poco. "
        "¿Mareado o confundido? Llame al {emergency}. La ley local manda.",
    ),
}


def checks_for(tasks: Iterable[Work], language: str) -> list[str]:
    """Return what to look at before going out, each thing once."""
    wanted = {task.operation for task in tasks}
    return [check.says.in_(language) for check in CHECKS if check.operations & wanted]


def hazards_of(day: DayOfWork) -> list[str]:
    """Return the hazards of a day's tasks and weather, in the order in which they are printed."""
    done = {task.operation for task in day.tasks}
    called: dict[str, bool] = {
        "heat": bool(day.tasks) and (day.temp_max_f is None or day.temp_max_f >= HOT_FROM_F),
        "lightning": bool(day.tasks) and (day.rain_chance is None or day.rain_chance >= STORMY_FROM),
        "electricity": bool(done & PIVOT_VISITS),
        "starts_alone": bool(done & PIVOT_VISITS),
        "stings": bool(done & PIVOT_VISITS),
        "road": any(task.wide_on_road for task in day.tasks),
        "label": bool(done & SPRAYING),
        "reentry": bool(done & SPRAYING),
        "drift": bool(done & SPRAYING),
        "poison": bool(done & SPRAYING),
        "plugged": bool(done & (GATHERING | {Operation.SHRED})),
        "fire": bool(done & (GATHERING | {Operation.SHRED})),
        "thrown": Operation.SHRED in done,
        "fertilizer": bool(done & FERTILIZING),
        "sharp": bool(done & ON_FOOT),
        "snakes": bool(done & ON_FOOT),
        "overhead": bool(done & MACHINE_WORK),
        "buried": bool(done & DEEP),
        "raised": bool(done & MACHINE_WORK),
        "shafts": bool(done & (MACHINE_WORK | PIVOT_VISITS)),
        "riders": bool(done & MACHINE_WORK),
        "hydraulics": bool(done & MACHINE_WORK),
        "tires": bool(done & (MACHINE_WORK | PIVOT_VISITS)),
        "seed": bool(done & SOWING),
        "noise": bool(done & MACHINE_WORK),
    }
    return [hazard for hazard, is_called in called.items() if is_called]


def cautions_for(day: DayOfWork, language: str) -> list[str]:
    """Return the cautions of a day in a language."""
    return [
        CAUTIONS[hazard].in_(language).format(emergency=day.emergency_number) for hazard in hazards_of(day)
    ]


class Slip(Work, Protocol):
    """One pass of a day with its weather, as far as its cautions ask."""

    @property
    def temp_max_f(self) -> float | None: ...

    @property
    def rain_chance(self) -> float | None: ...

    @property
    def call(self) -> CallFor: ...


@dataclass(frozen=True)
class _Day:
    tasks: Sequence[Work]
    temp_max_f: float | None
    rain_chance: float | None
    emergency_number: str


def cautions_of(slips: Sequence[Slip], language: str) -> list[str]:
    """Return the cautions of one or more slips of a day, each once, in a language."""
    if not slips:
        return []
    first = slips[0]
    day = _Day(slips, first.temp_max_f, first.rain_chance, first.call.emergency_number)
    return cautions_for(day, language)
