"""Names of people, things and places: when two are one name, and when they only nearly are."""

__all__ = ["key_of"]


def key_of(name: str) -> str:
    """Name as looked up: case, spacing and a leading article do not matter."""
    words = name.lower().replace("-", " ").split()
    return " ".join(words[1:] if len(words) > 1 and words[0] == "the" else words)
