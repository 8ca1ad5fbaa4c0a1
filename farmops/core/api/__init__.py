"""Plumbing of the JSON interface: strict values, strict queries, pages by cursor, one form of refusal."""
