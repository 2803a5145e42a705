"""A real server as the demonstration runs it, on the test's own database; killed and started again at will.

Acts go to it as a device sends them: over a socket, with cookies and a key, sent again with the same key when
no answer came. `Wire` stands in the place of `checklists.run` for hands that should press buttons.
"""

from __future__ import annotations

import http.client
import os
import secrets
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from django.conf import settings
from django.db import connection
from django.urls import reverse

from cast import PIN
from checklists.models import Person, Preparation

ROOT = Path(__file__).resolve().parents[2]
#: What a device sees of a server that was killed under its hands.
NO_ANSWER = (OSError, http.client.HTTPException)


def database_url() -> str:
    """Return the address of the database that this process works on."""
    told = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{quote(str(told['NAME']))}"
    login = f"{told['USER']}:{told['PASSWORD']}" if told["PASSWORD"] else told["USER"]
    return f"postgres://{login}@{told['HOST']}:{told['PORT']}/{told['NAME']}"


@dataclass
class Server:
    """Gunicorn with two processes of four threads, as `manage.py demo` starts it."""

    data: Path
    settings: str = "tests.site.served"
    port: int = 0
    process: subprocess.Popen[bytes] | None = None
    kills: int = 0

    def start(self) -> Server:
        """Start it, and wait until it answers."""
        if not self.port:
            with socket.socket() as probe:
                probe.bind(("127.0.0.1", 0))
                self.port = probe.getsockname()[1]
        how = (
            f"--bind 127.0.0.1:{self.port} --worker-class gthread --workers 2 --threads 4 --log-level warning"
        )
        words = [
            sys.executable,
            "-m",
            "gunicorn",
            *how.split(),
            "--no-control-socket",
            "checklists.site.wsgi",
        ]
        with (self.data / "server.log").open("ab") as log:
            self.process = subprocess.Popen(
                words, cwd=ROOT, env=self.environment(), start_new_session=True, stderr=log
            )
        self._wait()
        return self

    def environment(self) -> dict[str, str]:
        """Return what a process of this installation finds in its environment."""
        own = {
            "COUNTERDRAW_DATA": str(self.data),
            "COUNTERDRAW_SECRET_KEY": settings.SECRET_KEY,
            "DATABASE_URL": database_url(),
            "DJANGO_SETTINGS_MODULE": self.settings,
            "COUNTERDRAW_PHOTOGRAPHS": str(settings.MEDIA_ROOT),
        }
        return os.environ | own

    def _wait(self) -> None:
        for _ in range(600):
            try:
                with socket.create_connection(("127.0.0.1", self.port), timeout=1):
                    return
            except OSError:
                time.sleep(0.05)
        raise AssertionError(self.said())

    def kill(self) -> None:
        """Kill every process of it at once, as a power cut to the program does."""
        assert self.process is not None
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        self.kills += 1

    def stop(self) -> None:
        """Stop it for good."""
        if self.process is not None and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGTERM)
            self.process.wait(timeout=60)

    def said(self) -> str:
        """Return what it wrote on stderr."""
        return (self.data / "server.log").read_text(errors="replace")


@dataclass
class Device:
    """A tablet or phone that somebody is signed in at."""

    server: Server
    person: Person
    cookies: dict[str, str] = field(default_factory=dict)
    line: http.client.HTTPConnection | None = None

    def send(self, method: str, path: str, body: bytes = b"", sort: str = "") -> tuple[int, str, bytes]:
        """Send one request; return its status, where it leads, and its body."""
        if self.line is None:
            self.line = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=60)
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if sort:
            headers |= {"Content-Type": sort, "X-CSRFToken": self.cookies.get("csrftoken", "")}
        try:
            self.line.request(method, path, body or None, headers)
            answer = self.line.getresponse()
            told = answer.read()
        except NO_ANSWER:
            self.line.close()
            self.line = None
            raise
        for header in answer.headers.get_all("Set-Cookie") or ():
            name, _, rest = header.partition("=")
            self.cookies[name] = rest.partition(";")[0]
        return answer.status, answer.headers.get("Location", ""), told

    def get(self, path: str) -> tuple[int, str, bytes]:
        """Ask for a page."""
        return self.send("GET", path)

    def post(self, path: str, fields: Mapping[str, str]) -> tuple[int, str, bytes]:
        """Send a form."""
        return self.send("POST", path, urlencode(fields).encode(), "application/x-www-form-urlencoded")

    def upload(self, path: str, fields: Mapping[str, str], name: str, file: bytes) -> tuple[int, str, bytes]:
        """Send a form with a file."""
        edge = secrets.token_hex(8)
        parts = [
            f'--{edge}\r\nContent-Disposition: form-data; name="{one}"\r\n\r\n{value}\r\n'.encode()
            for one, value in fields.items()
        ]
        head = f'--{edge}\r\nContent-Disposition: form-data; name="{name}"; filename="p.jpg"\r\n'
        body = b"".join(parts) + head.encode() + b"Content-Type: image/jpeg\r\n\r\n" + file
        return self.send(
            "POST", path, body + f"\r\n--{edge}--\r\n".encode(), f"multipart/form-data; boundary={edge}"
        )

    def sign_in(self) -> Device:
        """Sign in with badge and PIN."""
        self.get(reverse("sign_in"))
        status, where, _body = self.post(reverse("sign_in"), {"badge": self.person.badge, "pin": PIN})
        assert (status, "sign-in" in where) == (302, False), (status, where)
        return self


