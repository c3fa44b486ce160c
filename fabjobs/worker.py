"""The worker beside the shop: a process of its own, begun with it, begun again where it dies, gone when the shop is."""

import logging
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread
from typing import Any

from django.conf import settings

LOOKED_AT = 0.5  # [s] how often it is looked at whether it lives
PAUSE, LONGEST_PAUSE = 2.0, 300.0  # [s] before it is begun again, and where it keeps dying at once
LIVED = 60.0  # [s] one that lived so long did not die at once
TO_END = 5.0  # [s] for one that is told to end
log = logging.getLogger(__name__)


@contextmanager
def beside() -> Iterator[None]:
    """While this lasts, a worker runs on the shop's own data folder."""
    over = Event()
    keeper = Thread(target=_keep, args=(over,), name="worker", daemon=True)
    keeper.start()
    try:
        yield
    finally:
        over.set()
        keeper.join(timeout=2 * TO_END)


def _keep(over: Event) -> None:
    pause = PAUSE
    while not over.is_set():
        begun = time.monotonic()
        with _begun() as worker:
            while worker.poll() is None and not over.wait(LOOKED_AT):
                pass
            if over.is_set():
                _end(worker)
                return
        pause = PAUSE if time.monotonic() - begun > LIVED else min(2 * pause, LONGEST_PAUSE)
        log.error("The worker that looks for better layouts ended (%s); it is begun again.", worker.returncode)
        over.wait(pause)


def _begun() -> "subprocess.Popen[bytes]":
    """A worker whose standard input ends with this process, however that ends.

    In a session of its own, so that Ctrl-C in the terminal reaches the shop alone, which then ends it.
    """
    apart: dict[str, Any] = {"start_new_session": True}
    if os.name != "posix":
        apart = {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)}
    return subprocess.Popen(  # noqa: S603 - our own command
        [sys.executable, str(settings.BASE_DIR / "manage.py"), "work", "--beside"],
        cwd=settings.BASE_DIR,
        env={**os.environ, "FABJOBS_DATA": str(settings.DATA)},
        stdin=subprocess.PIPE,
        **apart,
    )


def _end(worker: "subprocess.Popen[bytes]") -> None:
    if worker.stdin is not None:
        worker.stdin.close()
    try:
        worker.wait(TO_END)
    except subprocess.TimeoutExpired:
        worker.kill()
        worker.wait()
