"""Fixtures of the views: those of the checklists."""

from tests.checklists.walks import at_first_check, everybody, house, shown, unguarded, walked

__all__ = ["at_first_check", "everybody", "house", "shown", "unguarded", "walked"]