class Wire:
    """Acts sent over the wire; each is sent again with its key until the server answers it."""

    def __init__(self, server: Server) -> None:
        self.server = server
        self.devices: dict[tuple[int, int], Device] = {}
        self.acknowledged: list[tuple[str, str]] = []
        self.sent_again = 0

    def device(self, person: Person) -> Device:
        """Return the person's device at this worker, signed in."""
        which = threading.get_ident(), person.pk
        if which not in self.devices:
            self.devices[which] = self._again(lambda: Device(self.server, person).sign_in())
        return self.devices[which]

    def _again(self, send: Callable[[], Any]) -> Any:
        for _attempt in range(3000):
            try:
                return send()
            except NO_ANSWER:
                self.sent_again += 1
                time.sleep(0.03)
        raise AssertionError(self.server.said())

    def close(self) -> None:
        """Put every device down."""
        for device in self.devices.values():
            if device.line:
                device.line.close()

    def act(self, name: str, where: list[object], person: Person, key: str, **fields: str) -> str:
        """Send an act until it is acknowledged; return where it leads."""
        device, path = self.device(person), reverse(name, args=where)
        status, location, body = self._again(lambda: device.post(path, {"key": key, **fields}))
        assert status == 302, (status, path, body.decode()[-3000:])
        if name == "open_order":
            self.acknowledged.append((location.strip("/").rpartition("/")[2], key))
        else:
            self.acknowledged.append((str(where[0]), f"{ACTS.get(name, name)} {key}"))
        return location

    def open_preparation(self, *, number: str, person: Person, key: str) -> Preparation:
        """Open an order."""
        location = self.act("open_order", [number], person, key)
        return Preparation(code=location.strip("/").rpartition("/")[2])

    def finish_step(self, *, code: str, person: Person, key: str, place: int, given: Any) -> None:
        """Finish a step."""
        self.act("finish_step", [code, place], person, key, **given)

    def print_labels(self, *, code: str, person: Person, key: str, reason: str = "") -> None:
        """Print labels."""
        self.act("print_labels", [code], person, key, reason=reason)

    def recalculate(
        self, *, code: str, person: Person, key: str, place: int, volumes: Mapping[int, str], **told: Any
    ) -> None:
        """Commit the first check."""
        typed = {f"volume_{number}": text for number, text in volumes.items()}
        typed |= {f"reason_{name}": text for name, text in told["reasons"].items()}
        self.act(
            "recalculate", [code, place], person, key, materials="1" * told["has_seen_materials"], **typed
        )

    def sight_draw(self, *, code: str, person: Person, key: str, place: int, draw: int, typed: str) -> None:
        """Commit what was read."""
        self.act("sight_draw", [code, place], person, key, draw=str(draw), volume=typed)

    def inspect(self, *, code: str, person: Person, key: str, place: int, stated: Mapping[str, bool]) -> None:
        """State what was inspected."""
        self.act("inspect", [code, place], person, key, **dict.fromkeys(stated, "1"))

    def release(self, *, code: str, person: Person, key: str, pin: str) -> None:
        """Sign the release."""
        place = Preparation.objects.get(code=code).steps.get(kind="release").place
        self.act("release", [code, place], person, key, pin=pin)


#: What an act is called in the record, where its address is called otherwise.
ACTS: dict[str, str] = {}
