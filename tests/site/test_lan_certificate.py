"""https on a network of one's own: what the command writes is tried by OpenSSL, which did not write it."""

from __future__ import annotations

import hashlib
import socket
import ssl
import threading
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest
from cryptography import x509
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client

from tests.checklists.walks import words

NAMES = ("counterdraw.example", "192.0.2.10", "127.0.0.1")


@pytest.fixture
def lan(settings, tmp_path: Path) -> Path:
    settings.LAN = tmp_path / "lan"
    return settings.LAN


def command(*words_given: str) -> str:
    said = StringIO()
    call_command("lan_certificate", *words_given, stdout=said)
    return said.getvalue()


def shake_hands(lan: Path, name: str) -> str:
    """Let OpenSSL's client, which trusts this authority alone, meet a server with the site's certificate."""
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(lan / "site.pem", lan / "site-key.pem")
    client = ssl.create_default_context(cafile=lan / "authority.pem")
    here, there = socket.socketpair()

    def serve() -> None:
        try:
            with server.wrap_socket(there, server_side=True) as served:
                served.recv(1)
        except (ssl.SSLError, OSError):
            there.close()

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        with client.wrap_socket(here, server_hostname=name) as met:
            return str(met.version())
    finally:
        here.close()
        thread.join()


@pytest.mark.parametrize("name", NAMES)
def test_whoever_trusts_the_authority_trusts_the_site_by_each_of_its_names(lan: Path, name: str) -> None:
    command(*NAMES)
    assert shake_hands(lan, name).startswith("TLSv1.")


def test_it_is_trusted_by_no_other_name(lan: Path) -> None:
    command(*NAMES)
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(lan, "elsewhere.example")


def test_whoever_steals_the_key_can_sign_for_nothing_else(lan: Path) -> None:
    """Name constraints (RFC 5280, memory): an authority made for one site does not pass for another's."""
    command("counterdraw.example")
    kept = (lan / "authority.pem").read_bytes()
    constraints = x509.load_pem_x509_certificate(kept).extensions.get_extension_for_class(
        x509.NameConstraints
    )
    assert constraints.critical
    with pytest.raises(CommandError, match=r"may not sign for bank\.example\. Give --anew"):
        command("bank.example")
    assert (lan / "authority.pem").read_bytes() == kept


def test_renewing_keeps_the_authority_that_devices_have_installed(lan: Path) -> None:
    command(*NAMES)
    authority, first = (lan / "authority.pem").read_bytes(), (lan / "site.pem").read_bytes()
    assert "counterdraw.example, 192.0.2.10, 127.0.0.1" in command()
    assert (lan / "authority.pem").read_bytes() == authority
    assert (lan / "site.pem").read_bytes() != first
    command("counterdraw.example", "--anew")
    assert (lan / "authority.pem").read_bytes() != authority


def test_it_lasts_no_longer_than_browsers_take(lan: Path) -> None:
    """At most 398 days for a site's certificate (CA/Browser Forum, memory)."""
    command(*NAMES)
    leaf = x509.load_pem_x509_certificate((lan / "site.pem").read_bytes())
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=398)
    assert leaf.not_valid_after_utc > datetime.now(UTC) + timedelta(days=300)


def test_nobody_else_on_the_server_can_read_the_keys(lan: Path) -> None:
    command(*NAMES)
    assert {path.name: oct(path.stat().st_mode & 0o777) for path in lan.iterdir()} == dict.fromkeys(
        ("authority.pem", "authority-key.pem", "site.pem", "site-key.pem"), "0o600"
    )


@pytest.mark.parametrize("word", ["not a name", "", "-", "ünder.example", "a..b"])
def test_a_word_that_is_no_name_is_said_so(lan: Path, word: str) -> None:
    with pytest.raises(CommandError, match="neither a host name nor an IP address"):
        command(word)
    with pytest.raises(CommandError, match="Give the names"):
        command()


def test_the_page_gives_the_file_and_the_fingerprint_that_the_command_printed(
    lan: Path, client: Client
) -> None:
    assert client.get("/authority.crt").status_code == 404
    assert "lan_certificate" in words(client.get("/install/"))
    said = command(*NAMES)
    given = client.get("/authority.crt")
    digest = hashlib.sha256(given.content).hexdigest().upper()
    fingerprint = ":".join(digest[at : at + 2] for at in range(0, 64, 2))
    assert given["Content-Type"] == "application/x-x509-ca-cert"
    assert fingerprint in said
    assert fingerprint in words(client.get("/install/"))


def test_a_device_that_comes_by_http_can_still_fetch_the_file(lan: Path, settings, client: Client) -> None:
    settings.SECURE_SSL_REDIRECT = True
    command(*NAMES)
    assert client.get("/sign-in/").status_code == 301
    assert [client.get(where).status_code for where in ("/install/", "/authority.crt")] == [200, 200]
