"""Mail to everybody on a farm, each sent once and on time; the morning sheet also printed for the shop door.

How it hangs together:

- `facts`, `farm_facts`, `change_facts`, `cost_facts`, the modules `wording…` and `…page`, `text`, `units`, `outcomes`,
  `squash` are plain Python: what each kind of mail is made from, the words in both languages, and how a page of short
  lines is laid out and printed. What a pass says of itself is its job slip (`scheduling.slips`).
- `selectors.day` reads a farm's day once for all its hands: the slips of the sent plan by fresh windows, as known last
  evening (those of the plan where there is no weather), the service stops, the day's high and chance of rain.
- `selectors.digest`, `.shut`, `.changes`, `.costs` read what managers, hands in the evening and bookkeepers are told.
- `services.composing` is the one door by which any row becomes a text (complete by itself) and HTML; it writes nothing.
  `services.farm_days` keeps what was read of a farm while its rows are composed; `services.mailing` makes the bytes.
- `services.reporting_at` says where to report: a mailed sheet holds a link of its own that signs the hand in.
- `services.making` (with `making_changes`, `making_troubles`) asks of all farms at once who is owed a row and has none;
  `selectors.clocks` holds each farm's day, hours and choices. `services.asking` is a person's word: try again, send
  again. `services.claims` moves rows from state to state, `services.outbox` sends. The database decides what is due; a
  tick, a command or a second worker only ask it.

What is promised: a person gets at most one message of a kind a day that nobody asked for (changes for tomorrow come as
they happen, so many an evening as the farm says), handed over within minutes of the farm's sheet hour
while a mail server can be reached, or late with a word about it, or not at all after the hour to give up. What cannot
be promised: if the line breaks after the message was handed over and before the server answered, nobody can know; that
row is `unknown` and goes out again as the same bytes under the same Message-ID. That it was delivered or read is not
ours to say. A hand without an address is a normal case: `write_sheets` prints that sheet too.
"""
