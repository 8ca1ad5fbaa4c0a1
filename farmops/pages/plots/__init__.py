"""Drawings for the pages, worked out on the server as plain numbers and words. Pure: no Django, no clock.

A drawing is as wide as its place: x is told in percent, y in pixels, so that text keeps its size on a phone and on
paper. Paths, which SVG knows only in plain units, stand in an inner drawing of 1,000 units that is stretched to the
same width. Everything that is drawn is said again in words (`title`, `desc`) and stands as numbers in a table beside.
"""
