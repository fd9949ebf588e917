"""What holds for every test."""

from __future__ import annotations

import os
import signal

# A run begun in the background of a script inherits that Ctrl-C means nothing, and so would each program a test starts.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# As the command line does: the outlook's matrices are small, and tests run on every core. Before anything loads numpy.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

pytest_plugins = ["tests.once_more"]
