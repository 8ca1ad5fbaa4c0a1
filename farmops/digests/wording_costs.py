"""The words of the weekly cost note, English beside Spanish. Data, as in `wording`."""

from scheduling.slips.words import Said

COST_PHRASES: dict[str, Said] = {
    "booked": Said("{amount} booked last week", "{amount} en asientos la semana pasada"),
    "week_span": Said("{first} to {last}", "{first} a {last}"),
    "total": Said("All costs", "Todos los costos"),
    "week_before": Said("Week before: {amount}.", "Semana anterior: {amount}."),
    "by_category": Said("By kind of cost", "Por tipo de costo"),
    "by_place": Said("By field", "Por campo"),
    "of_machines": Said("Machines, less what fields bear", "Máquinas, menos lo que llevan los campos"),
    "of_pumps": Said("Pumps, less what fields bear", "Bombas, menos lo que llevan los campos"),
    "of_farm": Said("The farm as a whole", "La granja entera"),
    "no_category": Said("Without a kind", "Sin tipo"),
    "came_late": Said("Came late", "Llegó tarde"),
    "came_late_one": Said("1 entry for earlier weeks: {amount}", "1 asiento de semanas anteriores: {amount}"),
    "came_late_more": Said(
        "{count} entries for earlier weeks: {amount}", "{count} asientos de semanas anteriores: {amount}"
    ),
    "unpaid": Said("Bills to pay", "Facturas por pagar"),
    "unpaid_one": Said("1 bill, {amount}", "1 factura, {amount}"),
    "unpaid_more": Said("{count} bills, {amount}", "{count} facturas, {amount}"),
    "unpaid_oldest": Said("Oldest: {payee}, {day}.", "La más vieja: {payee}, {day}."),
    "no_unpaid": Said("Every bill is paid.", "Todas las facturas están pagadas."),
    "nothing_booked": Said("Nothing was booked.", "No hay asientos."),
}
