"""Rates, bills and the books as JSON, for the office only."""
