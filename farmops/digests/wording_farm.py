"""The words of what is mailed to managers and bookkeepers, English beside Spanish. Data, as in `wording`."""

from scheduling.slips.words import Said

FARM_PHRASES: dict[str, Said] = {
    "for_manager": Said("For {name}, {farm}.", "Para {name}, {farm}."),
    "see_farm": Said("Open the farm", "Abra la granja"),
    "see_farm_says": Said("Sign in with your name.", "Entre con su nombre."),
    "count_out_one": Said("1 hand out", "1 trabajador sale"),
    "count_out": Said("{count} hands out", "{count} trabajadores salen"),
    "count_shut_one": Said("1 field shut", "1 campo cerrado"),
    "count_shut": Said("{count} fields shut", "{count} campos cerrados"),
    "count_care_one": Said("1 service due", "1 mantenimiento pendiente"),
    "count_care": Said("{count} services due", "{count} mantenimientos pendientes"),
    "nobody_out": Said("Nobody is out today", "Hoy no sale nadie"),
    "who_goes": Said("Who goes where", "Quién va a dónde"),
    "out_today": Said("Not there today", "Hoy no están"),
    "no_work_for": Said("No work today", "Sin trabajo hoy"),
    "no_plan": Said("No plan was sent for today.", "No se mandó un plan para hoy."),
    "on_paper": Said("Print for", "Imprima para"),
    "on_paper_why": Said("No mail goes to them.", "No les llega correo."),
    "what_is_shut": Said("What is shut, and why", "Qué está cerrado, y por qué"),
    "shut_all_day": Said("shut all day", "cerrado todo el día"),
    "shut_from_to": Said("shut {start} to {end}", "cerrado de {start} a {end}"),
    "nothing_shut": Said("Nothing is shut today.", "Hoy no hay nada cerrado."),
    "ground_unknown": Said(
        "No weather is known, so nobody can say.", "No hay datos del tiempo para decirlo."
    ),
    "care_ahead": Said("Service due", "Mantenimiento"),
    "care_now": Said("due now", "ya toca"),
    "care_about": Said("due about {day}", "toca cerca del {day}"),
    "care_planned": Said("planned {moment}", "en el plan: {moment}"),
    "no_care": Said("Nothing is due this week.", "Esta semana no toca nada."),
    "parked": Said("Reports that wait for you", "Reportes que esperan por usted"),
    "no_parked": Said("No report waits.", "No espera ningún reporte."),
    "postings": Said("Costs that wait", "Costos que esperan"),
    "no_postings": Said("No cost waits.", "No espera ningún costo."),
    "and_more": Said("and {count} more", "y {count} más"),
    "weather_ahead": Said("Weather ahead", "El tiempo que viene"),
    "day_temps": Said("{low} to {high}", "{low} a {high}"),
    "day_rain": Said("rain {tenths} in 10", "lluvia {tenths} de 10"),
    "day_rain_amount": Said("{amount} if it rains", "{amount} si llueve"),
    "no_weather": Said("No weather is known.", "No hay datos del tiempo."),
    "weather_known": Said("As known {day}.", "Según lo sabido el {day}."),
    "mail_trouble": Said("Trouble with the mail", "Problemas con el correo"),
    "trouble_skipped_one": Said("1 mail came too late", "1 correo llegó tarde"),
    "trouble_skipped": Said("{count} mails came too late", "{count} correos llegaron tarde"),
    "trouble_skipped_do": Said("They were not sent. Call or print.", "No se mandaron. Llame o imprima."),
    "trouble_bounced": Said("Mail comes back", "El correo regresa"),
    "trouble_bounced_do": Said(
        "Nothing more is sent there. Fix the address.", "Ya no se manda nada ahí. Corrija la dirección."
    ),
    "trouble_dead": Said("A mail could not be sent", "Un correo no se pudo mandar"),
    "trouble_dead_do": Said("Fix the address, then try again.", "Corrija la dirección y mande otra vez."),
    "trouble_clock": Said("The clock is wrong", "El reloj está mal"),
    "trouble_clock_do": Said("No mail is made until it is right.", "No se hace correo hasta que esté bien."),
    "trouble_halted": Said("The mail server says no", "El servidor de correo no acepta"),
    "trouble_halted_do": Said(
        "No mail goes out. Check the password.", "No sale correo. Revise la contraseña."
    ),
    "undelivered_one": Said("1 mail did not go out", "1 correo no salió"),
    "undelivered": Said("{count} mails did not go out", "{count} correos no salieron"),
    "trouble_headline": Said("Some mail did not go out", "Hay correo que no salió"),
}
