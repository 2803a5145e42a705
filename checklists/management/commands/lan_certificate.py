"""`manage.py lan_certificate NAME …`: https on a network of one's own, by an authority of one's own."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from checklists.site.authority import Folder, NotAName, NotPermitted, certify, names_of
from checklists.worklists.installed import authority

SERVE = (
    "COUNTERDRAW_HTTPS=own COUNTERDRAW_HOSTS={hosts} .venv/bin/gunicorn --bind 0.0.0.0:443 \\\n"
    "    --certfile {site} --keyfile {key} \\\n"
    "    --worker-class gthread --workers 2 --threads 4 checklists.site.wsgi"
)


class Command(BaseCommand):
    """Without a secure context there is no work without network, no lit screen, no camera."""

    help = (
        "Make a local certificate authority (once) and a certificate for the names and addresses by which "
        "devices reach this site; without any, renew the one that stands."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the names."""
        parser.add_argument("names", nargs="*", help="host names and IP addresses of this site")
        parser.add_argument(
            "--anew", action="store_true", help="a new authority: every device installs it again"
        )

    def handle(self, *args: Any, names: list[str], anew: bool, **options: Any) -> None:
        """Write the files, and say what comes next."""
        folder = Folder(settings.LAN)
        wanted = names or self._standing(folder)
        try:
            leaf = certify(folder, wanted, is_anew=anew)
        except NotAName as fault:
            raise CommandError(f"{fault} is neither a host name nor an IP address.") from fault
        except NotPermitted as fault:
            raise CommandError(
                f"The authority that devices trust may not sign for {fault}. Give --anew with all the names; "
                "then every device installs the new authority."
            ) from fault
        self._say(folder, wanted, f"{leaf.not_valid_after_utc:%d %b %Y}")

    def _standing(self, folder: Folder) -> list[str]:
        if not folder.site.exists():
            raise CommandError("Give the names and addresses by which devices reach this site.")
        return names_of(folder)

    def _say(self, folder: Folder, names: list[str], until: str) -> None:
        made = authority()
        hosts = ",".join(f"[{name}]" if ":" in name else name for name in names)
        command = SERVE.format(hosts=hosts, site=folder.site, key=folder.site_key)
        for words in (
            f"The certificate of {', '.join(names)} is good until {until}; renew it with the same command.",
            f"Serve with it:\n\n{command}\n",
            f"Each device installs the authority once: http://{names[0]}/install/ says how.",
            "The authority's SHA-256 fingerprint, to be compared there:",
            made.fingerprint if made else "",
        ):
            self.stdout.write(words)
