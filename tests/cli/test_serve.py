import hashlib
import os
import re
import signal
import socket
import ssl
import stat
import subprocess
import sys
import urllib.request

import httpx
import pytest

from stillwing.errors import InputError
from stillwing.web.lan import lan_names


def running(book, *words):
    """Start the server; its address is the first line that it prints."""
    command = [sys.executable, "-c", "from stillwing.cli.app import main; main()"]
    return subprocess.Popen(
        [*command, "serve", "--book", str(book), "--port", "0", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        process_group=0,
    )


@pytest.fixture
def served(kept_outing):
    """Give the running server and its address."""
    _, book = kept_outing
    run = running(book)
    yield run, run.stdout.readline().strip()
    run.kill()
    run.communicate()


@pytest.fixture
def sharing(book):
    """Give the running server, its address, and what it says of sharing up to the code's address."""
    try:
        lan_names()
    except InputError:
        pytest.skip("this machine has no address on a private network")
    run = running(book, "--share", "--share-port", "0")
    said = []
    while not said or "gets in at" not in said[-1]:
        said.append(run.stderr.readline())
        assert said[-1], "".join(said)
    yield run, run.stdout.readline().strip(), "".join(said)
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


def test_sharing_tells_how_a_phone_gets_in_and_it_does(sharing, book):
    run, address, said = sharing
    begin = re.search(r"phones begin at (http://\S+/log/begin);", said)[1]
    entry = re.search(r"one phone gets in at (https://\S+)", said)[1]
    assert "█" in said
    der = httpx.get(f"{begin}/authority.crt").content
    fingerprint = hashlib.sha256(der).hexdigest().upper()
    assert re.search(r"fingerprint ([0-9A-F:]+)", said)[1].replace(":", "") == fingerprint
    with httpx.Client(verify=ssl.create_default_context(cadata=der)) as phone:
        assert phone.get(entry).status_code == 200
        assert phone.get(entry.partition("/enter")[0]).status_code == 200
        assert phone.get(entry.replace("/log/enter", "/settings")).status_code == 404
    with httpx.Client(headers={"Accept": "text/html"}) as desk:
        assert "over HTTPS" in desk.get(f"{address}share").text
    os.killpg(run.pid, signal.SIGINT)
    _, rest = run.communicate(timeout=30)
    assert run.returncode == 0 and "Traceback" not in rest and "PRIVATE" not in said + rest
    kept = {path.name: stat.S_IMODE(path.stat().st_mode) for path in (book.parent / "book-sharing").iterdir()}
    assert kept == {"authority.pem": 0o600, "desk.pem": 0o600, "phones.json": 0o600}


def test_the_desks_pages_stay_on_loopback_while_the_log_is_shared(sharing):
    _, address, _ = sharing
    port = int(address.rstrip("/").rpartition(":")[2])
    for own in map(str, lan_names().addresses):
        with pytest.raises(OSError), socket.create_connection((own, port), timeout=2):
            pass


def test_without_share_there_is_no_page_of_sharing_and_no_folder(served, kept_outing):
    _, address = served
    assert httpx.get(f"{address}share").status_code == 404
    assert not list(kept_outing[1].parent.glob("*-sharing"))


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--share", "--share-address", "8.8.8.8"], "8.8.8.8 is no IPv4 address of a private network"),
        (["--share", "--share-address", "desk"], "'desk' is no IP address; write one such as 192.168.1.4"),
        (["--share-address", "192.168.1.4"], "--share-address is given without --share"),
    ],
)
def test_what_cannot_be_shared_is_told_in_one_sentence(stillwing, book, words, sentence):
    run = stillwing("serve", "--book", book, "--port", "0", *words)
    assert run.returncode == 2
    assert sentence in run.stderr and run.stderr.count("\n") == 1


def test_a_port_for_phones_in_use_is_named(stillwing, book):
    with socket.socket() as taken:
        taken.bind(("0.0.0.0", 0))
        taken.listen()
        port = taken.getsockname()[1]
        run = stillwing("serve", "--book", book, "--port", "0", "--share", "--share-port", port)
    assert run.returncode == 2
    assert f"port {port} cannot be used" in run.stderr and "--share-port" in run.stderr
