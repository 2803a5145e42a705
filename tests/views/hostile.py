"""Requests that nobody honest sends: any address, method and role, with bodies and fields made to hurt.

All chance comes from one seeded source, so that a request can be sent again by its number.
"""

from __future__ import annotations

import importlib
import inspect
import json
import random
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote, quote_plus

from django.urls import URLPattern, URLResolver, get_resolver

ROOT = Path(__file__).resolve().parents[2]
METHODS = (*("GET",) * 5, *("POST",) * 7, "HEAD", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "QUERY")
ROLES = ("technician", "pharmacist", "supervisor", "nobody")
NUMBERS = (
    "0",
    "1",
    "2",
    "7",
    "-1",
    str(2**31),
    str(2**63 - 1),
    str(2**63),
    "9" * 40,
    "00",
    "1e5",
    "٣",
    "\uff11",
)
TEXTS = (
    "", " ", "\0", "1\0", "a\0b", "\u202e", "\ud7ff", "\ufffe", "😀" * 50, "é" * 300, "<b>x</b>",
    "{{ 7|add:7 }}",
    "{% debug %}", "'; DROP TABLE checklists_entry; --", "../../etc/passwd", "%00", "%s%s%n", "\r\nX-A: b",
    "x" * 9000,
    "9" * 5000, "1.5", "1,5", ".5", "-1", "1e9999", "NaN", "Infinity", "0x10", "٣", "\uff11\uff12", "½",
    "true",
    "null", "[]",
    "2026-13-45", "0001-01-01T00:00", "9999-12-31T23:59", "2026-11-25T14:30+99:99", "10 mg", "30 mg/kg",
    "0 mg",
    "(01)02912345678905(17)991332(10)A", "]d201029123456789051799123110A\x1d21S1", "(01)0", "\x1d" * 30, "P",
    "PXXXXXXXX",
    "again", "in-person", "on", "off", "recalled", "draw-again", "discard", "carry-on", "reject",
    "quarantined",
    "//evil.example/",
    "javascript:alert(1)", "/\\evil.example", "http://[", "\u0000\u0001", "a" * 255, "a" * 256, "a" * 65536,
)  # fmt: skip
SORTS = (
    "application/x-www-form-urlencoded", "application/x-www-form-urlencoded; charset=utf-16",
    "application/x-www-form-urlencoded; charset=nosuch", "application/x-www-form-urlencoded; charset=idna",
    "application/json",
    "text/plain", "", "multipart/form-data", "multipart/form-data; boundary=",
    "multipart/form-data; boundary=\u00e9",
    "x" * 300,
    "multipart/form-data; boundary=" + "b" * 300, "application/xml", "image/jpeg", "*/*; q=",
)  # fmt: skip


@dataclass
class Sent:
    """One request: whose browser sends it, where, and what."""

    who: str
    method: str
    path: str
    body: bytes = b""
    sort: str = ""
    headers: dict[str, str] = field(default_factory=dict)

    def __str__(self) -> str:
        body = self.body if len(self.body) < 400 else self.body[:400] + b"..."
        return f"{self.who}: {self.method} {self.path[:300]!r} {self.sort[:80]!r} {body!r} {self.headers}"


@dataclass(frozen=True)
class Route:
    """One address: what its view's module asks for, and who may come there."""

    path: str
    asks: tuple[str, ...]
    roles: tuple[str, ...]


@cache
def routes() -> tuple[Route, ...]:
    """Return every address there is, the upkeep pages too."""
    return tuple(dict.fromkeys(_walked(get_resolver(), "")))


def _walked(resolver: URLResolver, before: str) -> Iterator[Route]:
    for one in resolver.url_patterns:
        path = before + str(one.pattern).strip("^$")
        if isinstance(one, URLPattern):
            roles = getattr(one.callback, "roles", ("supervisor",)) or ROLES
            yield Route(path, _asked_for(one.callback.__module__), tuple(roles))
        else:
            yield from _walked(one, path)


@cache
def _asked_for(module: str) -> tuple[str, ...]:
    if not module.startswith("checklists"):
        return ()
    source = inspect.getsource(importlib.import_module(module))
    return tuple(sorted(set(re.findall(r'"([a-z][a-z_]{1,20})"', source))))


@cache
def fields() -> tuple[str, ...]:
    """Return the name of every field of every form, and of some that no form has."""
    found: set[str] = set()
    for page in (ROOT / "templates").rglob("*.html"):
        found |= set(re.findall(r'name="([\w-]+)"', page.read_text(encoding="utf-8")))
    counted = {
        f"{name}{number}" for name in ("volume_", "dose-", "reason_") for number in ("1", "2", "x", "9" * 9)
    }
    return tuple(
        sorted(
            found
            | counted
            | {"key", "next", "page", "nobody", "", "a\0b", "q", "o", "e", "p", "_popup", "action"}
        )
    )


