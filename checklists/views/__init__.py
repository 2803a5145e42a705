"""Thin: guard, one call of the run or the worklists, one template. A module a role; `shared` beneath them."""
