"""Windows: when a pass may be worked, and which limit shuts the rest. Pure: NumPy and the standard library."""
