"""The words of what stands in the calendars of managers and bookkeepers, English beside Spanish. Data, as in `wording`."""

from scheduling.slips.words import Said

CALENDAR_PHRASES: dict[str, Said] = {
    "calendar_week": Said("Look at the week's books", "Vea las cuentas de la semana"),
    "calendar_unpaid_one": Said("1 bill is to be paid.", "Hay 1 factura por pagar."),
    "calendar_unpaid": Said("{count} bills are to be paid.", "Hay {count} facturas por pagar."),
    "calendar_waits_one": Said("1 cost waits to be booked.", "1 costo espera su asiento."),
    "calendar_waits": Said("{count} costs wait to be booked.", "{count} costos esperan su asiento."),
    "calendar_close": Said("{month} can be closed", "Ya se puede cerrar {month}"),
    "calendar_forms": Said("1099 forms are due this month", "Este mes se entregan los 1099"),
    "calendar_forms_ask": Said(
        "The last day is January 31. Ask your tax preparer.",
        "El último día es el 31 de enero. Pregunte a su contador.",
    ),
}
