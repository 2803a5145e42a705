"""What is being made, for whom, in words: the same on every screen of a preparation."""

from __future__ import annotations

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from checklists.models import Preparation
from checklists.worklists.screens import Identity
from compounding.formulary import codes
from compounding.formulary.models import Order
from compounding.reckoning.quantities import write
from compounding.reckoning.worksheet import FinalContainer, Worksheet


def identity(preparation: Preparation, worksheet: Worksheet) -> Identity:
    """Return the identity line of a preparation."""
    return Identity(
        code=codes.grouped(preparation.code),
        url_code=preparation.code,
        title=contents(worksheet),
        vehicle=vehicle(worksheet),
        for_whom=for_whom(preparation.order),
    )


def contents(worksheet: Worksheet) -> str:
    """Return what is in one unit: `vancomycin 1,250 mg`."""
    return _(" and ").join(f"{one.written} {write(one.dose)}" for one in worksheet.ingredients)


def vehicle(worksheet: Worksheet) -> str:
    """Return what it is in: `in sodium chloride 0.9 % 250 mL`."""
    if worksheet.final_container is FinalContainer.SYRINGE:
        return ngettext("in a syringe", "in %(count)d syringes", worksheet.units) % {"count": worksheet.units}
    if worksheet.units > 1:
        return _("in %(count)d bags of %(diluent)s") % {
            "count": worksheet.units,
            "diluent": worksheet.diluent,
        }
    return _("in %(diluent)s") % {"diluent": worksheet.diluent}


def for_whom(order: Order) -> str:
    """Return the patient with both identifiers and the ward, or that it is for stock."""
    if not order.patient_name:
        return _("for stock · %(ward)s") % {"ward": order.ward}
    born = _("born %(date)s") % {"date": date_format(order.born_on)} if order.born_on else ""
    return " · ".join(
        part for part in (order.patient_name, born, order.patient_identifier, order.ward) if part
    )
