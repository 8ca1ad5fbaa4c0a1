"""Service by hours, days or acres: what is done to which machine or implement, how often, and by whom."""

from django.db import models

from farmops.farms.models.farm import farm_of
from farmops.farms.models.irrigation import Pivot
from farmops.farms.models.outfits import Hand, Implement, Machine


class CarePlace(models.TextChoices):
    YARD = "yard", "at the yard"
    FIELD = "field", "where it stands"


class CareRule(models.Model):
    """One kind of service of a machine, an implement or a pivot, by hours, days, acres or starts: whichever is first.

    The maker's manual outranks what stands here.

    It counts from the newest care done; before there is one, from `counts_from_h` on the meter of a machine (empty: what
    it showed when it was entered) and from the day `counts_from_on` (empty: from the first work recorded).
    """

    farm = farm_of()
    code = models.SlugField(max_length=40)
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="care_rules"
    )
    implement = models.ForeignKey(
        Implement, on_delete=models.PROTECT, null=True, blank=True, related_name="care_rules"
    )
    pivot = models.ForeignKey(
        Pivot, on_delete=models.PROTECT, null=True, blank=True, related_name="care_rules"
    )
    what = models.CharField(max_length=80, help_text="as a hand reads it: change engine oil and filter")
    what_es = models.CharField(max_length=80, blank=True)
    every_h = models.DecimalField(
        max_digits=7, decimal_places=1, null=True, blank=True, help_text="hours run between two services"
    )
    every_days = models.PositiveSmallIntegerField(null=True, blank=True)
    every_ac = models.DecimalField(max_digits=8, decimal_places=1, null=True, blank=True)
    every_starts = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="outings: days on which it went out, or turns of a pivot"
    )
    takes_min = models.PositiveSmallIntegerField(help_text="minutes of the hand who does it")
    place = models.CharField(max_length=8, choices=CarePlace.choices, default=CarePlace.YARD)
    is_must = models.BooleanField(default=False, help_text="it may not run past the limit")
    is_used = models.BooleanField(default=True)
    counts_from_h = models.DecimalField(
        max_digits=8, decimal_places=1, null=True, blank=True, help_text="meter at the last service before"
    )
    counts_from_on = models.DateField(null=True, blank=True, help_text="day of the last service before")
    source = models.CharField(max_length=200, help_text="the maker's manual, farm judgement")

    class Meta:
        ordering = ["farm", "code"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="one_care_rule_per_code"),
            models.CheckConstraint(
                condition=models.Q(machine__isnull=False, implement__isnull=True, pivot__isnull=True)
                | models.Q(machine__isnull=True, implement__isnull=False, pivot__isnull=True)
                | models.Q(machine__isnull=True, implement__isnull=True, pivot__isnull=False),
                name="care_rule_names_one_thing",
            ),
            models.CheckConstraint(
                condition=models.Q(takes_min__gt=0)
                & models.Q(takes_min__lte=1440)
                & (models.Q(every_h__isnull=True) | models.Q(every_h__gt=0))
                & (models.Q(every_days__isnull=True) | models.Q(every_days__gt=0))
                & (models.Q(every_ac__isnull=True) | models.Q(every_ac__gt=0))
                & (models.Q(every_starts__isnull=True) | models.Q(every_starts__gt=0)),
                name="care_rule_numbers_make_sense",
            ),
            models.CheckConstraint(
                condition=models.Q(every_h__isnull=False)
                | models.Q(every_days__isnull=False)
                | models.Q(every_ac__isnull=False)
                | models.Q(every_starts__isnull=False),
                name="care_rule_says_how_often",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what}, {self.thing}"

    @property
    def thing(self) -> Machine | Implement | Pivot:
        """Return what is served."""
        found: Machine | Implement | Pivot | None = self.machine or self.implement or self.pivot
        assert found is not None  # a check in the database says so
        return found


class CareRuleHand(models.Model):
    """A hand who does a service; without a row, whoever works may do it."""

    farm = farm_of()
    rule = models.ForeignKey(CareRule, on_delete=models.PROTECT, related_name="hands")
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["rule", "hand"], name="one_row_per_care_rule_hand")]
