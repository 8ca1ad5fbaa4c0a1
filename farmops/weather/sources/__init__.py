"""Readers of weather files: pure functions from a file's text to neutral rows that know their line.

Formats:

* `ghcn_daily`: the two public CSV layouts of the daily station archive, values in tenths as whole numbers.
* `daily_csv`: our own plain CSV. The first line names the columns, with units:
  `date,temp_min_c,temp_max_c,rain_mm,solar_mj_m2,wind_m_s,humidity_min_pct,humidity_max_pct`.
  `date` (YYYY-MM-DD), the two temperatures and `rain_mm` are required, the order is free, an empty cell is a
  reading that is missing. `wind_m_s` is the day's mean at 2 m.
* `nws_grid`: the national weather service's forecast grid as JSON.

Then `days` puts readings together into days and says which lines cannot stand, `ranges` holds what is
possible and what looks like another unit, `gaps` makes up to three missing days from their neighbors.
"""
