"""What keeps a person theirs: PINs and badges they had, wrong tries, the first code, events worth a look."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

#: What tries are counted for: a badge, and the address of a device.
OF_BADGE, OF_ADDRESS = "badge ", "address "


class FormerPin(models.Model):
    """A PIN that somebody had, as its hash: it is not chosen again."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="former_pins")
    hash = models.CharField(max_length=128)
    at = models.DateTimeField()

    class Meta:
        """Latest first."""

        ordering: ClassVar = ["-at", "-pk"]

    def __str__(self) -> str:
        """Return whose it was."""
        return f"a former PIN of {self.person}"


class FormerBadge(models.Model):
    """A badge that somebody had: what was signed with it stays theirs, so nobody gets it again."""

    badge = models.CharField(max_length=12, unique=True)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="former_badges"
    )
    at = models.DateTimeField()

    def __str__(self) -> str:
        """Return the badge."""
        return self.badge


class PinTries(models.Model):
    """Wrong PINs in a row for a badge or from an address, and until when no further one is taken."""

    about = models.CharField(max_length=80, unique=True)
    failures = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField()
    shut_until = models.DateTimeField(null=True)

    class Meta:
        """Words."""

        verbose_name_plural = "PIN tries"

    def __str__(self) -> str:
        """Return what they are about."""
        return self.about


class FirstCode(models.Model):
    """The code that lets the first supervisor in, as its hash; used once."""

    hash = models.CharField(max_length=128)
    ends_at = models.DateTimeField()

    def __str__(self) -> str:
        """Return until when it is good."""
        return f"good until {self.ends_at}"


class SecurityEvent(models.Model):
    """Something that whoever watches over the installation should be able to look up. Never a PIN."""

    at = models.DateTimeField()
    what = models.CharField(max_length=60)
    about = models.CharField(max_length=120, blank=True)
    address = models.CharField(max_length=45, blank=True)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        """Latest first."""

        ordering: ClassVar = ["-at", "-pk"]
        indexes: ClassVar = [models.Index(fields=["-at"])]

    def __str__(self) -> str:
        """Return what happened."""
        return self.what
