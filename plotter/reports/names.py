"""Names of people, things and places: when two are one name, and when they only nearly are."""

from typing import Final

__all__ = ["is_own_place", "key_of"]

_OWN: Final = frozenset({
    "own place", "own position", "own location", "my place", "my position", "my location",
    "our place", "our position", "our location", "this place", "this position", "this location",
    "here", "me", "us", "where i am", "where we are",
})  # fmt: skip


def is_own_place(where: str) -> bool:
    """Whether words mean the place of whoever says them.

    Examples
    --------
    >>> is_own_place("our position"), is_own_place("the chapel")
    (True, False)
    """
    return key_of(where.rstrip(" .,;")) in _OWN


def key_of(name: str) -> str:
    """Name as looked up: case, spacing and a leading article do not matter."""
    words = name.lower().replace("-", " ").split()
    return " ".join(words[1:] if len(words) > 1 and words[0] == "the" else words)
