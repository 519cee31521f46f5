import os
import re
import signal
import socket
import subprocess
import sys
import urllib.request

import pytest


@pytest.fixture
def served(kept_outing):
    """Give the running server and its address."""
    _, book = kept_outing
    command = [sys.executable, "-c", "from stillwing.cli.app import main; main()"]
    run = subprocess.Popen(
        [*command, "serve", "--book", str(book), "--port", "0"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        process_group=0,
    )
    yield run, run.stdout.readline().strip()
    run.kill()
    run.communicate()


def test_the_address_printed_is_on_this_machine_and_answers(served):
    _, address = served
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", address)
    with urllib.request.urlopen(address, timeout=30) as answer:
        page = answer.read().decode()
    assert answer.status == 200
    assert "outing" in page


def test_no_other_address_of_this_machine_answers(served):
    _, address = served
    port = int(address.rstrip("/").rpartition(":")[2])
    own = [one[4][0] for one in socket.getaddrinfo(socket.gethostname(), port, socket.AF_INET, socket.SOCK_STREAM)]
    for host in {*own, "127.0.0.2"} - {"127.0.0.1"}:
        with pytest.raises(OSError), socket.create_connection((host, port), timeout=2):
            pass


@pytest.mark.skipif(os.name != "posix", reason="signals of the keyboard as POSIX sends them")
def test_the_keyboard_ends_it_without_a_traceback(served):
    run, address = served
    urllib.request.urlopen(address, timeout=30).close()
    os.killpg(run.pid, signal.SIGINT)
    _, said = run.communicate(timeout=30)
    assert run.returncode == 0
    assert "Traceback" not in said


def test_a_port_in_use_is_named(stillwing, book):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        run = stillwing("serve", "--book", book, "--port", port)
    assert run.returncode == 2
    assert f"port {port} cannot be used" in run.stderr
    assert not book.exists()
