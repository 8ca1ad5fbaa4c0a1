"""Machines, implements and hands: what goes out together."""

from django.db import models

from farmops.core.models import Language
from farmops.core.quick_rows import QuickRows
from farmops.farms import operations
from farmops.farms.models.farm import farm_of
from farmops.farms.models.fuel import Fuel


class MachineKind(models.TextChoices):
    TRACTOR = "tractor", "tractor"
    TRUCK = "truck", "truck"
    SPRAYER = "sprayer", "sprayer"
    COMBINE = "combine", "combine"
    PICKER = "picker", "picker"


WORKING_KINDS = tuple(kind for kind in MachineKind if kind != MachineKind.TRUCK)
"""Machines that field work can be planned on."""


class Machine(models.Model):
    """A machine with an engine and an hour meter."""

    farm = farm_of()
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=60)
    name_es = models.CharField(max_length=60, blank=True)
    kind = models.CharField(max_length=20, choices=MachineKind.choices, default=MachineKind.TRACTOR)
    power_hp = models.DecimalField(max_digits=6, decimal_places=1, help_text="at the power take-off")
    fuel = models.CharField(max_length=10, choices=Fuel.choices, default=Fuel.DIESEL)
    road_speed_mph = models.DecimalField(max_digits=4, decimal_places=1, default=15)
    meter_start_h = models.DecimalField(
        max_digits=8, decimal_places=1, help_text="hour meter when it was entered"
    )
    noise_dba = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True, help_text="at the driver's ear, at work"
    )
    down_until = models.DateTimeField(null=True, blank=True, help_text="broken, and back about then")

    class Meta:
        ordering = ["farm", "code"]
        constraints = [models.UniqueConstraint(fields=["farm", "code"], name="one_machine_per_code")]

    def __str__(self) -> str:
        return self.name


class Implement(models.Model):
    """What a machine pulls or carries: a disk behind a tractor, a boom on a sprayer, a header on a combine."""

    farm = farm_of()
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=60)
    name_es = models.CharField(max_length=60, blank=True)
    carried_by = models.CharField(
        max_length=20,
        choices=MachineKind.choices,
        default=MachineKind.TRACTOR,
        help_text="the kind of machine it goes with",
    )
    width_ft = models.DecimalField(max_digits=5, decimal_places=1)
    speed_min_mph = models.DecimalField(max_digits=4, decimal_places=1)
    speed_mph = models.DecimalField(max_digits=4, decimal_places=1, help_text="the usual one")
    speed_max_mph = models.DecimalField(max_digits=4, decimal_places=1)
    efficiency_pct = models.DecimalField(max_digits=4, decimal_places=1)
    power_needed_hp = models.DecimalField(max_digits=6, decimal_places=1)
    road_factor = models.DecimalField(
        max_digits=4, decimal_places=2, default=1, help_text="slower on the road by"
    )
    wide_on_road = models.BooleanField(default=False, help_text="goes on the road by daylight only")
    draft_kind = models.SlugField(
        max_length=30, blank=True, help_text="a key of farmops.science.work_rate.DRAFT; empty: not known"
    )
    depth_in = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True, help_text="the usual working depth"
    )
    tool_count = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="shanks, rows or beds, where the pull counts by them"
    )
    gang_angle_min_deg = models.DecimalField(max_digits=3, decimal_places=1, null=True, blank=True)
    gang_angle_max_deg = models.DecimalField(max_digits=3, decimal_places=1, null=True, blank=True)
    bearings_front = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="counted on the machine"
    )
    bearings_back = models.PositiveSmallIntegerField(null=True, blank=True)
    down_until = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["farm", "code"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "code"], name="one_implement_per_code"),
            models.CheckConstraint(
                condition=models.Q(width_ft__gt=0)
                & models.Q(speed_min_mph__lte=models.F("speed_mph"))
                & models.Q(speed_max_mph__gte=models.F("speed_mph"))
                & models.Q(efficiency_pct__gt=0)
                & models.Q(efficiency_pct__lte=100),
                name="implement_numbers_make_sense",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class ImplementOperation(models.Model):
    """A kind of work that an implement does."""

    farm = farm_of()
    implement = models.ForeignKey(Implement, on_delete=models.PROTECT, related_name="operations")
    operation = models.CharField(max_length=20, choices=operations.choices())

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["implement", "operation"], name="one_row_per_implement_operation")
        ]


class Hand(QuickRows):
    """A person who works; the grower drives too."""

    farm = farm_of()
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=60)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=30, blank=True)
    language = models.CharField(max_length=2, choices=Language.choices, default=Language.ENGLISH)
    is_owner = models.BooleanField(default=False, help_text="own hours are shown apart and not paid as wages")
    works = models.BooleanField(default=True)
    started_on = models.DateField(
        null=True, blank=True, help_text="first day at this work; the first days in heat are short ones"
    )

    class Meta:
        ordering = ["farm", "code"]
        constraints = [models.UniqueConstraint(fields=["farm", "code"], name="one_hand_per_code")]

    def __str__(self) -> str:
        return self.name


class HandSkill(models.Model):
    """A kind of work that a hand may do."""

    farm = farm_of()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="skills")
    operation = models.CharField(max_length=20, choices=operations.choices())

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["hand", "operation"], name="one_row_per_hand_operation")
        ]


class HandLicense(models.Model):
    """A license to apply pesticides; who holds none that is valid is not offered restricted products."""

    farm = farm_of()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="licenses")
    number = models.CharField(max_length=40)
    category = models.CharField(max_length=60, blank=True)
    expires_on = models.DateField()

    class Meta:
        ordering = ["hand", "expires_on"]
        constraints = [models.UniqueConstraint(fields=["hand", "number"], name="one_license_per_number")]

    def __str__(self) -> str:
        return f"{self.hand} {self.number}"


class Shift(models.Model):
    """Hours of a weekday in which a hand works; `is_overtime` hours cost more. No row, no work."""

    farm = farm_of()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="shifts")
    weekday = models.PositiveSmallIntegerField(help_text="0 is Monday")
    starts_at = models.TimeField()
    ends_at = models.TimeField()
    is_overtime = models.BooleanField(default=False)

    class Meta:
        ordering = ["hand", "weekday", "starts_at"]
        constraints = [
            models.CheckConstraint(condition=models.Q(weekday__lte=6), name="shift_weekday"),
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")), name="shift_ends_later"
            ),
        ]


class HandAway(models.Model):
    """Days on which a hand is away."""

    farm = farm_of()
    hand = models.ForeignKey(Hand, on_delete=models.PROTECT, related_name="away")
    first_on = models.DateField()
    last_on = models.DateField()
    why = models.CharField(max_length=80, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_on__gte=models.F("first_on")), name="away_ends_later"
            )
        ]
