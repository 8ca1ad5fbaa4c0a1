"""Benches: what the service promises about speed and memory, measured on the machine at hand.

`manage.py bench NAME` runs one. A bench is a function that returns rows; `benches.BENCHES` names them all. Each
measurement is made in a child process of its own that keeps to one core, so that its memory is its own too.
"""
