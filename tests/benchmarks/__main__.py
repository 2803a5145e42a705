"""Every benchmark, one after the other: `python3 -m tests.benchmarks [--keep FOLDER]`.

Each prints a table; the load of the machine stands above it. With DATABASE_URL the steps are measured there.
"""

from __future__ import annotations

import subprocess
import sys

PARTS = ("worksheet", "recall", "steps", "painting", "pages")


def main() -> None:
    for part in PARTS:
        words = sys.argv[1:] if part == "pages" else []
        print(f"\n# {part}", flush=True)
        subprocess.run([sys.executable, "-m", f"tests.benchmarks.{part}", *words], check=False)


if __name__ == "__main__":
    main()
