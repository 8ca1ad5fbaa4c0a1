"""Who kept a row, and which earlier row it stands in the place of."""

from django.conf import settings
from django.db import models


def keeper() -> models.ForeignKey:
    """Return the key to the user who kept a row."""
    return models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")


def earlier() -> models.OneToOneField:
    """Return the key to the row that this one corrects or takes back."""
    return models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
