"""Users of the service and the record of periodic jobs."""

from django.contrib.auth.models import AbstractUser
from django.db import models


class Language(models.TextChoices):
    ENGLISH = "en", "English"
    SPANISH = "es", "Español"


class User(AbstractUser):
    """Somebody who signs in."""

    language = models.CharField(max_length=2, choices=Language.choices, default=Language.ENGLISH)


class JobRun(models.Model):
    """One periodic job in one slot of time; the unique pair makes a double start harmless."""

    job = models.CharField(max_length=60)
    slot = models.BigIntegerField(help_text="whole periods since 1970-01-01T00:00Z")
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True)
    outcome = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "slot"], name="one_run_per_job_and_slot")]