@dataclass
class Hostile:
    """A source of requests. `known` are codes and numbers that are really there."""

    chance: random.Random
    known: dict[str, list[str]]
    asked: tuple[str, ...] = ()

    def request(self) -> Sent:
        """Return the next request."""
        chance = self.chance
        is_upkeep = chance.random() < 0.15
        route = chance.choice([one for one in routes() if one.path.startswith("upkeep/") is is_upkeep])
        who = chance.choice(route.roles if chance.random() < 0.75 else ROLES)
        self.asked = route.asks
        sent = Sent(who, chance.choice(METHODS), self._path(route.path))
        if sent.method not in ("GET", "HEAD"):
            sent.sort, sent.body = self._body()
        if chance.random() < 0.3:
            sent.path += "?" + self._encoded(chance.randrange(4))
        if chance.random() < 0.3:
            sent.headers = self._headers()
        return sent

    def _path(self, path: str) -> str:
        whole = re.sub(r"<(\w+):(\w+)>", lambda found: self._part(found[1], found[2]), path)
        whole = re.sub(r"\(\?P<\w+>.*\)", lambda _found: self._part("path", "url"), whole)
        return f"/{whole}".replace("\\Z", "").replace("\\.", ".")

    def _part(self, sort: str, name: str) -> str:
        if self.chance.random() < 0.75:
            return self.chance.choice(self.known.get(name) or self.known["code"])
        pool = NUMBERS if sort == "int" else TEXTS
        text = self.chance.choice(pool)[:300]
        return quote(text, safe="/" if sort == "path" else "") or "-"

    def _value(self) -> str:
        if self.chance.random() < 0.3:
            return self.chance.choice(self.chance.choice(list(self.known.values())) or [""])
        if self.chance.random() < 0.2:
            return "".join(
                chr(self.chance.choice((self.chance.randrange(0xD800), self.chance.randrange(128))))
                for _ in range(9)
            )
        return self.chance.choice(TEXTS)

    def _pairs(self, count: int) -> list[tuple[str, str]]:
        pools = [self.asked or fields(), fields()]
        pairs = [(self.chance.choice(self.chance.choice(pools)), self._value()) for _ in range(count)]
        return pairs + pairs[: self.chance.randrange(2)]  # a field that comes twice

    def _encoded(self, count: int) -> str:
        text = "&".join(f"{quote_plus(name)}={quote_plus(value)}" for name, value in self._pairs(count))
        return text + self.chance.choice(
            ("", "", "&", "&=", "&%ED%A0%80=%ED%A0%80", "&%ZZ=%", "&a=%FF%FE", "&a[]=1&a[]=2")
        )

    def _body(self) -> tuple[str, bytes]:
        kind = self.chance.random()
        if kind < 0.55:
            return SORTS[0], self._encoded(self.chance.randrange(9)).encode()
        if kind < 0.75:
            return self._multipart()
        if kind < 0.85:
            told = json.dumps(dict(self._pairs(4)) | {"a": [1, {"b": None}], "n": 10**400})
            return "application/json", told[: self.chance.choice((9, len(told)))].encode()
        if kind < 0.87:
            many = self.chance.choice((b"a=1&" * 1200, b"key=" + b"x" * 3_000_000, b"\xff" * 5000))
            return SORTS[0], many
        return self.chance.choice(SORTS), self.chance.randbytes(self.chance.randrange(200))

    def _multipart(self) -> tuple[str, bytes]:
        edge, parts = "edge", []
        for name, value in self._pairs(self.chance.randrange(6)):
            file = self.chance.choice(
                (
                    "",
                    "",
                    '; filename="p.jpg"',
                    '; filename=""',
                    '; filename="../../x"',
                    "; filename*=utf-8''%00",
                )
            )
            head = f'Content-Disposition: form-data; name="{name}"{file}\r\n'
            sort = self.chance.choice(
                ("", "Content-Type: image/jpeg\r\n", "Content-Transfer-Encoding: base64\r\n")
            )
            parts.append(f"--{edge}\r\n{head}{sort}\r\n{value}\r\n")
        if self.chance.random() < 0.5:
            picture = self.chance.choice(
                ("\xff\xd8\xff\xe0", "GIF89a", "<svg/>", "\x89PNG\r\n\x1a\n" + "\0" * 50, "RIFF0000WEBP")
            )
            head = 'Content-Disposition: form-data; name="picture"; filename="p"'
            parts.append(f"--{edge}\r\n{head}\r\n\r\n{picture}\r\n")
        whole = "".join(parts).encode("utf-8", "replace") + f"--{edge}--\r\n".encode()
        if self.chance.random() < 0.3:
            whole = whole[: self.chance.randrange(len(whole))]
        return f"multipart/form-data; boundary={edge}", whole

    def _headers(self) -> dict[str, str]:
        chance = self.chance
        pool = {
            "HTTP_HX_REQUEST": chance.choice(("true", "x")),
            "HTTP_HX_CURRENT_URL": chance.choice(("http://testserver/make/", "http://[", "\u00e9", "")),
            "HTTP_HX_CURRENT_URL_URI_AUTOENCODED": chance.choice(("true", "x")),
            "HTTP_IF_NONE_MATCH": chance.choice(('"x"', "*", 'W/"', "x" * 3000)),
            "HTTP_IF_MODIFIED_SINCE": chance.choice(("never", "Thu, 01 Jan 1970 00:00:00 GMT", "9" * 99)),
            "HTTP_ACCEPT_LANGUAGE": chance.choice(("xx", "de-DE,de;q=9", "," * 600)),
            "HTTP_X_FORWARDED_FOR": chance.choice(("1.2.3.4", "x" * 999, ",,,")),
            "HTTP_HOST": chance.choice(("testserver", "evil.example", "a b", "[::1", "")),
            "HTTP_COOKIE": chance.choice(("counterdraw=x", "counterdraw=" + "9" * 5000, "=;=;")),
            "HTTP_RANGE": "bytes=5-1",
            "HTTP_REFERER": "http://[",
            "CONTENT_LENGTH": "0",  # what is no number no web server passes on
        }  # fmt: skip
        return dict(chance.sample(sorted(pool.items()), chance.randrange(1, 4)))


def values(told: Any) -> list[str]:
    """Return what is really there, as texts."""
    return [str(one) for one in told]
