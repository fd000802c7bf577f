"""Work on files from anybody in a process apart, which may use only so much and may die of it; the caller goes on.

A command works in such a process from its beginning (`takeoff.cli.main`). In the window, which says how to wait for
one with `go_apart`, each function marked `apart` is done there.
"""

from __future__ import annotations

import contextlib
import functools
import os
import signal
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from multiprocessing import get_all_start_methods, get_context, resource_tracker
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from queue import Empty, SimpleQueue
from typing import Any, ParamSpec, TypeVar

from takeoff.errors import SheetError
from takeoff.limits import LOOK, SHEET_SECONDS, Excess, bind, excess_of, limit

P = ParamSpec("P")
T = TypeVar("T")
_Work = tuple["Future[Any]", Callable[..., Any], tuple[Any, ...]]
IDLE = 60.0
"""Seconds without work after which a process is ended: each holds some 100 to 150 MB, and a new one is there in a
second."""


class StoppedError(SheetError):
    """Work in a process apart that was stopped, or that the process died of."""


class Apart:
    """One process that does what it is handed, one thing after another; it is started when it is first needed.

    Work that goes beyond a limit (`takeoff.limits`), or that the process dies of, ends in a `StoppedError`; the next
    work gets a new process.

    Parameters
    ----------
    patience
        By how much it comes after other work where both want the processor, in steps of ``nice``.
    idle
        Seconds without work after which the process is ended, until there is work again.
    loads
        Modules that are loaded once for all processes that name some, where the system can copy a process that has
        loaded them: each of these is ready at once and shares their memory. All name the same ones.
    """

    def __init__(self, patience: int = 0, idle: float = IDLE, loads: Sequence[str] = ()) -> None:
        self._patience, self._idle, self._loads = patience, idle, loads
        self._waiting: SimpleQueue[_Work | None] = SimpleQueue()
        self._thread: threading.Thread | None = None
        self._process: BaseProcess | None = None
        self._is_closing = threading.Event()
        self._asked: set[Future[Any]] = set()
        self._own_end: Connection | None = None
        self._line: Connection | None = None
        """The line to the process while it works."""
        self._turn = threading.Lock()

    def submit(self, work: Callable[..., Any], *given: Any) -> Future[Any]:
        """Have a function of a module called over there; it and what it is given must be fit for pickling."""
        if self._thread is None:
            self._is_closing.clear()
            self._thread = threading.Thread(target=self._serve, name="apart", daemon=True)
            self._thread.start()
        future: Future[Any] = Future()
        self._asked.add(future)
        future.add_done_callback(self._asked.discard)
        self._waiting.put((future, work, given))
        return future

    def rest(self) -> None:
        """Have nothing under way: an idle process is kept for the next work, one at work is ended."""
        if self._asked:
            self.close()

    def interrupt(self) -> None:
        """Tell the work under way that it is no longer wanted; it may ask for that with `is_wanted`."""
        with self._turn, contextlib.suppress(OSError):
            if self._line is not None:
                self._line.send(None)

    def close(self) -> None:
        """End the process, be it in the middle of something: it only reads, so nothing is lost."""
        self._is_closing.set()
        if self._thread is not None:
            self._waiting.put(None)
            self._thread.join()
        self._thread = None

    def _serve(self) -> None:
        """Hand over one thing after another (the thread); what was made is not held on to while it waits for more."""
        while self._do(self._next()):
            pass
        self._stop("")

    def _do(self, asked: _Work | None) -> bool:
        """Have one thing done over there; there is none where the process is to be closed."""
        if asked is None:
            return False
        future, work, given = asked
        if self._is_closing.is_set():
            future.cancel()
        if not future.set_running_or_notify_cancel():
            return True
        try:
            if self._process is None or not self._process.is_alive():
                self._start()
            assert self._own_end is not None
            self._own_end.send((work, given))
            self._line = self._own_end
            is_done, made = self._answer(self._own_end)
        except (EOFError, OSError):
            is_done, made = False, self._stop("reading it ended the process; the file may be damaged")
        except Exception as error:  # it cannot be sent or received: told where it is waited for
            is_done, made = False, error
        with self._turn:
            self._line = None
        (future.set_result if is_done else future.set_exception)(made)
        return True

    def _next(self) -> _Work | None:
        """Wait for the next work; meanwhile a process that has been idle for long is ended."""
        while True:
            try:
                return self._waiting.get(timeout=self._idle if self._process is not None else None)
            except Empty:
                self._stop("")

    def _start(self) -> None:
        spawned = get_context("spawn")
        self._own_end, other = spawned.Pipe()
        given = (other, os.getpid(), self._patience)
        process: BaseProcess
        if self._loads and "forkserver" in get_all_start_methods():
            copied = get_context("forkserver")
            copied.set_forkserver_preload(list(self._loads))
            process = copied.Process(target=_work, args=given, daemon=True)
            resource_tracker.ensure_running()  # it would let Ctrl+C through again
            before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
            try:  # Ctrl+C is for the parent, also while the process that is copied gets ready
                process.start()
            finally:
                signal.pthread_sigmask(signal.SIG_SETMASK, before)
        else:
            process = spawned.Process(target=_work, args=given, daemon=True)
            process.start()
        self._process = process
        other.close()

    def _answer(self, line: Connection) -> tuple[bool, Any]:
        """Wait for what was made, or for the error there was; look meanwhile whether the limits are kept."""
        assert self._process is not None
        assert self._process.pid is not None
        begun, seconds = time.monotonic(), limit(SHEET_SECONDS)
        patience = 0.0  # the first look is at once, or quick work would pass unseen
        while not line.poll(patience):
            patience = LOOK
            excess = excess_of(self._process.pid)
            if time.monotonic() - begun > seconds:
                excess = Excess(f"it took more than {seconds:,} s", SHEET_SECONDS[0])
            if excess is not None:
                return False, self._stop(f"{excess.why} (the limit is {excess.name})")
            if self._is_closing.is_set():
                return False, self._stop("it was stopped")
        answer: tuple[bool, Any] = line.recv()
        return answer

    def _stop(self, why: str) -> StoppedError:
        """End the process, and give the refusal that says why."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
        self._process = None
        return StoppedError(why)


_TO_PARENT: list[Connection] = []
"""In a process apart: the line to the one that it works for."""
_WAIT: list[Callable[[Callable[..., Any], tuple[Any, ...]], Any]] = []
"""In the window: what has a function done apart and waits for what it makes."""


def is_wanted() -> bool:
    """Tell, in a process apart, whether what is being made is still wanted (`Apart.interrupt`)."""
    return not any(line.poll() for line in _TO_PARENT)


def apart(work: Callable[P, T]) -> Callable[P, T]:
    """Mark a function that reads files from anybody: the window has it done in a process apart.

    What it is given and what it makes must be fit for pickling.
    """

    @functools.wraps(work)
    def call(*args: P.args, **kwargs: P.kwargs) -> T:
        if not _WAIT:
            return work(*args, **kwargs)
        made: T = _WAIT[-1](functools.partial(call, **kwargs), args)
        return made

    return call


def go_apart(wait: Callable[[Callable[..., Any], tuple[Any, ...]], Any] | None) -> None:
    """Have functions marked `apart` done by ``wait``, which is given function and arguments; ``None``: done here."""
    _WAIT[:] = [wait] if wait is not None else []


def _work(line: Connection, parent: int, patience: int) -> None:
    """Do what is asked until the parent hangs up (the process)."""
    _TO_PARENT.append(line)
    bind(parent)
    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent ends this process where a person presses Ctrl+C
    if patience and hasattr(os, "nice"):
        os.nice(patience)
    while True:
        try:
            asked = line.recv()
        except EOFError:
            return
        except Exception as error:
            line.send((False, error))
            continue
        if asked is None:  # what it was about is done
            continue
        try:
            answer = True, asked[0](*asked[1])
        except Exception as error:
            answer = False, error
        try:
            line.send(answer)
        except Exception as error:
            line.send((False, TypeError(f"this cannot be handed back: {error}")))
