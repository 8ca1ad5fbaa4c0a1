"""Job slips: what a hand gets for each pass, as plain values that are said in English and in Spanish. Pure: no Django.

How it hangs together:

- `facts` are the plain values that `scheduling.selectors.slips` reads for each pass of a hand's day; `slip` is the whole,
  a `JobSlip`, whose `said(language)` gives a `SaidSlip`: lines with a key, a label and what they say, ready to show.
- `shape` draws the field's outline on a small page; `known_windows` reads the hours, the chance and the ground of one day
  out of a stored `windows/1` document.
- `effort` works out pace, share of the machine's power and fuel; `settings` says where to set a tillage tool to start with;
  `last_time` picks what was set when the work looked right on like ground; `soil` and `wetness` are the classes both go by.
- `checks` are looked at before going out, `cautions` are read before; `first_days` is what a new hand may take of heat.
- `words`, `phrases` and the tables of `checks`, `cautions` and `settings` hold what is said, English beside Spanish. A
  speaker of the crew has the last word on them. Every sentence has fewer than nine words.

A slip replaces nobody: the machine's manual, the label, local law and licensed people go before it, and it says so.
"""
