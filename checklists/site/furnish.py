"""The front door of a bare machine: makes ``.venv``, installs what pyproject.toml lists, then does as asked.

Standard library only, and written so that Python 3.6 can still read it: whoever has an old Python is to be
told so in a sentence and not by a syntax error.
"""

import argparse
import hashlib
import importlib.util
import os
import socket
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
VENV = os.path.join(ROOT, ".venv")
PYTHON = os.path.join(VENV, "bin", "python")
PYPROJECT = os.path.join(ROOT, "pyproject.toml")
STAMP = os.path.join(VENV, "furnished")

OLDEST = (3, 11)
USAGE = """Counterdraw

  python3 manage.py demo [--port N]         the demonstration, on http://127.0.0.1:8000/ unless told otherwise
  python3 manage.py test [--long] [...]     every test; what follows is handed to pytest
  python3 manage.py furnish                 install the developers' tools and stop
  python3 manage.py help                    Django's commands, which enter by this door too"""


def open_door(words: "list[str]") -> None:
    """Furnish what the command needs, go over to the Python of ``.venv``, and carry the command out."""
    unfit = unfit_machine(sys.version_info[:2], os.name)
    if unfit:
        sys.exit(unfit)
    if not words:
        print(USAGE)
        return
    command, rest = words[0], words[1:]
    port = read_port(rest) if command == "demo" else None
    is_newly_furnished = furnish(wanted_extras(command))
    if is_newly_furnished or not is_inside():
        go(os.path.join(ROOT, "manage.py"), *words)
    if port:
        serve_demo(port)
    elif command == "test":
        os.chdir(ROOT)
        go("-m", "pytest", "--numprocesses", "auto", "--dist", "worksteal", *rest)
    elif command != "furnish":
        run_django(*words)


def unfit_machine(version: "tuple[int, ...]", system: str) -> str:
    """Say why this machine cannot run the program, and what to do; nothing when it can."""
    if tuple(version) < OLDEST:
        found = ".".join(str(part) for part in version)
        return f"Counterdraw needs Python 3.11 or newer, and this is {found}. Run manage.py with a newer one."
    if system == "nt":
        return "Counterdraw runs on Linux and macOS. On Windows, run the same command inside WSL."
    return ""


def wanted_extras(command: str) -> "set[str]":
    """Name the groups of pyproject.toml that a command needs beside the dependencies themselves."""
    extras = set()
    if command in ("test", "furnish"):
        extras.add("dev")
    if os.environ.get("DATABASE_URL", "").startswith("postgres"):
        extras.add("postgres")
    return extras


def read_port(words: "list[str]") -> int:
    """Read ``--port N`` and make sure that nobody listens there."""
    parser = argparse.ArgumentParser(prog="manage.py demo")
    parser.add_argument("--port", type=int, default=8000, help="where the demonstration listens (8000)")
    port: int = parser.parse_args(words).port
    if not 0 < port < 65536:
        parser.error(f"--port is a number from 1 to 65535, not {port}")
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError as trouble:
            parser.error(f"port {port} cannot be used ({trouble.strerror}); choose another one")
    return port


def is_inside() -> bool:
    """Tell whether this Python is the one of ``.venv``."""
    return os.path.realpath(sys.prefix) == os.path.realpath(VENV)


def furnish(extras: "set[str]") -> bool:
    """Install what is listed unless the stamp says that it stands already; tell whether anything was done."""
    with open(PYPROJECT, "rb") as file:
        digest = hashlib.sha256(file.read()).hexdigest()
    standing = read_stamp(digest)
    if standing is not None and extras <= standing and os.path.exists(PYTHON):
        return False
    extras = extras | (standing or set())
    make_venv()
    print("Installing what pyproject.toml lists into .venv ...", flush=True)
    pip = [PYTHON, "-m", "pip", "install", "--quiet", "--no-input", "--disable-pip-version-check"]
    if subprocess.call(pip + requirements(extras)) != 0:
        sys.exit("pip could not install all that is listed (see above). It needs a way to a package index.")
    with open(STAMP, "w", encoding="ascii") as file:
        file.write("\n".join([digest] + sorted(extras)))
    return True


def read_stamp(digest: str) -> "set[str] | None":
    """Read which extras stand for this very pyproject.toml; None when it has changed or nothing stands."""
    if not os.path.exists(STAMP):
        return None
    with open(STAMP, encoding="ascii") as file:
        stamped, *extras = file.read().split() or [""]
    return set(extras) if stamped == digest else None


def make_venv() -> None:
    """Make ``.venv``, or make it anew when its Python or its pip is gone."""
    sound = [PYTHON, "-m", "pip", "--version"]
    if os.path.exists(PYTHON) and subprocess.call(sound, stdout=subprocess.DEVNULL) == 0:
        return
    if not (importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip")):
        sys.exit(
            "This Python cannot make a virtual environment: its venv or ensurepip module is missing.\n"
            "On Debian or Ubuntu: sudo apt-get install python{}.{}-venv".format(*sys.version_info)
        )
    print("Making .venv ...", flush=True)
    if subprocess.call([sys.executable, "-m", "venv", "--clear", VENV]) != 0:
        sys.exit(f"Python could not make {VENV} (see above). Is there space, and may you write there?")


def requirements(extras: "set[str]") -> "list[str]":
    """List the dependencies and those of the extras, as pyproject.toml words them."""
    import tomllib  # not in the old Pythons that must still be able to read this file

    with open(PYPROJECT, "rb") as file:
        project = tomllib.load(file)["project"]
    listed = list(project["dependencies"])
    for extra in sorted(extras):
        listed += project["optional-dependencies"][extra]
    return listed


def go(*words: str) -> None:
    """Become the Python of ``.venv`` with these words; never comes back."""
    sys.stdout.flush()
    os.execv(PYTHON, [PYTHON] + list(words))


def run_django(*words: str) -> None:
    """Carry out one Django command in this process."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "checklists.site.settings")
    from django.core.management import execute_from_command_line  # present only once furnished

    execute_from_command_line(["manage.py"] + list(words))


def serve_demo(port: int) -> None:
    """Bring tables, invented data and static files up to date, say where it is, and serve until Ctrl-C."""
    run_django("migrate", "--verbosity", "0")
    run_django("seed_demo")
    run_django("collectstatic", "--no-input", "--verbosity", "0")
    print(f"\nCounterdraw is at http://127.0.0.1:{port}/   (Ctrl-C stops it)")
    os.chdir(ROOT)
    server = ["--bind", f"127.0.0.1:{port}", "--worker-class", "gthread", "--workers", "2", "--threads", "4"]
    go("-m", "gunicorn", *server, "--no-control-socket", "--log-level", "warning", "checklists.site.wsgi")
