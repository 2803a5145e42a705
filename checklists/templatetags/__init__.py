"""Filters of the pages, a module by subject."""
