"""Lengths in the words of a question."""

__all__ = ["length_in_words"]


def length_in_words(metres: float) -> str:
    """Length for a question: whole metres, or whole kilometres with thin groups.

    Examples
    --------
    >>> length_in_words(850.4), length_in_words(8_473_000)
    ('850 m', '8 473 km')
    """
    return f"{metres:.0f} m" if metres < 1_000 else f"{metres / 1_000:,.0f} km".replace(",", " ")
