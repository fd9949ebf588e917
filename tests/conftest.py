"""What holds for every test."""

from __future__ import annotations

import os

# As the command line does: the outlook's matrices are small, and tests run on every core. Before anything loads numpy.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

pytest_plugins = ["tests.once_more"]
