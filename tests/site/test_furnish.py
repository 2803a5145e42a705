"""The front door: what it says on an unfit machine, what it installs and when, what the demo answers."""

import importlib.util
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import tomllib
import urllib.request
from pathlib import Path

import pytest

from checklists.site import furnish

ROOT = Path(furnish.ROOT)
LISTED = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a folder with a pyproject.toml and a Python that only writes down what it was asked to do."""
    python = tmp_path / "python"
    python.write_text(f'#!/bin/sh\necho "$@" >> {tmp_path}/asked\ntest ! -e {tmp_path}/broken\n')
    python.chmod(0o755)
    (tmp_path / "pyproject.toml").write_text(
        '[project]\ndependencies = ["one>=1"]\n'
        '[project.optional-dependencies]\ndev = ["two"]\npostgres = ["three"]\n'
    )
    monkeypatch.setattr(furnish, "PYTHON", str(python))
    monkeypatch.setattr(furnish, "PYPROJECT", str(tmp_path / "pyproject.toml"))
    monkeypatch.setattr(furnish, "STAMP", str(tmp_path / "furnished"))
    return tmp_path


def installations(folder: Path) -> list[list[str]]:
    """List what each installation asked pip for."""
    asked = (folder / "asked").read_text().splitlines() if (folder / "asked").exists() else []
    return [[word for word in line.split()[3:] if word[0] != "-"] for line in asked if " install " in line]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.mark.parametrize("version", [(3, 6), (3, 10)])
def test_an_old_python_is_told_which_one_is_needed(version: tuple[int, int]) -> None:
    said = furnish.unfit_machine(version, "posix")
    assert "Python 3.11 or newer" in said
    assert ".".join(map(str, version)) in said


def test_windows_is_told_where_it_runs() -> None:
    assert "WSL" in furnish.unfit_machine((3, 12), "nt")


@pytest.mark.parametrize("version", [(3, 11), (3, 13), (4, 0)])
def test_a_fit_machine_is_told_nothing(version: tuple[int, int]) -> None:
    assert furnish.unfit_machine(version, "posix") == ""


@pytest.mark.parametrize("missing", ["venv", "ensurepip"])
def test_a_python_without_venv_is_told_the_line_to_type(
    bare: Path, monkeypatch: pytest.MonkeyPatch, missing: str
) -> None:
    find = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == missing else find(name))
    monkeypatch.setattr(furnish, "PYTHON", str(bare / "nothing-here"))
    with pytest.raises(SystemExit, match=r"apt-get install python3\.\d+-venv"):
        furnish.make_venv()


@pytest.mark.parametrize(
    ("command", "url", "extras"),
    [
        ("demo", "", set()),
        ("migrate", "", set()),
        ("test", "", {"dev"}),
        ("furnish", "", {"dev"}),
        ("demo", "postgres://localhost/counterdraw", {"postgres"}),
        ("test", "postgresql://localhost/counterdraw", {"dev", "postgres"}),
    ],
)
def test_a_command_wants_only_what_it_needs(
    monkeypatch: pytest.MonkeyPatch, command: str, url: str, extras: set[str]
) -> None:
    monkeypatch.setenv("DATABASE_URL", url)
    assert furnish.wanted_extras(command) == extras


def test_it_installs_what_pyproject_lists() -> None:
    assert furnish.requirements(set()) == LISTED["dependencies"]
    everything = LISTED["dependencies"] + LISTED["optional-dependencies"]["dev"]
    assert furnish.requirements({"dev"}) == everything


def test_it_installs_once(bare: Path) -> None:
    assert furnish.furnish(set())
    assert not furnish.furnish(set())
    assert installations(bare) == [["one>=1"]]


def test_it_installs_again_when_the_list_has_changed(bare: Path) -> None:
    furnish.furnish(set())
    listed = bare / "pyproject.toml"
    listed.write_text(listed.read_text().replace("one>=1", "one>=2"))
    assert furnish.furnish(set())
    assert installations(bare) == [["one>=1"], ["one>=2"]]


def test_an_extra_is_added_and_stays(bare: Path) -> None:
    furnish.furnish(set())
    assert furnish.furnish({"dev"})
    assert not furnish.furnish(set())
    assert furnish.furnish({"postgres"})
    assert not furnish.furnish({"dev", "postgres"})
    assert installations(bare)[1:] == [["one>=1", "two"], ["one>=1", "two", "three"]]


def test_a_failed_installation_is_said_and_tried_again(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(furnish, "make_venv", lambda: None)
    (bare / "broken").touch()
    with pytest.raises(SystemExit, match="pip could not install"):
        furnish.furnish(set())
    (bare / "broken").unlink()
    assert furnish.furnish(set())


def test_an_unfinished_stamp_counts_for_nothing(bare: Path) -> None:
    (bare / "furnished").touch()
    assert furnish.furnish(set())


def test_the_port_is_8000_or_the_one_named() -> None:
    port = free_port()
    assert furnish.read_port(["--port", str(port)]) == port


@pytest.mark.parametrize("wrong", ["0", "65536", "-1", "eight"])
def test_a_wrong_port_is_refused_in_words(wrong: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        furnish.read_port([f"--port={wrong}"])
    assert "--port" in capsys.readouterr().err


def test_a_taken_port_is_told_before_anything_is_done(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(SystemExit):
            furnish.read_port(["--port", str(other.getsockname()[1])])
    assert "choose another" in capsys.readouterr().err


def test_the_door_without_words_names_the_commands() -> None:
    told = subprocess.run([sys.executable, "manage.py"], cwd=ROOT, capture_output=True, text=True, check=True)
    assert "python3 manage.py demo" in told.stdout
    assert "python3 manage.py test" in told.stdout


def answer_of(url: str, server: subprocess.Popen[str]) -> int:
    """Ask until the server answers, for a minute at most; give the status."""
    for _ in range(300):
        try:
            with urllib.request.urlopen(url, timeout=5) as response:
                return response.status
        except OSError:
            assert server.poll() is None, server.communicate()[0]
            time.sleep(0.2)
    pytest.fail(f"nothing answered at {url}")


def demonstrate(folder: Path, data: Path) -> str:
    """Run the demonstration until it answers, stop it as a person would, and give what it said."""
    port = free_port()
    environment = {
        name: value
        for name, value in os.environ.items()
        if name not in {"DATABASE_URL", "COUNTERDRAW_SECRET_KEY"}
    }
    environment |= {"COUNTERDRAW_DATA": str(data), "HOME": str(data / "no-such-home")}
    server = subprocess.Popen(
        [sys.executable, "manage.py", "demo", "--port", str(port)],
        cwd=folder,
        env=environment,
        text=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    try:
        assert answer_of(f"http://127.0.0.1:{port}/", server) == 200
    finally:
        server.send_signal(signal.SIGINT)
        said, _ = server.communicate(timeout=60)
    assert server.returncode == 0, said
    assert f"http://127.0.0.1:{port}/" in said
    return said


def test_the_demonstration_answers_and_may_be_started_again(tmp_path: Path) -> None:
    first, second = demonstrate(ROOT, tmp_path), demonstrate(ROOT, tmp_path)
    assert "Traceback" not in first + second
    assert (tmp_path / "counterdraw.sqlite3").exists()
    assert (tmp_path / "secret_key").stat().st_mode & 0o777 == 0o600


@pytest.mark.long
def test_a_bare_copy_furnishes_itself(tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".venv", ".data", ".git", "__pycache__"))
    said = demonstrate(copy, tmp_path / "data")
    assert "Making .venv" in said
    assert (copy / ".venv" / "furnished").exists()
