"""Punctures by field, where they lie, and whether walking a field for debris pays. Pure: no Django, no clock.

`rates` estimates how often a field punctures a tire, each field leaning on the others as far as its own acres do not
tell; `places` says where punctures lie close together; `worth` weighs a walk against what it saves; `stubs` knows what
is no debris.
"""
