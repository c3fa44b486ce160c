"""`manage.py start`, run as a shop runs it."""

import os
import re
import shutil
import signal
import socket
import sqlite3
import stat
import subprocess
import sys
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from fabjobs import network, papers
from fabjobs.safekeeping import folder_lock
from tests.fabjobs.databases import refused, soon

HOUSE = Path(__file__).parents[2]
Starter = Callable[..., subprocess.Popen[str]]
DIRECT = urllib.request.build_opener(urllib.request.ProxyHandler({}))


class StayHere(urllib.request.HTTPRedirectHandler):
    """Follows nothing: an answer that leads elsewhere is raised as it came."""

    def redirect_request(self, *_: Any) -> None:
        return None


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Starter]:
    """Starts the app on a free port over a data folder of this test; stops it when the test is over."""
    running = []

    def run(*arguments: str, **variables: str) -> subprocess.Popen[str]:
        kept = {name: value for name, value in os.environ.items() if not name.startswith("FABJOBS_")}
        process = subprocess.Popen(
            [sys.executable, "-W", "error", "-W", "ignore::ResourceWarning", "manage.py", "start", *arguments],
            cwd=HOUSE, text=True, env={**kept, "FABJOBS_DATA": str(tmp_path / "data"), **variables},
            stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip
        running.append(process)
        return process

    yield run
    for process in running:
        process.kill()
        process.communicate()


@pytest.fixture
def claimed(migrated: Path, tmp_path: Path) -> Path:
    """The data folder of a shop of one person: to make a database takes longer than all else that a start does."""
    folder = tmp_path / "data"
    folder.mkdir(mode=0o700)
    shutil.copy(migrated, folder / "fabjobs.sqlite3")
    return folder


def said(process: subprocess.Popen[str]) -> str:
    """What it tells at the terminal before it serves."""
    assert process.stdout is not None
    lines = []
    for line in process.stdout:
        lines.append(line)
        if line.startswith("Ctrl-C"):
            return "".join(lines)
    raise AssertionError("".join(lines) + (process.stderr.read() if process.stderr else ""))


def address(told: str) -> str:
    found = re.search(r"http://127\.0\.0\.1:\d+/", told)
    assert found, told
    return found[0]


def fetch(url: str, **headers: str) -> Any:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return DIRECT.open(urllib.request.Request(url, headers=named), timeout=60)  # noqa: S310 - our own address


def test_a_bare_folder_becomes_a_shop_that_waits_to_be_claimed(start: Starter, tmp_path: Path) -> None:
    process = start("--port", "0")
    told = said(process)
    code = re.search(r"Set-up code: ((?:[0-9A-Z]{4}-){2}[0-9A-Z]{4})", told)
    assert code
    assert "Plain http, this computer only." in told
    with fetch(address(told)) as page:
        assert page.url.endswith("/set-up")
        assert "Set up the shop" in page.read().decode()
    for name in ("data", "data/fabjobs.sqlite3", "data/secret.key"):
        assert stat.S_IMODE((tmp_path / name).stat().st_mode) & 0o077 == 0, name
    process.send_signal(signal.SIGINT)
    out, errors = process.communicate(timeout=60)
    assert (process.returncode, out, errors) == (0, "Stopped.\n", "")


def test_started_twice_it_harms_nothing(start: Starter, tmp_path: Path) -> None:
    first = start("--port", "0", "--address", "http://shop.example:8000/")
    said(first)
    first.terminate()
    assert first.wait(20) == 0
    data = tmp_path / "data"
    key = (data / "secret.key").read_text()
    database = sqlite3.connect(data / "fabjobs.sqlite3")
    database.execute(
        "INSERT INTO fabjobs_person (username, password, first_name, last_name, email, is_superuser, is_staff, is_active,"
        " date_joined, role, session_epoch) VALUES ('edda', '!', '', '', '', 1, 0, 1, '2031-01-01', 'owner', 0)"
    )
    database.commit()
    database.close()
    told = said(start("--port", "0"))
    assert "Set-up code" not in told
    assert (data / "secret.key").read_text() == key
    database = sqlite3.connect(data / "fabjobs.sqlite3")
    assert database.execute("SELECT username FROM fabjobs_person").fetchall() == [("edda",)]
    assert database.execute("SELECT paper_address FROM fabjobs_shopsettings").fetchall() == [
        ("http://shop.example:8000",)
    ]
    database.close()


def test_a_taken_port_is_told_in_one_line_and_touches_nothing(start: Starter, tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        process = start("--port", str(port))
        out, errors = process.communicate(timeout=60)
    assert (process.returncode, out) == (1, "")
    assert errors == f"CommandError: port {port} is taken: fabjobs runs already, or take another with --port\n"
    assert not (tmp_path / "data").exists()


def test_a_data_folder_that_cannot_be_written_is_told(start: Starter, tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file where the folder should be")
    process = start("--port", "0")
    _, errors = process.communicate(timeout=60)
    assert process.returncode == 1
    assert errors.startswith("CommandError: cannot write in the data folder")
    assert len(errors.splitlines()) == 1


def test_on_the_network_it_says_its_addresses_and_who_can_read_along(start: Starter, claimed: Path) -> None:
    told = said(start("--port", "0", "--lan"))
    assert "who shares the network can read along" in told
    for name in network.own_names():
        assert f"http://{name}:" in told
    if network.own_names():
        assert f"The codes on papers lead to http://{network.own_names()[0]}:" in told
    assert all(not name.startswith("127.") for name in network.own_names())


def test_behind_tls_it_answers_its_proxy_only(start: Starter, claimed: Path) -> None:
    secure = {"FABJOBS_TLS": "1", "FABJOBS_HOSTS": "shop.example"}
    process = start("--port", "0", "--lan", **secure)
    assert process.wait(60) == 1  # loading alone takes a second or two of a machine that does nothing else
    told = said(start("--port", "0", **secure))
    plain = urllib.request.Request(address(told) + "sign-in", headers={"Host": "shop.example"})  # noqa: S310 - our own
    with pytest.raises(urllib.error.HTTPError) as led:
        urllib.request.build_opener(urllib.request.ProxyHandler({}), StayHere).open(plain, timeout=60)
    with led.value as answer:
        assert (answer.code, answer.headers["Location"]) == (301, "https://shop.example/sign-in")
    with fetch(address(told) + "sign-in", Host="shop.example", X_Forwarded_Proto="https") as page:
        assert page.status == 200
        assert page.headers["Strict-Transport-Security"].startswith("max-age=")
        assert "Secure" in page.headers["Set-Cookie"]


def test_while_something_is_restored_it_does_not_start(start: Starter, tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    with folder_lock.alone(tmp_path / "data"):
        process = start("--port", "0")
        out, errors = process.communicate(timeout=60)
    assert (process.returncode, out) == (1, "")
    assert errors == (
        f"CommandError: something is being restored into {tmp_path / 'data'}: wait until that has ended\n"
    )
    assert not (tmp_path / "data" / "fabjobs.sqlite3").exists()


def test_as_long_as_it_runs_nothing_can_be_restored(start: Starter, claimed: Path) -> None:
    process = start("--port", "0")
    said(process)
    with pytest.raises(folder_lock.FolderInUse), folder_lock.alone(claimed):
        pass
    process.terminate()
    assert process.wait(20) == 0
    with folder_lock.alone(claimed):
        pass


def test_a_worker_runs_beside_the_shop_and_goes_with_it(start: Starter, claimed: Path) -> None:
    process = start("--port", "0")
    said(process)
    assert soon(lambda: folder_lock.has_worker(claimed))
    process.send_signal(signal.SIGINT)
    out, errors = process.communicate(timeout=60)
    assert (process.returncode, out, errors) == (0, "Stopped.\n", "")
    assert not folder_lock.has_worker(claimed)


def test_killed_it_leaves_no_worker_behind(start: Starter, claimed: Path) -> None:
    process = start("--port", "0")
    said(process)
    assert soon(lambda: folder_lock.has_worker(claimed))
    process.kill()
    process.wait(20)
    assert soon(lambda: not folder_lock.has_worker(claimed))


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="this system does not tell whose child a process is")
def test_a_worker_that_dies_is_begun_again(start: Starter, claimed: Path) -> None:
    process = start("--port", "0")
    said(process)
    assert soon(lambda: folder_lock.has_worker(claimed))
    first = child_of(process)
    os.kill(first, signal.SIGKILL)
    assert soon(lambda: child_of(process) not in (0, first) and folder_lock.has_worker(claimed))
    process.terminate()
    _, errors = process.communicate(timeout=60)
    assert process.returncode == 0
    assert "The worker that looks for better layouts ended (-9); it is begun again." in errors


def child_of(process: subprocess.Popen[str]) -> int:
    """The worker of a shop, by what the system says of every process; 0 while there is none."""
    for stat_file in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):  # gone meanwhile
            state, parent = stat_file.read_text().rpartition(")")[2].split()[:2]
            if int(parent) == process.pid and state != "Z":
                return int(stat_file.parent.name)
    return 0


def test_a_server_of_its_own_holds_the_folder_too(tmp_path: Path) -> None:
    serve = "import fabjobs.wsgi, sys; print('serving', flush=True); sys.stdin.read()"
    kept = {name: value for name, value in os.environ.items() if not name.startswith("FABJOBS_")}
    process = subprocess.Popen(
        [sys.executable, "-W", "error", "-c", serve], cwd=HOUSE, env={**kept, "FABJOBS_DATA": str(tmp_path / "data")},
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline() == "serving\n"
    with pytest.raises(folder_lock.FolderInUse), folder_lock.alone(tmp_path / "data"):
        pass
    _, errors = process.communicate(timeout=60)
    assert (process.returncode, errors) == (0, "")
    with folder_lock.alone(tmp_path / "data"):
        pass


def test_the_demo_is_served_and_opens_with_the_sign_in_it_prints(start: Starter, tmp_path: Path) -> None:
    told = said(start("--port", "0", "--demo"))
    found = re.search(r"Sign in as (\w+) with (\S+)\n", told)
    assert found
    assert "This is a demo" in told
    assert "Set-up code" not in told
    assert not (tmp_path / "data" / "fabjobs.sqlite3").exists()
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    with browser.open(address(told) + "sign-in") as page:
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page.read().decode())
    assert token
    sent = {"csrfmiddlewaretoken": token[1], "username": found[1], "password": found[2]}
    with browser.open(address(told) + "sign-in", urllib.parse.urlencode(sent).encode()) as page:
        home = page.read().decode()
    assert "Demo: all of it invented" in home
    assert "Long tray, way grinder" in home


def test_arguments_that_make_no_sense(start: Starter, tmp_path: Path) -> None:
    process = start("--port", "x")
    _, errors = process.communicate(timeout=60)
    assert process.returncode == 2
    assert "(got x)" in errors
    assert not (tmp_path / "data").exists()


@pytest.mark.parametrize(
    "arguments", [("--port", "70000"), ("--port", "-1"), ("--address", "shop"), ("--address", "file:///x")]
)
def test_what_else_its_arguments_cannot_be(arguments: tuple[str, str]) -> None:
    assert f"(got {arguments[1]})" in refused("start", *arguments)


def test_without_pango_all_but_the_papers_runs(start: Starter, claimed: Path, tmp_path: Path) -> None:
    blocked = tmp_path / "blocked"
    blocked.mkdir()
    (blocked / "weasyprint.py").write_text("raise OSError('cannot load library libpango-1.0-0')")
    told = said(start("--port", "0", PYTHONPATH=str(blocked)))
    assert f"No papers yet: {papers.LACKING}" in told
    with fetch(address(told)) as page:
        assert page.status == 200


def test_a_photo_gets_in_a_film_does_not(start: Starter, claimed: Path) -> None:
    url = address(said(start("--port", "0")))
    body = (
        b"--x\r\nContent-Disposition: form-data; name=taken; filename=a.jpg\r\n\r\n"
        + bytes(16_000_000)
        + b"\r\n--x--\r\n"
    )
    kind = {"Content-Type": "multipart/form-data; boundary=x"}
    with pytest.raises(urllib.error.HTTPError) as refused:  # read whole, then: nobody is signed in
        DIRECT.open(urllib.request.Request(f"{url}jobs/1/photos/add", data=body, headers=kind), timeout=60)  # noqa: S310
    assert refused.value.code == 403
    port = urllib.parse.urlsplit(url).port
    with socket.create_connection(("127.0.0.1", port or 0), timeout=60) as plain:
        plain.sendall(b"POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 900000000\r\n\r\n")
        assert plain.recv(200).startswith(b"HTTP/1.1 413")
