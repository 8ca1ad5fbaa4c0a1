"""Categories of a farm's own, and maps from categories to the lines of a form."""

from django.db import models

from farmops.farms.models import farm_of


class FarmCategory(models.Model):
    """A category that a farm keeps beside those that ship (`fixtures/categories.csv`)."""

    farm = farm_of()
    code = models.SlugField(max_length=20)
    label = models.CharField(max_length=60)
    is_stocked = models.BooleanField(default=False, help_text="bought into stock, and used from it")
    counts_for_1099 = models.BooleanField(default=False, help_text="rent, services and the like")

    class Meta:
        ordering = ["farm", "code"]
        verbose_name_plural = "farm categories"
        constraints = [models.UniqueConstraint(fields=["farm", "code"], name="one_farm_category_per_code")]

    def __str__(self) -> str:
        return self.label


class CategoryMap(models.Model):
    """A map of a farm's own from categories to the lines of a form; Schedule F ships (`fixtures/maps`)."""

    farm = farm_of()
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=80)
    form_year = models.PositiveSmallIntegerField(help_text="year of the form whose line numbers these are")

    class Meta:
        ordering = ["farm", "code", "form_year"]
        constraints = [
            models.UniqueConstraint(fields=["farm", "code", "form_year"], name="one_map_per_form_year")
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.form_year}"


class CategoryMapLine(models.Model):
    """Where one category stands on the form."""

    farm = farm_of()
    map = models.ForeignKey(CategoryMap, on_delete=models.CASCADE, related_name="lines")
    category = models.CharField(max_length=20)
    line = models.CharField(max_length=12, help_text="as the form numbers it: 11, 21b")
    label = models.CharField(max_length=80)

    class Meta:
        ordering = ["map", "line", "category"]
        constraints = [models.UniqueConstraint(fields=["map", "category"], name="one_form_line_per_category")]
