#!/usr/bin/env python3
"""The front door: ``python3 manage.py demo``, ``python3 manage.py test``, and every Django command."""

import sys

from checklists.site import furnish

if __name__ == "__main__":
    furnish.open_door(sys.argv[1:])
