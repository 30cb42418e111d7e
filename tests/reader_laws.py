"""What must hold of every text that is given to the reader, whatever it is."""

from plotter.errors import PlotterError
from plotter.formats.reading import reading
from plotter.formats.registry import FORMATS
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position
from plotter.voice.spoken import spoken_reading

AREA = Area(Position(48.8582, 2.2945), 30_000)


def obey(text: str, *, spoken: bool = False, areas: tuple[Area | None, ...] = (None, AREA)) -> int:
    """Read a text with and without an area; how many readings there were.

    No exception but our own; nothing out of range; what was accepted, written in its own format at
    its own size, is read back as a square that holds the same middle.
    """
    count = 0
    for area in areas:
        try:
            found = (spoken_reading if spoken else reading)(text, area)
        except PlotterError:
            continue
        for each in found:
            count += 1
            square = each.square
            assert -90 <= square.centre.lat_deg <= 90
            assert -180 <= square.centre.lon_deg < 180
            assert 0 < square.size_m < 4.1e7
            _formats_back(each)
    return count


def _formats_back(found) -> None:
    written = FORMATS.get(found.format)
    # A square that a datum's error enlarged, or a sector, is no square of a format.
    if written is None or any("good to" in why for why in found.assumed):
        return
    if not written.covers(found.square.centre):
        return
    try:
        text = written.write(found.square.centre, found.square.size_m)
    except PlotterError:
        return
    back = [each for each in reading(text) if each.format == found.format]
    assert back, (found, text)
    nearest = min(geodesic(each.square.centre, found.square.centre).distance_m for each in back)
    assert nearest <= found.square.size_m, (found, text, nearest)
