"""What every test runs under: no network, and a search path for the tests' own helpers."""

import ipaddress
import os
import socket
import sys
from pathlib import Path

import pytest
from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile("default", deadline=None, derandomize=True)
settings.load_profile("default")


class NetworkUsedError(AssertionError):
    """A test asked the network."""


def _local(address: object) -> bool:
    """Whether an address is this machine: the browser's own loopback, or a socket file."""
    if isinstance(address, str | bytes):
        return True
    try:
        return ipaddress.ip_address(address[0]).is_loopback
    except ValueError:
        return address[0] == "localhost"


@pytest.fixture(autouse=True)
def _no_network(request, monkeypatch):
    """Refuse every connection; a browser test may reach its own browser on this machine."""
    browser = request.node.get_closest_marker("browser") is not None
    real_connect = socket.socket.connect
    real_connect_ex = socket.socket.connect_ex

    def guarded(real):
        def connect(self, address):
            if browser and _local(address):
                return real(self, address)
            raise NetworkUsedError(f"the network was asked for {address!r}")

        return connect

    def no_lookup(host, *_arguments, **_named):
        raise NetworkUsedError(f"the network was asked to look up {host!r}")

    monkeypatch.setattr(socket.socket, "connect", guarded(real_connect))
    monkeypatch.setattr(socket.socket, "connect_ex", guarded(real_connect_ex))
    if not browser:
        monkeypatch.setattr(socket, "getaddrinfo", no_lookup)


@pytest.fixture(scope="session")
def repository() -> Path:
    """Top of the checkout."""
    return Path(__file__).resolve().parent.parent


def under_ci() -> bool:
    """Whether nothing may be skipped."""
    return bool(os.environ.get("CI"))


@pytest.fixture(scope="session")
def chromium():
    """One browser for all tests: a second one beside it cannot be started."""
    from browser_support import browser

    with browser() as found:
        yield found


@pytest.fixture(scope="session")
def postgres():
    """A real PostgreSQL server: the folder of its socket. Under CI it may not be missing."""
    from postgres_server import postgres_server

    with postgres_server() as folder:
        if folder is None:
            assert not under_ci(), "PostgreSQL is not installed: apt-get install postgresql"
            pytest.skip("PostgreSQL is not installed: apt-get install postgresql")
        yield folder
