import os
import signal
import threading
import time

import cv2
import pytest

from stillwing.frames.workers import TaskFailed, WorkerPool, run_task


def test_calls_are_made_in_other_processes_and_come_back():
    with WorkerPool(2) as pool:
        assert pool.submit(divmod, 17, 5).result() == (3, 2)
        assert pool.submit(os.getpid).result() != os.getpid()


def test_each_worker_keeps_to_one_thread():
    with WorkerPool(1) as pool:
        assert pool.submit(cv2.getNumThreads).result() == 1
        assert pool.submit(os.getenv, "OMP_NUM_THREADS").result() == "1"


def test_a_call_that_raises_fails_alone_and_says_what_it_raised(caplog):
    with WorkerPool(1) as pool:
        with pytest.raises(TaskFailed, match=r"ZeroDivisionError: .*"):
            pool.submit(divmod, 1, 0).result()
        assert "Traceback" in caplog.text
        assert pool.submit(divmod, 1, 1).result() == (1, 0)


@pytest.mark.parametrize(
    ("killer", "args", "said"),
    [(os.abort, (), "SIGABRT"), (os._exit, (3,), "exit code 3")],
    ids=["crash", "exit"],
)
def test_a_worker_that_dies_costs_its_own_call_and_is_replaced(killer, args, said):
    with WorkerPool(2) as pool:
        slow = pool.submit(time.sleep, 1.0)
        with pytest.raises(TaskFailed, match=said):
            pool.submit(killer, *args).result()
        assert slow.result() is None
        assert [pool.submit(abs, -i).result() for i in range(4)] == [0, 1, 2, 3]


def test_a_worker_killed_from_outside_costs_its_own_call():
    with WorkerPool(1) as pool:
        pid = pool.submit(os.getpid).result()
        slow = pool.submit(time.sleep, 60)
        threading.Timer(0.3, os.kill, (pid, signal.SIGKILL)).start()
        with pytest.raises(TaskFailed, match="SIGKILL"):
            slow.result(timeout=20)


def test_leaving_the_pool_ends_what_runs_at_once():
    started = time.monotonic()
    with WorkerPool(2) as pool:
        pids = [pool.submit(os.getpid).result()]
        futures = [pool.submit(time.sleep, 60) for _ in range(4)]
        time.sleep(0.2)
    assert time.monotonic() - started < 20
    assert all(future.done() for future in futures)
    for pid in pids:
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


def test_what_a_codec_prints_does_not_disturb_the_answers():
    with WorkerPool(1) as pool:
        assert pool.submit(os.system, "echo noise; echo noise >&2").result() == 0
        assert pool.submit(abs, -1).result() == 1


def test_the_same_call_made_here_fails_the_same_way():
    assert run_task(abs, -2) == 2
    with pytest.raises(TaskFailed, match="ValueError"):
        run_task(int, "two")
