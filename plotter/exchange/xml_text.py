"""What XML can carry, and its tags without their namespaces."""

__all__ = ["legal", "plain_tag"]


def plain_tag(tag: object) -> str:
    """A tag without its namespace; empty for comments."""
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def legal(text: str) -> str:
    """Text without the characters that XML cannot carry; a sign stands for each."""
    return "".join(c if _allowed(ord(c)) else "\ufffd" for c in text)


def _allowed(code: int) -> bool:
    # A carriage return would come back as a line feed.
    return code in (9, 10) or 32 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code > 0xFFFF
