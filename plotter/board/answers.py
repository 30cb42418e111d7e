"""A fix as something to show and to say: regions, formats, the way from each station."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from plotter.board.answer_values import Answer, PieceMark, Sight, Spoken
from plotter.board.ground import beside, ring_of
from plotter.fix.result import Fix
from plotter.fix.wording import shape_name
from plotter.formats.groups import spoken_groups
from plotter.geodesy.geodesic import inverse_arrays, normal_bearing_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Position

__all__ = ["AllFormats", "answer_of", "answer_over_time", "spoken_in_all_formats"]

# From a position to its text in every format, by the format's name.
AllFormats = Callable[[Position], Mapping[str, str]]

_LABELS = {
    "latlon": "Latitude, longitude",
    "utm": "UTM",
    "ups": "UPS",
    "mgrs": "MGRS",
    "maidenhead": "Maidenhead",
}
_MOST_SIGHTS = 20


def spoken_in_all_formats(position: Position, all_formats: AllFormats) -> tuple[Spoken, ...]:
    """Return a position in every format, each in the groups that are spoken."""
    return tuple(
        Spoken(_label(name, text), text, spoken_groups(text))
        for name, text in all_formats(position).items()
    )


def _label(name: str, text: str) -> str:
    # Near the poles the universal grid is UPS, whose texts begin with a letter.
    return "UPS" if name == "utm" and text[:1].isalpha() else _LABELS.get(name, name)


def answer_of(
    subject: str,
    fix: Fix,
    stations: Sequence[tuple[str, Position]],
    *,
    day: date,
    all_formats: AllFormats,
    reference_deg: float,
) -> Answer:
    """Turn a fix into what is shown of it.

    Parameters
    ----------
    subject : str
        Who or what was looked for.
    fix : Fix
        The result.
    stations : sequence of (str, Position)
        From where distance and bearing are wanted.
    day : date
        For the declination.
    all_formats : callable
        From a position to its text in every format.
    reference_deg : float
        Longitude of the map's middle.

    Returns
    -------
    Answer
        Regions with the larger probability first, so that the smaller is drawn over it.
    """
    best = (fix.best.lat_deg, beside(fix.best.lon_deg, reference_deg))
    pieces = [
        PieceMark(
            probability=region.probability,
            share=piece.share,
            best=(piece.best.lat_deg, beside(piece.best.lon_deg, best[1])),
            rings=(
                ring_of(piece.polygon.outer, best[1]),
                *(ring_of(hole, best[1]) for hole in piece.polygon.holes),
            ),
        )
        for region in sorted(fix.regions, key=lambda region: -region.probability)
        for piece in region.pieces
    ]
    sights = _sights(stations, fix.best, day)
    return Answer(
        subject=subject,
        findings=fix.findings,
        best=best,
        formats=spoken_in_all_formats(fix.best, all_formats),
        sights=sights,
        sights_left_out=len(stations) - len(sights),
        pieces=tuple(pieces),
        sector=fix.sector,
        called=shape_name(fix.shape) if fix.sector else "best point",
    )


def answer_over_time(
    subject: str,
    fixes: Sequence[tuple[datetime | None, Fix]],
    stations: Sequence[tuple[str, Position]],
    *,
    day: date,
    all_formats: AllFormats,
    reference_deg: float,
) -> Answer:
    """Turn fixes at several times into what is shown of them: the latest, and those before.

    Parameters
    ----------
    fixes : sequence of (datetime or None, Fix)
        One or more, oldest first, each with its time; one without a time for what stands still.
    subject, stations, day, all_formats, reference_deg
        As for `answer_of`.
    """

    def at(fix: Fix) -> Answer:
        return answer_of(
            subject, fix, stations, day=day, all_formats=all_formats, reference_deg=reference_deg
        )

    *earlier, latest = (replace(at(fix), at_utc=at_utc) for at_utc, fix in fixes)
    return replace(latest, earlier=tuple(earlier))


def _sights(
    stations: Sequence[tuple[str, Position]], best: Position, day: date
) -> tuple[Sight, ...]:
    if not stations:
        return ()
    distances, bearings, _ = inverse_arrays(
        [place.lat_deg for _, place in stations],
        [place.lon_deg for _, place in stations],
        best.lat_deg,
        best.lon_deg,
    )
    order = sorted(range(len(stations)), key=lambda index: (distances[index], stations[index][0]))
    found = []
    for index in order[:_MOST_SIGHTS]:
        name, place = stations[index]
        true_deg = float(bearings[index])
        magnetic_deg = normal_bearing_deg(true_deg - declination(place, day).declination_deg)
        found.append(Sight(name, float(distances[index]), true_deg, magnetic_deg))
    return tuple(found)
