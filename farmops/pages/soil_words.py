"""Soil textures in the reader's language."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

TEXTURES = (
    gettext_noop("sand"),
    gettext_noop("loamy sand"),
    gettext_noop("sandy loam"),
    gettext_noop("loam"),
    gettext_noop("silt loam"),
    gettext_noop("silt"),
    gettext_noop("sandy clay loam"),
    gettext_noop("clay loam"),
    gettext_noop("silty clay loam"),
    gettext_noop("silty clay"),
    gettext_noop("clay"),
)
"""The classes of `farmops.science.textures` as they are said."""


def texture(key: str) -> str:
    """Return a texture by its key as people say it: sandy loam, or franco arenoso."""
    said = key.replace("_", " ")
    return _(said) if said else ""
