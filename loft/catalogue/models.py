"""What the catalogue keeps: every version of every file that was loaded, and nothing is ever edited.

The source text is the record; the columns beside it are what is looked up. Selectors read the text into the calculation's objects.
"""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q


class LoadedFile(models.Model):
    """A file as it was loaded; sha256 is of its UTF-8 bytes."""

    source = models.TextField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        abstract = True


def _ends_after_start(name: str) -> models.CheckConstraint:
    return models.CheckConstraint(condition=Q(valid_to=None) | Q(valid_to__gte=F("valid_from")), name=name)


class RuleEdition(LoadedFile):
    """A text of an edition of a class's rules. An open end ends the day before the next edition starts.

    correction: 0 for the text that was loaded first; of an edition's texts the one corrected last stands, the others are kept to be read.
    """

    class_code = models.CharField(max_length=40)
    class_name = models.CharField(max_length=200)
    edition = models.CharField(max_length=40)
    correction = models.PositiveIntegerField(default=0)
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["class_code", "edition", "correction"], name="one_text_a_correction"),
            _ends_after_start("edition_ends_after_start"),
        ]

    def __str__(self) -> str:
        corrected = f", corrected text {self.correction}" if self.correction else ""
        return f"{self.class_name}, edition {self.edition}{corrected}"


class PatternVersion(LoadedFile):
    """A version of the loft's pattern for one sail of one class."""

    code = models.CharField(max_length=40)
    version = models.PositiveIntegerField()
    name = models.CharField(max_length=200)
    class_code = models.CharField(max_length=40)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["code", "version"], name="one_pattern_a_version")]

    def __str__(self) -> str:
        return f"{self.code} version {self.version}"


class SupplierList(LoadedFile):
    """A version of a supplier's price list. A later list of the same supplier replaces it from its first day on."""

    supplier = models.CharField(max_length=200)
    version = models.CharField(max_length=40)
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)
    currency = models.CharField(max_length=3)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["supplier", "version"], name="one_list_a_version"),
            models.UniqueConstraint(fields=["supplier", "valid_from"], name="one_list_a_first_day"),
            _ends_after_start("list_ends_after_start"),
        ]

    def __str__(self) -> str:
        return f"{self.supplier} {self.version}"


class ExchangeRate(models.Model):
    """How much of a currency one euro was on a day, in millionths."""

    on = models.DateField()
    currency = models.CharField(max_length=3)
    per_euro_e6 = models.PositiveBigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["on", "currency"], name="one_rate_a_day")]

    def __str__(self) -> str:
        return f"{self.currency} on {self.on}"


class ColumnMapping(models.Model):
    """Which heading of a supplier's tables holds which field, as it was last chosen: field -> heading."""

    supplier = models.CharField(max_length=200, unique=True)
    columns = models.JSONField(default=dict)

    def __str__(self) -> str:
        return f"columns of {self.supplier}"


class Material(models.Model):
    """Something that lists sell and sails take. What a code means never changes: another width or weight is another code.

    description: of a sailcloth or film, its properties by name as text; empty for everything else.
    """

    code = models.CharField(max_length=60, unique=True)
    name = models.CharField(max_length=200)
    unit = models.CharField(max_length=20, blank=True)
    role = models.CharField(max_length=20, choices=[("body", "sailcloth"), ("film", "window film"), ("other", "other")])
    description = models.JSONField(default=dict)

    def __str__(self) -> str:
        return self.code


class SupplierPrice(models.Model):
    """What a unit of a material costs on a list, from a quantity on; whole numbers of 0.001 units and of 0.0001 of the currency."""

    supplier_list = models.ForeignKey(SupplierList, on_delete=models.PROTECT, related_name="prices")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="prices")
    row = models.PositiveIntegerField()
    their_code = models.CharField(max_length=60)
    unit = models.CharField(max_length=20)
    from_quantity_e3 = models.PositiveBigIntegerField()
    unit_cost_e4 = models.PositiveBigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["supplier_list", "material", "from_quantity_e3"], name="one_price_a_break")]

    def __str__(self) -> str:
        return f"{self.material_id} on {self.supplier_list_id}"


class Discontinued(models.Model):
    """A material, or one colour of it, that was on a supplier's list and is not on the next; colour empty: all of it. Never deleted."""

    supplier_list = models.ForeignKey(SupplierList, on_delete=models.PROTECT, related_name="discontinued")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="discontinued")
    colour = models.CharField(max_length=60, blank=True)
    gone_on = models.DateField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["supplier_list", "material", "colour"], name="gone_once_a_list")]

    def __str__(self) -> str:
        return f"{self.material_id} {self.colour} since {self.gone_on}"


class RetailVersion(LoadedFile):
    """A version of the loft's own prices for a class. A later one replaces it from its first day on."""

    class_code = models.CharField(max_length=40)
    season = models.CharField(max_length=40)
    version = models.PositiveIntegerField()
    valid_from = models.DateField()
    valid_to = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["class_code", "season", "version"], name="one_retail_list_a_version"),
            models.UniqueConstraint(fields=["class_code", "valid_from"], name="one_retail_list_a_first_day"),
            _ends_after_start("retail_list_ends_after_start"),
        ]

    def __str__(self) -> str:
        return f"{self.class_code} {self.season} version {self.version}"


class HouseStandard(LoadedFile):
    """What the loft decides for itself, from a day on: labour standards, terms, margins, tax, table, what is charged on."""

    version = models.CharField(max_length=40, unique=True)
    valid_from = models.DateField(unique=True)

    def __str__(self) -> str:
        return f"house standards {self.version}"
