"""A local certificate authority, and the certificate that it signs: https on a network of one's own.

Whoever holds the authority's key can pose as the site to devices that trust it; therefore it may sign for the
names and addresses given here and for nothing else. Leaves last 397 days, which every browser takes (memory).
"""

from __future__ import annotations

import ipaddress
import os
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_LASTS = timedelta(days=3650)
SITE_LASTS = timedelta(days=397)
ALONE = ipaddress.IPv4Address, ipaddress.IPv6Address

Key = ec.EllipticCurvePrivateKey


class NotAName(ValueError):
    """A word that is neither a host name nor an address."""


class NotPermitted(ValueError):
    """A name that the authority which devices trust already may not sign for."""


@dataclass(frozen=True)
class Folder:
    """Where the four files lie; the keys are for the owner's eyes only."""

    path: Path

    @property
    def authority(self) -> Path:
        """Return the authority's certificate, which devices install."""
        return self.path / "authority.pem"

    @property
    def authority_key(self) -> Path:
        """Return the authority's key."""
        return self.path / "authority-key.pem"

    @property
    def site(self) -> Path:
        """Return the site's certificate, which the server shows."""
        return self.path / "site.pem"

    @property
    def site_key(self) -> Path:
        """Return the site's key."""
        return self.path / "site-key.pem"


def certify(folder: Folder, words: list[str], *, is_anew: bool = False) -> x509.Certificate:
    """Write a certificate for these names and addresses, and the authority unless it stands.

    Refuses NotAName and NotPermitted.
    """
    names = [_name(word) for word in words]
    folder.path.mkdir(mode=0o700, parents=True, exist_ok=True)
    if is_anew or not folder.authority.exists():
        _found(folder, names)
    authority = x509.load_pem_x509_certificate(folder.authority.read_bytes())
    _refuse_beyond(authority, names)
    key = ec.generate_private_key(ec.SECP256R1())
    signer = serialization.load_pem_private_key(folder.authority_key.read_bytes(), None)
    assert isinstance(signer, Key)
    leaf = _leaf(authority, names, key).sign(signer, hashes.SHA256())
    _write(folder.site_key, _plain(key))
    _write(folder.site, _pem(leaf) + _pem(authority))
    return leaf


def names_of(folder: Folder) -> list[str]:
    """Return the names and addresses of the certificate that stands."""
    leaf = x509.load_pem_x509_certificate(folder.site.read_bytes())
    found = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return [str(name.value) for name in found]


def _name(word: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(word))
    except ValueError:
        pass
    labels = word.lower().split(".")
    is_host = all(_is_label(part) for part in labels)
    if not (is_host and word.isascii() and len(word) < 254):
        raise NotAName(word)
    return x509.DNSName(word.lower())


def _is_label(part: str) -> bool:
    return 0 < len(part) < 64 and part.strip("-") == part and part.replace("-", "a").isalnum()


def _found(folder: Folder, names: list[x509.GeneralName]) -> None:
    key, now = ec.generate_private_key(ec.SECP256R1()), datetime.now(UTC)
    called = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Counterdraw authority of {now:%d %b %Y}")])
    usage = x509.KeyUsage(
        key_cert_sign=True,
        crl_sign=True,
        digital_signature=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )
    certificate = (
        _draft(called, called, key, now, now + AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints([_subtree(name) for name in names], None), critical=True)
        .sign(key, hashes.SHA256())
    )
    _write(folder.authority_key, _plain(key))
    _write(folder.authority, _pem(certificate))


def _leaf(authority: x509.Certificate, names: list[x509.GeneralName], key: Key) -> x509.CertificateBuilder:
    now = datetime.now(UTC)
    ends = min(now + SITE_LASTS, authority.not_valid_after_utc)
    called = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, str(names[0].value))])
    issuer = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    by = x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(issuer)
    return (
        _draft(called, authority.subject, key, now, ends)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(by, critical=False)
    )


def _draft(
    called: x509.Name, by: x509.Name, key: Key, since: datetime, until: datetime
) -> x509.CertificateBuilder:
    # A device's clock may be some minutes behind.
    return (
        x509.CertificateBuilder()
        .subject_name(called)
        .issuer_name(by)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(since - timedelta(hours=1))
        .not_valid_after(until)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _subtree(name: x509.GeneralName) -> x509.GeneralName:
    """Return the constraint that permits this name, and of addresses this one alone."""
    return x509.IPAddress(ipaddress.ip_network(name.value)) if isinstance(name.value, ALONE) else name


def _refuse_beyond(authority: x509.Certificate, names: list[x509.GeneralName]) -> None:
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = constraints.permitted_subtrees or []
    for name in names:
        if _subtree(name) not in permitted:
            raise NotPermitted(str(name.value))


def _pem(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.PEM)


def _plain(key: Key) -> bytes:
    kind = serialization.PrivateFormat.PKCS8
    return key.private_bytes(serialization.Encoding.PEM, kind, serialization.NoEncryption())


def _write(path: Path, content: bytes) -> None:
    """Write a file that nobody else may read, whole or not at all."""
    draft = path.with_suffix(".new")
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(content)
    draft.replace(path)
