"""The site's chain verified, and its checkpoints: small statements kept elsewhere, signed if there is a key.

Whoever owns the database could reckon every chain anew. A checkpoint that lies on paper or on another machine
shows it: from then on each link and each open record must still lead through what the checkpoint says.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import load_pem_private_key, load_pem_public_key

from checklists.controlled import unaccounted
from checklists.method.chain import GENESIS, canonical, digest
from checklists.models import Closing, Preparation

ENDED = (Preparation.State.RELEASED, Preparation.State.DISCARDED, Preparation.State.ON_PAPER)


def site_faults() -> Iterator[str]:
    """Yield what is off with the site's chain: a link changed or gone, a record that left it."""
    previous, expected = GENESIS, 1
    kept = "number", "text", "previous", "digest", "preparation__code", "preparation__state"
    for closing in Closing.objects.select_related("preparation").only(*kept):
        what = _what_is_off(closing, previous, expected)
        if what:
            yield f"link {expected} ({closing.preparation.code}): {what}"
            return
        previous, expected = closing.digest, expected + 1
    for preparation in Preparation.objects.filter(state__in=ENDED, closing=None).only("code", "state"):
        if not _waits_for_a_witness(preparation):
            yield f"{preparation.code}: it ended, but is no link of the site's chain"


def _waits_for_a_witness(preparation: Preparation) -> bool:
    """Say whether the link waits until controlled waste is accounted for; not where nothing can be read."""
    try:
        return any(unaccounted(preparation))
    except (ValueError, KeyError, TypeError):
        return False


def _what_is_off(closing: Closing, previous: str, expected: int) -> str:
    if closing.number != expected:
        return "a link before it is missing"
    if closing.previous != previous or closing.digest != digest(closing.previous, closing.text):
        return "it was changed"
    told = json.loads(closing.text)
    preparation = closing.preparation
    if (told["preparation"], told["state"]) != (preparation.code, preparation.state):
        return "it does not stand for this preparation, or for how that ended"
    if not preparation.entries.filter(number=told["entries"], digest=told["last"]).exists():
        return f"entry {told['entries']} of its record is not the one that was closed"
    return ""


def checkpoint(at: datetime) -> dict[str, Any]:
    """Return what stands now: the last link of the site's chain, and the last entry of every open record."""
    last = Closing.objects.last()
    open_records = Preparation.objects.filter(closing=None).order_by("code")
    return {
        "at": at.isoformat(timespec="seconds"),
        "links": last.number if last else 0,
        "digest": last.digest if last else GENESIS,
        "open": {one.code: _head(one) for one in open_records},
    }


def _head(preparation: Preparation) -> list[object]:
    last = preparation.entries.last()
    return [last.number, last.digest] if last else [0, GENESIS]


def checkpoint_faults(told: dict[str, Any]) -> Iterator[str]:
    """Yield where the database no longer leads through what a checkpoint says."""
    links, head = told["links"], told["digest"]
    if links and not Closing.objects.filter(number=links, digest=head).exists():
        yield f"link {links} of the site's chain is not the one of the checkpoint"
    for code, (number, head) in told["open"].items():
        found = Preparation.objects.filter(code=code).first()
        if found is None or not found.entries.filter(number=number, digest=head).exists():
            yield f"{code}: entry {number} is not the one of the checkpoint"


def sign(told: dict[str, Any], private_pem: bytes) -> bytes:
    """Return the detached Ed25519 signature (64 bytes) of a checkpoint's canonical text."""
    key = load_pem_private_key(private_pem, password=None)
    if not isinstance(key, Ed25519PrivateKey):
        raise ValueError("the key is not an Ed25519 key")
    return key.sign(canonical(told).encode())


def is_signed(told: dict[str, Any], signature: bytes, public_pem: bytes) -> bool:
    """Say whether the signature is the key's own, of this very checkpoint."""
    key = load_pem_public_key(public_pem)
    if not isinstance(key, Ed25519PublicKey):
        raise ValueError("the key is not an Ed25519 key")
    try:
        key.verify(signature, canonical(told).encode())
    except InvalidSignature:
        return False
    return True
