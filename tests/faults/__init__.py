"""Real servers killed, cut off, flooded and lied to; `-m faults`. Sizes: see `sizes`."""
