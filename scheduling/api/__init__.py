"""Passes, windows, plans and work as JSON."""
