"""Users of the service, the record of periodic jobs, and long work that runs beside the pages."""

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


class LongWorkState(models.TextChoices):
    WAITING = "waiting", "waiting"
    UNDER_WAY = "under_way", "under way"
    FINISHED = "finished", "finished"
    REFUSED = "refused", "refused"
    CALLED_OFF = "called_off", "called off"
    STOPPED = "stopped", "stopped unexpectedly"
    FAILED = "failed", "failed"


class LongWork(models.Model):
    """Work that takes longer than anybody waits for a page; see `farmops.core.long_work`.

    It has ended once `ended_at` is there. Whoever works on it holds it by a word of its own, `claim`, and must be heard
    of before `lease_until`.
    """

    farm = models.ForeignKey("farms.Farm", on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=40)
    key = models.CharField(
        max_length=120, help_text="the same key asked for twice is the same work until it ends"
    )
    asked = models.JSONField(default=dict)
    asked_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    asked_at = models.DateTimeField()
    state = models.CharField(max_length=12, choices=LongWorkState.choices, default=LongWorkState.WAITING)
    done = models.PositiveIntegerField(default=0)
    of = models.PositiveIntegerField(default=0, help_text="0 while nobody knows")
    words = models.CharField(max_length=120, blank=True, help_text="what is being done, in English")
    began_at = models.DateTimeField(null=True)
    claim = models.UUIDField(null=True)
    lease_until = models.DateTimeField(null=True)
    call_off_at = models.DateTimeField(null=True)
    call_off_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    ended_at = models.DateTimeField(null=True)
    code = models.CharField(max_length=60, blank=True, help_text="of the error that refused it")
    says = models.TextField(blank=True, help_text="why it was refused, in English")
    result = models.JSONField(default=dict)
    file_name = models.CharField(max_length=160, blank=True)
    file_type = models.CharField(max_length=120, blank=True)
    file_bytes = models.PositiveBigIntegerField(
        null=True, help_text="empty where no file is kept, or no longer"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["farm", "kind", "key"], condition=models.Q(ended_at=None), name="long_work_asked_once"
            ),
            models.UniqueConstraint(
                fields=["farm", "kind"], condition=models.Q(state="under_way"), name="long_work_one_of_a_kind"
            ),
        ]
        indexes = [models.Index(fields=["farm", "-asked_at"], name="long_work_of_farm")]

    @property
    def is_over(self) -> bool:
        """Whether it has ended, one way or another."""
        return self.ended_at is not None


class LongWorkPiece(models.Model):
    """A piece of the file that a long work left, in order; taken out after some days."""

    work = models.ForeignKey(LongWork, on_delete=models.CASCADE, related_name="pieces")
    number = models.PositiveIntegerField()
    content = models.BinaryField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["work", "number"], name="long_work_piece_once")]
