"""The union of two logs: nothing is decided, nothing is left out, and the order does not matter."""

from collections.abc import Iterable
from itertools import chain
from typing import NamedTuple

from plotter.log.events.bulk import many_values

__all__ = ["Record", "merged"]


class Record(NamedTuple):
    """An event as it is stored.

    Parameters
    ----------
    desk : str
        Whose chain, and
    number : int
        where in it: both for finding and sorting only; what counts stands in the body.
    digest : bytes
        Its hash as stored with it, 32 bytes.
    body : bytes
        See `plotter.log.events.encoding`.
    """

    desk: str
    number: int
    digest: bytes
    body: bytes


def merged(*logs: Iterable[Record]) -> tuple[Record, ...]:
    """Every record that is in one of the logs, once.

    As a union of sets it is commutative, associative and idempotent. Records of one id that differ
    in anything are all kept.
    """
    with many_values():
        # A dict keeps the order that each log was in, and runs in order are quick to sort.
        return tuple(sorted(dict.fromkeys(chain.from_iterable(logs))))
