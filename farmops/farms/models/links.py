"""Links by which a hand signs in from a morning sheet."""

import hashlib

from django.conf import settings
from django.db import models

from farmops.farms.models.farm import farm_of
from farmops.farms.models.outfits import Hand


def hash_of_secret(secret: str) -> str:
    """Return what is kept of a link's secret; a secret is long and random, so a plain hash keeps it.

    Capital letters count as small ones: secrets have small ones only, and may be typed from paper.
    """
    return hashlib.sha256(secret.lower().encode("utf-8", errors="replace")).hexdigest()


class SignInLink(models.Model):
    """A link for one hand of one farm; only a hash of its secret is kept. It expires, and can be taken back."""

    farm = farm_of()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="sign_in_links")
    secret_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    last_used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["hand", "made_at"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(expires_at__gt=models.F("made_at")), name="sign_in_link_expires_later"
            )
        ]

    def __str__(self) -> str:
        return f"link of {self.hand}, {self.made_at:%Y-%m-%d}"
