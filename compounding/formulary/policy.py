"""The site's limits as reckoning wants them, and the one way to change them."""

from __future__ import annotations

from dataclasses import fields
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from compounding.formulary.models import SitePolicy
from compounding.formulary.models.policies import read_syringes
from compounding.formulary.refusals import PolicyRefused
from compounding.reckoning import quantities
from compounding.reckoning.policy import Policy

# a limit of reckoning's that has no column here keeps its default
SETTABLE = {field.name for field in fields(Policy)} & {field.name for field in SitePolicy._meta.fields}


def current_policy() -> Policy:
    """Return the limits in force: the latest row, or the program's defaults."""
    row = SitePolicy.objects.first()
    return _from_row(row) if row else Policy()


def weight_days() -> int:
    """Return how many days old a body weight may be before an order warns."""
    return current_policy().weight_days


def limits_in_force() -> dict[str, Any]:
    """Return the limits in force as columns of a row, without who made it, when and why."""
    policy = current_policy()
    columns = {name: getattr(policy, name) for name in SETTABLE if name != "version"}
    pairs = [f"{quantities.store(each.size)}/{quantities.store(each.mark)}" for each in policy.syringes]
    return columns | {
        "half_marks_from": quantities.store(policy.half_marks_from),
        "peripheral_limit": quantities.store(policy.peripheral_limit),
        "syringes": ", ".join(pairs),
    }


def change_policy(*, reason: str, by: str, at: datetime | None = None, **changes: Any) -> SitePolicy:
    """Return the new row: the limits in force with these changed. Refuses PolicyRefused in words."""
    row = SitePolicy(**limits_in_force() | changes)
    row.version, row.changed_by, row.at = current_policy().version + 1, by, at or timezone.now()
    row.reason = reason.strip()
    try:
        row.full_clean()
        with transaction.atomic():
            row.save(force_insert=True)
    except ValidationError as error:
        raise PolicyRefused(why=" ".join(_sentences(error))) from error
    except IntegrityError as error:
        raise PolicyRefused(why="Somebody else changed them just now. Look at theirs first.") from error
    return row


def _sentences(error: ValidationError) -> list[str]:
    """Return each fault with the limit it concerns."""
    return [
        f"{name.replace('_', ' ').capitalize()}: {sentence}"
        for name, sentences in error.message_dict.items()
        for sentence in sentences
    ]


def _from_row(row: SitePolicy) -> Policy:
    columns = {name: getattr(row, name) for name in SETTABLE}
    columns["half_marks_from"] = quantities.read(row.half_marks_from)
    columns["peripheral_limit"] = quantities.read(row.peripheral_limit)
    columns["syringes"] = read_syringes(row.syringes)
    return Policy(**columns)
