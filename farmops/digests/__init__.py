"""The morning sheet: what a hand is to do today, mailed once, on time, or printed for the shop door.

How it hangs together:

- `facts`, `wording`, `page`, `text`, `outcomes`, `squash` are plain Python: what a day is, the words in both languages,
  and how a page of short lines is laid out and printed. What a pass says of itself is its job slip (`scheduling.slips`).
- `selectors.day` reads a farm's day once for all its hands: the slips of the sent plan by fresh windows, as known last
  evening (those of the plan where there is no weather), the service stops, the day's high and chance of rain.
- `services.composing` prints the page as text (complete by itself) and HTML; `services.mailing` makes the bytes.
- `services.reporting_at` says where to report: a mailed sheet holds a link of its own that signs the hand in.
- `services.making` makes one row per hand and local day, `services.claims` moves rows from state to state,
  `services.outbox` sends. The database decides what is due; a tick, a command or a second worker only ask it.

What is promised: a hand with work gets at most one message a day, handed over within minutes of the farm's sheet hour
while a mail server can be reached, or late with a word about it, or not at all after the hour to give up. What cannot
be promised: if the line breaks after the message was handed over and before the server answered, nobody can know; that
row is `unknown` and goes out again as the same bytes under the same Message-ID. That it was delivered or read is not
ours to say. A hand without an address is a normal case: `write_sheets` prints that sheet too.
"""
