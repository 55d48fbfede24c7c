"""Engine families and the other spellings under which they arrive."""

from django.db import models
from django.db.models.functions import Lower


class EngineFamily(models.Model):
    """A group of engines that share their design, so that their parts may share a life.

    Families are the installation's vocabulary, not an organisation's records: two workshops
    that say "Alder 16" mean the same engines.
    """

    name = models.CharField(max_length=80)
    reviewed = models.BooleanField(
        default=False, help_text="A person has confirmed that this family is not an alias."
    )

    class Meta:
        verbose_name_plural = "engine families"
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(Lower("name"), name="engine_family_name_once"),
            models.CheckConstraint(condition=~models.Q(name=""), name="engine_family_named"),
        ]

    def __str__(self) -> str:
        return self.name


class EngineFamilyAlias(models.Model):
    """Another spelling of a family's name."""

    family = models.ForeignKey(EngineFamily, on_delete=models.CASCADE, related_name="aliases")
    name = models.CharField(max_length=80)

    class Meta:
        verbose_name_plural = "engine family aliases"
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(Lower("name"), name="engine_family_alias_once"),
            models.CheckConstraint(condition=~models.Q(name=""), name="engine_family_alias_named"),
        ]

    def __str__(self) -> str:
        return self.name
