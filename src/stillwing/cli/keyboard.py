"""Ctrl-C on long work: Python drops the interrupt where it comes while a module is loaded or an object cleared away."""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

__all__ = ["heard_interrupts"]


@contextmanager
def heard_interrupts() -> Iterator[Callable[[], None]]:
    """Give a check that raises `KeyboardInterrupt` where Ctrl-C was pressed, even if Python dropped the exception.

    An exception in a destructor or in the callback of a weak reference is printed and forgotten (Python documentation,
    `sys.unraisablehook`), the interrupt too. In threads other than the main one, which signals do not reach, the check
    does nothing.
    """
    pressed = threading.Event()

    def remember(number: int, frame: FrameType | None) -> None:
        pressed.set()
        signal.default_int_handler(number, frame)

    def check() -> None:
        if pressed.is_set():
            raise KeyboardInterrupt

    if threading.current_thread() is not threading.main_thread():
        yield check
        return
    before = signal.signal(signal.SIGINT, remember)
    try:
        yield check
    finally:
        signal.signal(signal.SIGINT, before)
