import os
import signal
import threading
import weakref

import pytest

from stillwing.cli.keyboard import heard_interrupts


class Thing:
    """Something to be cleared away."""


def press() -> None:
    os.kill(os.getpid(), signal.SIGINT)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_an_interrupt_that_python_drops_is_heard_at_the_next_check():
    with heard_interrupts() as check:
        check()
        thing = Thing()
        ref = weakref.ref(thing, lambda _: press())
        del thing  # the interrupt is raised in the callback, where exceptions are forgotten
        assert ref() is None
        with pytest.raises(KeyboardInterrupt):
            check()


def test_an_interrupt_comes_at_once_otherwise_and_the_handler_before_is_back_afterwards():
    before = signal.getsignal(signal.SIGINT)
    with pytest.raises(KeyboardInterrupt), heard_interrupts():
        press()
        pytest.fail("it went on")
    assert signal.getsignal(signal.SIGINT) is before


def test_a_thread_that_signals_do_not_reach_works_without():
    checked = []

    def work() -> None:
        with heard_interrupts() as check:
            check()
            checked.append(True)

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert checked == [True]
