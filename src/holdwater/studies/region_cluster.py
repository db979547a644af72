"""A region on Dask: workers on this machine, or on a cluster whose scheduler has an address."""

from __future__ import annotations

import logging
import os
import re
import signal
from collections.abc import Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import contextmanager
from importlib import import_module
from typing import Any
from uuid import uuid4

from holdwater.errors import InputError
from holdwater.studies.region import Region, run_block
from holdwater.studies.region_pieces import Piece
from holdwater.studies.region_run import HEARS, Done, Runner, Stopped, unreadable

LOCAL = "local"
ADDRESS = re.compile(r"((tcp|tls|ws|wss|ucx)://)?\S+:\d{1,5}")
WAIT = 30
"""How long a scheduler, and its first worker, may take to answer [s]."""


@contextmanager
def on_dask(scheduler: str, workers: int | None = None) -> Iterator[Runner]:
    """Give a runner of pieces on Dask.

    A piece whose worker dies is run again by another. Pieces come back to this process, which keeps them,
    so workers need to read the weather, but nothing to write to.

    Parameters
    ----------
    scheduler : str
        "local" for workers on this machine that no other machine can reach, or the address of a scheduler:
        "tcp://10.0.0.5:8786".
    workers : int, optional
        How many local workers, each a process with one thread; as many as there are cores by default.

    Raises
    ------
    InputError
        Dask is not installed, no scheduler or no worker answers, workers differ in version or do not see
        the weather.
    """
    if scheduler != LOCAL and workers is not None:
        raise InputError("--workers has no effect on a cluster, which has its own; leave it out")
    if scheduler != LOCAL and not ADDRESS.fullmatch(scheduler):
        raise InputError(f"--scheduler {scheduler}: write local, or an address such as tcp://10.0.0.5:8786")
    clients = _local(workers or os.cpu_count() or 1) if scheduler == LOCAL else _remote(scheduler)
    with clients as client:
        yield _runner(client)


def _distributed() -> Any:
    try:
        return import_module("distributed")  # its functions have no types
    except ImportError:
        raise InputError(
            "--scheduler needs Dask: pip install 'holdwater[cluster]'; without --scheduler the region is run"
            " on this machine, with the same numbers"
        ) from None


@contextmanager
def _local(workers: int) -> Iterator[Any]:
    """Workers on this machine: processes of one thread, which take connections from this machine alone."""
    distributed = _distributed()
    with _unbothered():
        cluster = distributed.LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",  # without it its server of figures listens to all the world
            worker_dashboard_address="127.0.0.1:0",
            silence_logs=logging.CRITICAL,  # what matters of it is told in plain words
        )
    with cluster, distributed.Client(cluster) as client:
        yield client


@contextmanager
def _remote(address: str) -> Iterator[Any]:
    """A cluster that somebody has started."""
    try:
        client = _distributed().Client(address, timeout=WAIT)
    except OSError as fault:
        raise InputError(f"no Dask scheduler answers at {address}: {str(fault).splitlines()[0]}") from None
    with client:
        yield client


@contextmanager
def _unbothered() -> Iterator[None]:
    """Let processes started meanwhile, and by threads started meanwhile, not hear Ctrl-C: it is for this one."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    from multiprocessing import resource_tracker  # not where there are no signal masks

    resource_tracker.ensure_running()  # starting it later would let Ctrl-C through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _runner(client: Any) -> Runner:
    def runner(region: Region, pieces: Sequence[Piece], stopped: Stopped) -> Done:
        if not pieces:
            return
        _check(client, region)
        waiting = iter(pieces)
        running: dict[Any, Piece] = {}

        def start() -> None:
            """Keep every worker busy and one piece ahead, also those that come later."""
            with _answering():
                room = 2 * max(1, sum(client.nthreads().values()))
            while len(running) < room and (piece := next(waiting, None)) is not None:
                running[_submit(client, region, piece)] = piece

        try:
            start()
            while running:
                for future in _done(list(running), stopped):
                    piece = running.pop(future)
                    yield piece, _result(future, region)
                start()
        finally:
            running.clear()  # what nobody waits for any more, the scheduler lets go

    return runner


def _done(futures: list[Any], stopped: Stopped) -> list[Any]:
    """Wait for pieces, hearing Ctrl-C meanwhile."""
    wait = _distributed().wait
    while not stopped():
        try:
            with _answering():
                return list(wait(futures, timeout=HEARS, return_when="FIRST_COMPLETED").done)
        except TimeoutError:
            continue
    raise KeyboardInterrupt


def _submit(client: Any, region: Region, piece: Piece) -> Any:
    """One piece as one task: what goes out is where the file lies and which part of it; the worker reads it."""
    part = region.weather.data.isel(piece.where)
    return client.submit(run_block, part, region.terms, key=f"piece-{piece.number}-{uuid4().hex}", pure=False)


@contextmanager
def _answering() -> Iterator[None]:
    """Tell in plain words that the scheduler no longer answers; that there is nothing yet is no such thing."""
    try:
        yield
    except TimeoutError:
        raise
    except (OSError, CancelledError):
        raise InputError(
            "the Dask scheduler is gone; what is finished is kept: run the same command again to go on"
        ) from None


def _result(future: Any, region: Region) -> Any:
    """A finished piece.

    Raises
    ------
    InputError
        It cannot be finished: the scheduler is gone, the piece took several workers down, or its weather
        cannot be read.
    """
    from distributed.scheduler import KilledWorker

    try:
        return future.result()
    except KilledWorker:
        raise InputError(
            "a piece of the region took several workers down, mostly for want of memory; what is finished is"
            " kept: give workers more memory and run the same command again"
        ) from None
    except CancelledError:
        with _answering():
            raise
    except OSError as fault:
        raise unreadable(region, fault) from None


def _look(path: str) -> tuple[str, bool]:
    """Version of a worker, and whether it sees the weather."""
    from holdwater import __version__

    return __version__, os.path.exists(path)


def _check(client: Any, region: Region) -> None:
    """Make sure that every worker can do its part.

    Raises
    ------
    InputError
        Names the worker that cannot.
    """
    from holdwater import __version__

    try:
        client.wait_for_workers(1, timeout=WAIT)
    except TimeoutError:
        raise InputError(
            f"the Dask scheduler has had no worker for {WAIT} s; start one: dask worker ADDRESS"
        ) from None
    path = str(region.weather.path)
    with _answering():
        answers = client.run(_look, path, on_error="return")
    for name, answer in answers.items():
        if isinstance(answer, BaseException):
            raise InputError(
                f"worker {name} cannot run holdwater ({answer}); install holdwater[cluster] there"
            )
        version, seen = answer
        if version != __version__:
            raise InputError(
                f"worker {name} has holdwater {version}, this machine {__version__}; install the same"
            )
        if not seen:
            raise InputError(
                f"worker {name} does not see {path}; put the weather where all workers can read it"
            )
