"""Amounts in running text: a number is never parted from its unit, nor an identifier at its hyphen."""

from __future__ import annotations

import re

from django import template
from django.utils.html import conditional_escape, format_html_join
from django.utils.safestring import SafeString, mark_safe

register = template.Library()

AMOUNT = re.compile(r"\d[\d,.]* (?:%|(?:mL|L|kg|mg|mcg|g|mEq|mmol|mOsm|units?|hours?|minutes?)(?:/\w+)?\b)")
BETWEEN = " · "


@register.filter
def unbroken(text: str) -> SafeString:
    """Return a text whose amounts, and whose pieces between middle dots, stay on one line if they can.

    Writing a number and its unit on two lines invites misreading (ISMP, common practice; memory).
    """
    *before, last = text.split(BETWEEN)
    if not before:
        return _amounts_kept(last)
    pieces = (_amounts_kept(piece) for piece in (*(f"{piece}\u00a0·" for piece in before), last))
    return format_html_join(" ", '<span class="piece">{}</span>', ((piece,) for piece in pieces))


def _amounts_kept(text: str) -> SafeString:
    # Escaping comes first, so that nothing typed can be markup; no entity holds what AMOUNT looks for.
    escaped = conditional_escape(text)
    return mark_safe(AMOUNT.sub(r'<span class="nobreak">\g<0></span>', escaped))
