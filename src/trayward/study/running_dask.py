"""Seasons lived on a Dask engine that runs already: its scheduler hands them to its workers."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import Any

from trayward.errors import InputError
from trayward.study.kept_seasons import program_mark
from trayward.study.running_local import Ended, Run, lived
from trayward.study.types import SeasonTask

PATIENCE = 10.0
"""How long a scheduler, and then its first worker, is waited for. [s]"""


def on_scheduler(
    tasks: Sequence[SeasonTask], run: Run, address: str, *, patience: float = PATIENCE
) -> Generator[Ended]:
    """
    Live through seasons on a Dask engine; gives each as it ends.

    Parameters
    ----------
    tasks : sequence of SeasonTask
        Seasons to live through.
    run : callable
        What lives through one. The workers must be able to import it.
    address : str
        Where the scheduler is: `tcp://loft.lan:8786`.
    patience : float
        How long the scheduler, and then its first worker, is waited for. [s]

    Raises
    ------
    InputError
        If Dask distributed is not installed, nobody answers at the address, there is no worker, or a worker has
        another state of the program.

    Notes
    -----
    The seasons of a worker that dies are given to another one by the scheduler, and so are those whose results were
    lost with it. A season is a pure function of its task, so living through it twice does no harm.
    """
    client = _client(address, patience)
    try:
        _require_workers(client, address, patience)
        yield from _as_they_end(client, tasks, run)
    finally:
        client.close()


def _client(address: str, patience: float) -> Any:
    try:
        from distributed import Client
    except ImportError as error:
        rule = "it takes Dask distributed, which is not installed here"
        raise InputError("scheduler", address, rule, "Install it with: pip install 'trayward[study]'") from error
    try:
        return Client(address, timeout=patience, set_as_default=False)
    except (OSError, ValueError) as error:
        rule = f"no Dask scheduler answers there within {patience:g} s"
        remedy = "Start one with `dask scheduler`, and give the address it says: tcp://HOST:8786."
        raise InputError("scheduler", address, rule, remedy) from error


def _require_workers(client: Any, address: str, patience: float) -> None:
    """Somebody must be there to work, and by the same program: else the figures would not be those of this one."""
    try:
        client.wait_for_workers(1, timeout=patience)
    except TimeoutError as error:
        rule, remedy = "the scheduler has no worker", f"Start one with: dask worker {address}"
        raise InputError("scheduler", address, rule, remedy) from error
    try:
        marks = client.run(program_mark)
    except ImportError as error:
        rule = "its workers do not have this state of the program"
        raise InputError("scheduler", address, rule, "Install this version of trayward on every worker.") from error
    others = sorted(worker for worker, mark in marks.items() if mark != program_mark())
    if others:
        rule = f"another state of the program is on {', '.join(others[:4])}"
        raise InputError("scheduler", address, rule, "Install this version of trayward on every worker.")


def _as_they_end(client: Any, tasks: Sequence[SeasonTask], run: Run) -> Generator[Ended]:
    from distributed import as_completed

    futures = {client.submit(lived, run, task, pure=False): task for task in tasks}
    try:
        for future in as_completed(list(futures), loop=client.loop):
            yield _ended(future, futures[future])
            future.release()
    finally:
        client.cancel([future for future in futures if not future.done()])


def _ended(future: Any, task: SeasonTask) -> Ended:
    """What came of a season; that the engine itself gave up on it becomes words."""
    from concurrent.futures import CancelledError

    try:
        ended = future.result()
    except CancelledError:
        return Ended(task=task, error="the scheduler let go of it; the next run of this study takes it up again")
    except Exception as error:
        return Ended(task=task, error=f"{type(error).__name__}: {error}")
    assert isinstance(ended, Ended)
    return ended
