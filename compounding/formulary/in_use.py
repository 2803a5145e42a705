"""How long an opened container may be used, and who may have what is left in it."""

from __future__ import annotations

from datetime import timedelta

from compounding.formulary.models import Product
from compounding.reckoning.policy import Policy
from compounding.reckoning.vial_stock import Sharing
from compounding.reckoning.worksheet import ContainerKind


def lasts(product: Product, policy: Policy) -> timedelta:
    """Return for how long a container may be used once it is opened.

    An ampoule is not kept at all, a single-dose vial for some hours in ISO 5, a multi-dose vial for some days
    (USP <797> 2023, memory; the site's own policy may be stricter).
    """
    if product.container is ContainerKind.AMPOULE:
        return timedelta(0)
    if product.is_multi_dose:
        return timedelta(days=policy.multi_dose_days)
    return timedelta(hours=policy.single_dose_hours)


def sharing_of(product: Product, policy: Policy) -> Sharing:
    """Return who may have the rest: anyone of a multi-dose vial, and of a dissolved powder where the site
    lets it serve again; nobody of what else serves one preparation only, or of anything hazardous.
    """
    is_hazardous = product.substance is not None and product.substance.is_hazardous
    is_dissolved = product.container is ContainerKind.POWDER_VIAL and policy.shares_dissolved
    is_shared = (product.is_multi_dose or is_dissolved) and not is_hazardous
    return Sharing.ANYONE if is_shared else Sharing.NOBODY
