"""Every test of the store runs on both databases."""

import itertools

import pytest
from log_examples import NINE

from plotter.log.store import new_log, open_log

_NUMBERS = itertools.count(1)


@pytest.fixture(scope="session")
def postgres_database(postgres):
    from postgres_server import new_database

    return new_database(postgres, "logs")


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request, tmp_path):
    """Where a log is to be made: a file, or an incident on a server."""
    if request.param == "sqlite":
        return str(tmp_path / "storm.log")
    url = request.getfixturevalue("postgres_database")
    return f"{url}&incident=storm-{next(_NUMBERS)}"


@pytest.fixture
def made(where):
    """A new log, and where it is."""
    with new_log(where, title="Storm", made_utc=NINE, desk="Base") as log:
        yield log


@pytest.fixture
def opened(made):
    """Opens the same log again, as another program would."""
    logs = []

    def again():
        logs.append(open_log(made.where))
        return logs[-1]

    yield again
    for log in logs:
        log.close()
