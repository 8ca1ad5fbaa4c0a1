"""The words of a change for tomorrow, English beside Spanish. Data, as in `wording`."""

from scheduling.slips.words import Said

CHANGE_PHRASES: dict[str, Said] = {
    "changed": Said("Your work for tomorrow has changed", "Cambió su trabajo de mañana"),
    "free_now": Said("You have no work tomorrow now", "Ya no tiene trabajo mañana"),
    "morning_tells": Said("Your morning sheet tells the rest.", "La hoja de la mañana dice lo demás."),
    "last_word": Said(
        "This is the last note tonight. If it changes again, call {boss}.",
        "Es el último aviso de hoy. Si vuelve a cambiar, llame a {boss}.",
    ),
    "tomorrow": Said("Tomorrow", "Mañana"),
    "not_tomorrow": Said("Not any more", "Ya no"),
    "is_new": Said("New.", "Nuevo."),
    "as_before": Said("As before.", "Como antes."),
    "was_at": Said("It was {hours}", "Antes: {hours}"),
    "was_with": Said("Before: {outfit}", "Antes: {outfit}"),
    "with_both": Said("{machine} with {implement}", "{machine} con {implement}"),
}
