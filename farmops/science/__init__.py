"""The bedrock: published formulas of weather, soil, crop warmth, machines and exposure, without any framework.

Functions take numbers or NumPy arrays, which broadcast against each other, and give back a float when every argument
is a number, else an array. Units stand in the names. An argument outside the range in which a formula holds raises
`farmops.science.ranges.OutOfRange`; nothing is clamped unless the source itself says so. Missing values (nan) are
refused too, except by the conversions of `units`: who has gaps decides what fills them.

Sources are named in each docstring by their key in `farmops.science.bibliography`. What has no source is called
farm judgement, and what was written down without the page at hand is called from memory.
"""
