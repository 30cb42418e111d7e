"""The points of the compass: which direction "north-north-east" is, and what a direction is called.

Two words or fewer are taken for one of the eight points that everybody uses, three for one of the
sixteen, "by" for one of the thirty-two: whoever says "north-east" may mean anything nearer to it
than to north or to east.
"""

from plotter.voice.tables import language

__all__ = ["point_degrees", "point_name"]


def point_degrees(words: str, language_name: str = "english") -> tuple[float, float] | None:
    """Direction of a point of the compass, and how far apart such points are.

    Parameters
    ----------
    words : str
        ``north-east``, ``northeast``, ``NNE`` ...; case, spaces and hyphens do not matter.
    language_name : str
        Whose words.

    Returns
    -------
    tuple of float or None
        Degrees from north, and the spacing of points of its rank (45, 22.5 or 11.25); None where
        the words are no point.

    Examples
    --------
    >>> point_degrees("north-east"), point_degrees("NNE"), point_degrees("up")
    ((45.0, 45.0), (22.5, 22.5), None)
    """
    key = _key(words)
    for at, names in enumerate(language(language_name).points):
        if key in map(_key, names):
            return at * 11.25, 45.0 if at % 4 == 0 else 22.5 if at % 2 == 0 else 11.25
    return None


def point_name(bearing_deg: float, language_name: str = "english") -> str:
    """Name of the nearest of the eight points.

    Examples
    --------
    >>> point_name(240.0)
    'south-west'
    """
    return language(language_name).points[round(bearing_deg / 45.0) % 8 * 4][0]


def _key(words: str) -> str:
    return "".join(character for character in words.lower() if character.isalpha())
