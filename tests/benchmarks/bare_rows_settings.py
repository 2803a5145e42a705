"""Settings of the bare server: the same middlewares and database, and one view that does next to nothing."""

from tests.site.served import *  # noqa: F403

ROOT_URLCONF = "tests.benchmarks.bare_rows"
