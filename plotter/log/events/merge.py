"""The union of two logs: nothing is decided, nothing is left out, and the order does not matter."""

from collections.abc import Iterable
from typing import NamedTuple

__all__ = ["Record", "merged"]


class Record(NamedTuple):
    """An event as it is stored.

    Parameters
    ----------
    desk : str
        Whose chain, and
    number : int
        where in it: both for finding and sorting only; what counts stands in the body.
    hash : str
        As stored with it.
    body : bytes
        See `plotter.log.events.encoding`.
    """

    desk: str
    number: int
    hash: str
    body: bytes


def merged(*logs: Iterable[Record]) -> tuple[Record, ...]:
    """Every record that is in one of the logs, once.

    As a union of sets it is commutative, associative and idempotent. Records of one id that differ
    in anything are all kept.
    """
    every: set[Record] = set()
    for log in logs:
        every.update(log)
    return tuple(sorted(every))
