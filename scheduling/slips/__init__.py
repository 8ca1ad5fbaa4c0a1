"""Job slips: what a hand gets for each pass, as plain values that are said in English and in Spanish. Pure: no Django."""
