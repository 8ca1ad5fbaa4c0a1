"""Spanish as it is written on farms of the United States: numbers as on the invoices, with a decimal point."""

DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = ","
DATE_FORMAT = r"j \d\e F \d\e Y"
SHORT_DATE_FORMAT = "j M Y"
