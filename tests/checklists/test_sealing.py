"""What ended is bound into one chain of the site; checkpoints kept elsewhere show what was reckoned anew.

Also what is stored beside the entries: changed past the program, each kind is named.
Source: the project's own rules. Ed25519: RFC 8032 through the cryptography package (page).
"""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, PublicFormat
from django.core.management import call_command
from django.core.management.base import CommandError

from cast import Cast, Hands, key, order, stock_batch
from checklists import run
from checklists.method.chain import canonical, digest
from checklists.models import Closing, Entry
from tests.checklists.walks import beside, past_the_guard


def told(*words: object) -> str:
    said = io.StringIO()
    try:
        call_command(*map(str, words), stdout=said, stderr=said, no_color=True)
    except CommandError as failed:
        return f"{said.getvalue()}{failed}"
    return said.getvalue()


def verify(*words: object) -> str:
    return told("verify_records", *words)


@pytest.fixture
def ended(everybody: Cast) -> list[Hands]:
    """Three records: one released, one given up, one still open."""
    released = beside(everybody, order("ketorolac-syringe", "30 mg")).to_release()
    given_up = beside(everybody, order("ketorolac-syringe", "30 mg")).to("first_check")
    run.abandon(code=given_up.code, person=given_up.technician, key=key(), reason="the ward called it off")
    run.clear_hood(code=given_up.code, person=given_up.technician, key=key())
    return [released, given_up, beside(everybody, order("ketorolac-syringe", "30 mg"))]


def test_every_record_that_ended_is_a_link_in_the_order_in_which_it_ended(ended: list[Hands]) -> None:
    links = list(Closing.objects.all())
    assert [(one.number, one.preparation.code) for one in links] == [(1, ended[0].code), (2, ended[1].code)]
    assert links[0].previous == "0" * 64
    assert links[1].previous == links[0].digest == digest(links[0].previous, links[0].text)
    closed = json.loads(links[0].text)
    last = ended[0].preparation.entries.last()
    assert (closed["state"], closed["entries"], closed["last"]) == ("released", last.number, last.digest)
    assert verify() == "3 records verified, every entry as it was written.\n"
    assert verify("--quick") == "3 records seen by their ends.\n"


@pytest.mark.parametrize("what", ["a batch", "two ingredients", "a hazardous drug", "a powder"])
def test_an_honest_record_of_any_kind_says_what_is_stored(everybody: Cast, what: str) -> None:
    asked = {
        "a batch": stock_batch,
        "two ingredients": lambda: order("potassium-magnesium-nacl-1000", "20 mEq|2 g"),
        "a hazardous drug": lambda: order("fluorouracil-nacl-500", "800 mg"),
        "a powder": lambda: order("vancomycin-nacl-250", "1100 mg"),
    }[what]()
    work = beside(everybody, asked).to_release()
    assert work.preparation.state == "released"
    assert verify() == "1 records verified, every entry as it was written.\n"


def reckon_anew(work: Hands) -> None:
    """Change entries and reckon every digest anew, as somebody with the database and time would."""
    previous = "0" * 64
    for entry in work.preparation.entries.order_by("number"):
        text = entry.text.replace(work.technician.name, "Nobody Known")
        Entry.objects.filter(pk=entry.pk).update(text=text, previous=previous, digest=digest(previous, text))
        previous = digest(previous, text)


def test_a_closed_record_reckoned_anew_is_found_by_the_quick_way_too(ended: list[Hands]) -> None:
    with past_the_guard():
        reckon_anew(ended[0])
    for way in ((), ("--quick",)):
        assert f"link 1 ({ended[0].code}): entry " in verify(*way)
        assert "is not the one that was closed" in verify(*way)


@pytest.mark.parametrize("change", ["text", "digest", "previous", "taken out", "never closed"])
def test_a_link_that_was_changed_or_taken_out_is_named(ended: list[Hands], change: str) -> None:
    first = Closing.objects.get(number=1)
    with past_the_guard():
        if change == "taken out":
            first.delete()
        elif change == "never closed":
            Closing.objects.all().delete()
        else:
            old = getattr(first, change)
            other = ("1" if old[0] == "0" else "0") + old[1:]
            Closing.objects.filter(pk=first.pk).update(**{change: other})
    said = verify("--quick")
    assert said.endswith("Every entry is as it was written, but not all that guards them.")
    expected = "it ended, but is no link" if change == "never closed" else "link 1 ("
    assert expected in said


@pytest.fixture
def keys(tmp_path: Path) -> tuple[Path, Path]:
    key = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
    private, public = tmp_path / "private.pem", tmp_path / "public.pem"
    private.write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    public.write_bytes(key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo))
    return private, public


def test_a_checkpoint_shows_what_the_chains_alone_cannot(
    ended: list[Hands], keys: tuple[Path, Path], tmp_path: Path
) -> None:
    file = tmp_path / "checkpoint.json"
    assert told("checkpoint", file, "--key", keys[0]) == f"{file}: 2 links, 1 open records, signed.\n"
    wanted = ("--checkpoint", file, "--key", keys[1])
    assert verify(*wanted) == "3 records verified, every entry as it was written.\n"
    ended[2].do()
    assert "3 records verified" in verify(*wanted), "work that went on leads through the checkpoint"
    with past_the_guard():
        reckon_anew(ended[2])
    assert "3 records verified" in verify(), "an open record reckoned anew holds by itself"
    assert f"{ended[2].code}: entry 1 is not the one of the checkpoint" in verify(*wanted)


def test_a_checkpoint_that_was_changed_does_not_fit_its_signature(
    ended: list[Hands], keys: tuple[Path, Path], tmp_path: Path
) -> None:
    file = tmp_path / "checkpoint.json"
    told("checkpoint", file, "--key", keys[0])
    said = json.loads(file.read_text())
    file.write_text(canonical({**said, "open": {}}))
    assert f"{file}: its signature does not fit" in verify("--checkpoint", file, "--key", keys[1])
    file.write_text("no JSON")
    assert "The checkpoint cannot be read" in verify("--checkpoint", file)
    assert "The checkpoint was not written" in told("checkpoint", tmp_path)


def test_a_checkpoint_prints_for_a_folder(ended: list[Hands]) -> None:
    said = told("checkpoint").splitlines()
    assert said[1] == "Link 2 of the site's chain"
    assert said[2].split() == [Closing.objects.last().digest[at : at + 8] for at in range(0, 64, 8)]
    assert said[3] == f"{ended[2].code}, open, entry 1"


BESIDE = {
    "the worksheet": lambda one: (
        type(one).objects.filter(pk=one.pk).update(worksheet={**one.worksheet, "title": "another"})
    ),
    "a drawn amount": lambda one: one.readings.update(volume_ml="1.1"),
    "a seen amount": lambda one: one.readings.first().sightings.update(agrees=False),
    "a first check": lambda one: one.recalculations.update(attempt=2),
    "a container": lambda one: one.materials.update(container="vial 9"),
    "how it ended": lambda one: type(one).objects.filter(pk=one.pk).update(state="discarded"),
}


@pytest.mark.parametrize("what", BESIDE)
def test_what_is_stored_beside_the_entries_is_compared_with_them(ended: list[Hands], what: str) -> None:
    with past_the_guard():
        BESIDE[what](ended[0].preparation)
    said = verify()
    assert re.search(rf"{ended[0].code}: entry \d+: {what} that it made was changed or is missing\n", said)
    assert said.endswith("1 of 3 records are not as they were written.")
