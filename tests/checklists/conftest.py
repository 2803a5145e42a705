"""Fixtures of the checklists: one cast a module, every test undone."""

from tests.checklists.walks import at_first_check, everybody, house, shown, unguarded, walked

__all__ = ["at_first_check", "everybody", "house", "shown", "unguarded", "walked"]
