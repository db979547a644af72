"""Drawing on two cores: every second picture in a process of its own, where the machine allows it."""

from __future__ import annotations

import multiprocessing
import os
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from multiprocessing.connection import Connection

Pictures = dict[str, bytes]
Job = Callable[[], Pictures]


def draw_all(jobs: Sequence[tuple[str, Job]], told: Callable[[str], None] | None = None) -> Pictures:
    """Run drawing jobs and gather their pictures, in the order of the jobs.

    A forked process shares the run with this one without copying it. It is used only on Linux, with a
    second core, and while no other thread runs (a fork in the midst of threads may hang); else, and if
    that process fails, everything is drawn here.

    Parameters
    ----------
    jobs : sequence of (str, callable)
        Name of each chart, and what draws it: pictures by file name.
    told : callable, optional
        Called with a chart's name when it is there, for a progress bar.
    """
    drawn: dict[str, Pictures] = {}
    with suppress(OSError, EOFError):
        drawn = _shared(jobs, told)
    for name, job in jobs:
        if name not in drawn:
            drawn[name] = job()
            if told is not None:
                told(name)
    return {file: content for name, _ in jobs for file, content in drawn[name].items()}


def _shared(jobs: Sequence[tuple[str, Job]], told: Callable[[str], None] | None) -> dict[str, Pictures]:
    """What this process and a second one have drawn; empty where there is no second one to be had."""
    if sys.platform != "linux" or (os.cpu_count() or 1) < 2 or threading.active_count() > 1 or len(jobs) < 2:
        return {}
    fork = multiprocessing.get_context("fork")
    receiver, sender = fork.Pipe(duplex=False)
    second = fork.Process(target=_draw, args=(jobs[1::2], sender), daemon=True)
    second.start()
    sender.close()
    try:
        drawn: dict[str, Pictures] = {}
        for name, job in jobs[::2]:
            drawn[name] = job()
            if told is not None:
                told(name)
        for name, _ in jobs[1::2]:
            drawn[name] = receiver.recv()
            if told is not None:
                told(name)
    finally:
        receiver.close()
        second.terminate()
        second.join()
    return drawn


def _draw(jobs: Sequence[tuple[str, Job]], sender: Connection) -> None:
    """Draw in the second process; if it cannot, the first one draws what is missing and says why."""
    try:
        for _, job in jobs:
            sender.send(job())
        sender.close()
    except BaseException:
        os._exit(1)
