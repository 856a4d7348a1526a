"""Web and worker together, as the demo runs them."""

import os
import signal
import socket
import sys
import urllib.request

import pytest

from tests.processes import environment, running, wait_for
from tests.servers import _free_port
from workshop.running.serve import PortTaken, check_port


def test_a_port_in_use_is_refused_with_a_sentence():
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(PortTaken, match=rf"Port {port} cannot be used.*choose another port, such as {port + 1}"):
            check_port(port)


@pytest.mark.parametrize("port", [0, -1, 65536])
def test_what_is_no_port_is_refused(port):
    with pytest.raises(ValueError, match="is not a port"):
        check_port(port)


def _alive(group: int) -> bool:
    try:
        os.kill(group, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_it_answers_says_where_and_stops_everything_it_started(tmp_path, how):
    port, log = _free_port(), tmp_path / "log"
    command = [sys.executable, "-u", "manage.py", "serve", "--port", str(port)]
    with running(command, environment(tmp_path / "data"), log) as house:
        wait_for(lambda: f"Open http://127.0.0.1:{port}" in log.read_text(), 60, log)
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in/", timeout=20) as page:
            assert page.status == 200
            assert b"style.css" in page.read()
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/static/workshop/style.css", timeout=20) as sheet:
            assert sheet.headers["Content-Type"].startswith("text/css")
        with open(f"/proc/{house.pid}/task/{house.pid}/children") as listed:
            children = [int(pid) for pid in listed.read().split()]
        assert len(children) == 2
        house.send_signal(how)
        assert house.wait(timeout=60) == 0
    assert not any(map(_alive, children))
    assert "Stopped." in log.read_text()
    check_port(port)
