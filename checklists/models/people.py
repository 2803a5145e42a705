"""People who act, and hoods they work in."""

from __future__ import annotations

from typing import ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.db import models
from django.utils import timezone


class PersonManager(BaseUserManager["Person"]):
    """Makes people; a PIN is kept only as a hash."""

    def create_user(self, *, badge: str, name: str, role: str, pin: str, is_staff: bool = False) -> Person:
        """Return a new person."""
        person = self.model(badge=badge, name=name, role=role, is_staff=is_staff, is_superuser=is_staff)
        person.set_password(pin)
        person.save(using=self._db)
        return person

    def create_superuser(self, badge: str, name: str, password: str) -> Person:
        """Return the first supervisor, as Django's own command asks for one."""
        return self.create_user(badge=badge, name=name, role="supervisor", pin=password, is_staff=True)


class Person(AbstractBaseUser, PermissionsMixin):
    """Somebody with a badge and a PIN (kept in Django's password field)."""

    class Role(models.TextChoices):
        """What a person may do."""

        TECHNICIAN = "technician", "technician"
        PHARMACIST = "pharmacist", "pharmacist"
        SUPERVISOR = "supervisor", "supervisor"

    badge = models.CharField(max_length=12, unique=True)
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=12, choices=Role)
    #: Whom they work with, as the site divides itself; times are shown by team. May be empty.
    team = models.CharField(max_length=40, blank=True)
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField("may use the upkeep pages", default=False)
    #: None until the person has chosen a PIN that nobody else knows.
    pin_set_at = models.DateTimeField(null=True, default=timezone.now, editable=False)
    #: Counted up to sign the person out on every device.
    sessions_ended = models.PositiveIntegerField(default=0, editable=False)

    objects: ClassVar[PersonManager] = PersonManager()
    USERNAME_FIELD = "badge"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        """Words and constraints."""

        verbose_name_plural = "people"
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(role__in=["technician", "pharmacist", "supervisor"]),
                name="person_has_a_known_role",
            )
        ]

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """Return what a session must match to be this person's: another PIN or an ended session does not."""
        return f"{super()._get_session_auth_hash(secret=secret)}.{self.sessions_ended}"  # type: ignore[misc]

    def __str__(self) -> str:
        """Return the name and role."""
        return f"{self.name}, {self.role}"


class Hood(models.Model):
    """A primary engineering control. Its deck is measured in cm, seen from above."""

    class Airflow(models.TextChoices):
        """Which way first air comes."""

        HORIZONTAL = "horizontal", "horizontal flow"
        VERTICAL = "vertical", "vertical flow"

    code = models.CharField(max_length=12, unique=True)
    name = models.CharField(max_length=60, unique=True)
    airflow = models.CharField(max_length=12, choices=Airflow)
    takes_hazardous = models.BooleanField(default=False)
    deck_width_cm = models.PositiveSmallIntegerField(default=120)
    deck_depth_cm = models.PositiveSmallIntegerField(default=60)
    certified_until = models.DateField()
    running_since = models.DateTimeField(null=True, blank=True)
    surface_wiped_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """Words and constraints."""

        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(takes_hazardous=False) | models.Q(airflow="vertical"),
                name="hazardous_never_in_horizontal_flow",
            )
        ]

    def __str__(self) -> str:
        """Return the hood's name."""
        return self.name
