"""Settings of the benchmarks: the site's own, with the bare views beside its pages."""

from checklists.site.settings import *  # noqa: F403

ROOT_URLCONF = "tests.benchmarks.bare"
