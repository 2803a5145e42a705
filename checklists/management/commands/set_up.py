"""`manage.py set_up`: print the code with which the first supervisor lets themselves in."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from checklists import run
from checklists.refusals import SetUpAlready


class Command(BaseCommand):
    """There is no first password: whoever can run a command on the server hands the code over."""

    help = "Print a code, good once and for an hour, with which the first supervisor is set up at /set-up/."

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the code and print it."""
        try:
            code = run.make_first_code()
        except SetUpAlready as refusal:
            raise CommandError(refusal.sentence) from refusal
        self.stdout.write(f"Set-up code: {code}")
        self.stdout.write("It is good once, for an hour. Open /set-up/ in a browser and type it there.")
