"""A real PostgreSQL server for the tests: in a folder of its own, on a socket file."""

import os
import shutil
import signal
import subprocess
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path


def _binaries() -> Path | None:
    """Folder with `initdb` and `postgres`, the newest version first."""
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    if found := shutil.which("initdb"):
        folders.append(Path(found).resolve().parent)
    return next((f for f in folders if (f / "initdb").exists() and (f / "postgres").exists()), None)


def _as_nobody_special() -> list[str]:
    """Words before a command: the server refuses to run as root."""
    if os.geteuid() != 0:
        return []
    user = "postgres" if _known("postgres") else "nobody"
    return ["setpriv", f"--reuid={user}", f"--regid={_group(user)}", "--clear-groups"]


def _known(user: str) -> bool:
    import pwd

    return user in {entry.pw_name for entry in pwd.getpwall()}


def _group(user: str) -> int:
    import pwd

    return pwd.getpwnam(user).pw_gid


@contextmanager
def postgres_server():
    """Start a server and give the start and end of URLs to its databases; None where there is none.

    The socket lies in a folder with a short name: its path may have no more than 107 characters.
    """
    binaries = _binaries()
    if binaries is None:
        yield None
        return
    folder = Path(tempfile.mkdtemp(prefix="pg-", dir="/tmp"))
    user = _as_nobody_special()
    process = None
    try:
        if user:
            shutil.chown(folder, user[1].removeprefix("--reuid="))
        quiet = {"cwd": folder, "stdout": subprocess.DEVNULL, "stderr": subprocess.PIPE}
        subprocess.run(
            [*user, binaries / "initdb", "-D", folder / "data", "-A", "trust", "-U", "plotter",
             "-E", "UTF8", "--no-sync"],
            check=True, **quiet,
        )  # fmt: skip
        log = (folder / "server.log").open("wb")
        process = subprocess.Popen(
            [*user, binaries / "postgres", "-D", folder / "data", "-k", folder, "-h", ""],
            cwd=folder, stdout=log, stderr=log,
        )  # fmt: skip
        log.close()
        _wait(folder, process)
        yield folder
    finally:
        if process is not None:
            process.send_signal(signal.SIGQUIT)  # at once: nothing of it is kept
            process.wait(timeout=60)
        shutil.rmtree(folder, ignore_errors=True)


def _wait(folder: Path, process: subprocess.Popen) -> None:
    import psycopg

    for _ in range(300):
        try:
            psycopg.connect(f"host={folder} user=plotter dbname=postgres").close()
        except psycopg.OperationalError:
            assert process.poll() is None, (folder / "server.log").read_text()
            time.sleep(0.1)
        else:
            return
    raise AssertionError((folder / "server.log").read_text())


def new_database(folder: Path, name: str) -> str:
    """Make an empty database and give its URL."""
    import psycopg

    with psycopg.connect(f"host={folder} user=plotter dbname=postgres", autocommit=True) as server:
        server.execute(f'CREATE DATABASE "{name}"')
    return f"postgresql+psycopg://plotter@/{name}?host={folder}"
