"""What to tell the coordinator about a fix: short sentences, most important first."""

import itertools
import math
from typing import Final

import numpy as np
import shapely

from plotter.fix.evidence import Bearing
from plotter.fix.listening import Listening
from plotter.fix.meeting import meeting
from plotter.fix.posterior import Posterior
from plotter.fix.ranges import Range
from plotter.fix.region import NOTABLE_SHARE
from plotter.fix.result import Fix, Piece
from plotter.fix.shape import Headline, Shape, weighted_quantiles
from plotter.fix.shape_words import shape_words, what_to_do
from plotter.fix.trust import half_trusted
from plotter.fix.wording import (
    area_words,
    bearing_words,
    distance_words,
    given_words,
    name_of,
    percent_words,
    place_words,
    report_words,
    stand_words,
)
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.geodesic import geodesic

__all__ = ["findings_of"]

_UNLIKELY: Final = 0.01
_AS_GOOD_AS_WRONG: Final = 0.5
_CONTRADICTION_Z: Final = 2.0
# So that a chance of nought has a logarithm, in single precision too.
_NEVER: Final = 1e-35
_MOST_LIKELY: Final = 0.9
_WELL_PLACED_M: Final = 100.0
# So many times the ground of the 50 % region, who is wrong matters more than where it is.
_LOOSE: Final = 20.0
_FACING_DEG: Final = 90.0
_FAR_OUT: Final = 3.0
_NO_MEAN: Final = "Search the pieces one by one; do not take their mean."


def findings_of(fix: Fix, after: Posterior, headline: Headline, shape: Shape) -> tuple[str, ...]:
    """Put a fix into words.

    Parameters
    ----------
    fix : Fix
        The fix, without its findings.
    after : Posterior
        What it was read from.
    headline : Headline
        What the first sentence is about.
    shape : Shape
        Its shape.

    Returns
    -------
    tuple of str
        Sentences in sentence case; bearings with their north, distances with their unit.
    """
    apart = _two_that_do_not_meet(after, shape)
    disagreement = _disagreement(fix, after)
    core, all_of_it = (region.area_km2 for region in fix.regions)
    undecided = fix.p_all_good < _AS_GOOD_AS_WRONG and all_of_it > _LOOSE * core
    doubt = _chance_that_one_is_wrong(fix, after)
    if after.told.size == 2 and fix.p_all_good < _AS_GOOD_AS_WRONG:
        disagreement, doubt, undecided = doubt, (), True
    return (
        *_badly_placed(fix, after),
        *(disagreement if undecided and not apart else ()),
        *apart,
        *(disagreement if undecided and apart else ()),
        *(() if apart and shape.kind == "wedge" else _headline(fix, after, headline, shape)),
        *doubt,
        *_watches_against(fix, after),
        *(() if undecided else disagreement),
        *_several_pieces(fix, after, headline, shape),
        *_triangle(after),
        *_north_not_stated(after),
        *_repeated(after),
        *_how_far_heard(after, shape),
        *_trust(fix, after),
    )


def _badly_placed(fix: Fix, after: Posterior) -> tuple[str, ...]:
    """Whose own place is to be asked for first: it counts for more than what he measured."""
    said = []
    for i, report in enumerate(after.reports):
        if isinstance(report, Bearing):
            way = geodesic(report.observer, fix.best).distance_m
            own_m = math.radians(report.sigma_deg) * way
        elif isinstance(report, Range) and report.sigma_m is not None:
            own_m = report.sigma_m
        else:
            continue
        if report.observer_sigma_m > max(own_m, _WELL_PLACED_M):
            said.append(
                f"First ask {name_of(after.reports, i)} for a better place: it is known to about "
                f"{distance_words(report.observer_sigma_m)} only, which counts for more than the ± "
                "of the report."
            )
    return tuple(said)


def _kind(after: Posterior) -> str:
    return "bearing" if len(after.bearings) == after.told.size else "report"


def _headline(fix: Fix, after: Posterior, headline: Headline, shape: Shape) -> tuple[str, ...]:
    reports, kind = after.reports, _kind(after)
    number = f"the {kind} is" if after.told.size == 1 else f"both {kind}s are"
    condition = f"If {number} right: " if headline.if_right else ""
    if shape.kind in ("point", "several places"):
        return _located(fix, after, headline, shape, condition)
    words = shape_words(reports, fix.best, headline.area_km2, shape)
    said = condition + words if condition else words[0].upper() + words[1:]
    return (f"{said}.", what_to_do(reports, shape))


def _located(
    fix: Fix, after: Posterior, headline: Headline, shape: Shape, condition: str
) -> tuple[str, ...]:
    """Say one place, or several."""
    # The region is smaller than its cells by what its outline cuts off.
    area_km2 = headline.area_km2 if condition else fix.regions[1].area_km2
    area, place = area_words(area_km2), place_words(after.reports, fix.best)
    pieces = _pieces(fix)
    if shape.kind == "several places" and not condition and len(pieces) > 1:
        return (f"The 95 % region has {_several_pieces_words(after, pieces)}.", _NO_MEAN)
    if condition and shape.kind == "several places":
        return (f"{condition}one of several places, {area} together; likeliest {place}.",)
    if condition:
        return (f"{condition}95 % region {area}; best point {place}.",)
    middle = area_words(fix.regions[0].area_km2)
    return (f"95 % region {area}; best point {place}.", f"Search the 50 % region first: {middle}.")


def _chance_that_one_is_wrong(fix: Fix, after: Posterior) -> tuple[str, ...]:
    count = after.told.size
    if not 0 < count <= 2:
        return ()
    chance = percent_words(1.0 - fix.p_all_good)
    area = area_words(fix.regions[1].area_km2)
    if count == 1:
        wrong = "the reciprocal, or simply wrong" if after.bearings else "simply wrong"
        return (f"There is a chance of {chance} that it is {wrong}.",)
    kind = _kind(after)
    third = f"ask for a third {kind} from another place, to settle it."
    if fix.p_all_good < _AS_GOOD_AS_WRONG:
        return (f"One of the two is wrong (chance {chance}): ask both to repeat, and {third}",)
    if fix.p_all_good > 1.0 - _UNLIKELY:
        return (third.capitalize(),)
    doubt = f"There is a chance of {chance} that one is wrong; allowed for, 95 % lie in {area}."
    return (doubt, third.capitalize())


def _watches_against(fix: Fix, after: Posterior) -> tuple[str, ...]:
    """Watches with a stated range that speak against the best point, where there is one."""
    if fix.sector:
        return ()
    said = []
    for i, watch in enumerate(after.reports):
        if not isinstance(watch, Listening) or watch.range_m is None:
            continue
        away_m = geodesic(watch.observer, fix.best).distance_m
        far, near = away_m > _FAR_OUT * watch.range_m, away_m < watch.range_m / _FAR_OUT
        if (watch.heard and far) or (not watch.heard and near):
            heard = "heard it" if watch.heard else "did not hear it"
            said.append(
                f"{name_of(after.reports, i)} {heard} with a range of "
                f"{distance_words(watch.range_m)}, but the best point is "
                f"{distance_words(away_m)} away: ask again."
            )
    return tuple(said)


def _two_that_do_not_meet(after: Posterior, shape: Shape) -> tuple[str, ...]:
    if len(after.bearings) != 2 or after.told.size != 2:
        return ()
    first, second = after.bearings
    how = meeting(first, second)
    apart_deg = how.divergence_deg
    z = apart_deg / math.hypot(first.sigma_deg, second.sigma_deg)
    if apart_deg == 0.0 or (how.same_place and z < _CONTRADICTION_Z):
        return ()
    names = f"{name_of(after.reports, 0)} and {name_of(after.reports, 1)}"
    miss = "differ from one place" if how.same_place else "spread apart"
    by = f"by {apart_deg:.0f}°" if apart_deg >= 0.95 else "by less than 1°"
    if z >= _CONTRADICTION_Z:
        contradiction = (
            f"The bearings of {names} {miss} {by}; these two contradict each other: check for a "
            "reciprocal, check the north reference."
        )
        return (contradiction, *_reciprocal_crossings(after))
    if abs(math.remainder(first.bearing_true_deg - second.bearing_true_deg, 360.0)) > _FACING_DEG:
        return ()  # they look towards each other: it is between them, not far away
    if shape.kind != "wedge":
        return (f"The bearings of {names} {miss} {by}, within the stated error.",)
    far_away = (
        f"The bearings of {names} {miss} {by}, within the stated error; far away towards "
        f"{bearing_words(shape.direction_true_deg)} ± {max(round(shape.spread_deg), 1)}° from "
        f"{stand_words(after.reports, shape.start or 0)}, beyond {distance_words(shape.near_m)}."
    )
    return (far_away, what_to_do(after.reports, shape))


def _parallel(first: Bearing, second: Bearing) -> bool:
    """Whether two lines, each taken both ways, cut at no angle that their errors leave sure."""
    cut = abs(math.remainder(first.bearing_true_deg - second.bearing_true_deg, 180.0))
    return cut < _CONTRADICTION_Z * math.hypot(first.sigma_deg, second.sigma_deg)


def _reciprocal_crossings(after: Posterior) -> tuple[str, ...]:
    first, second = after.bearings
    said = []
    for index, flip in enumerate(((True, False), (False, True))):
        if meeting(first, second, flip=flip).divergence_deg > 0.0 or _parallel(first, second):
            continue
        # The cell where this one is reciprocal and the other right.
        weight = after.leaves.log_density + np.log(
            after.reciprocal[index] * after.good[1 - index] + _NEVER
        )
        leaf = int(weight.argmax())
        place = after.chart.position(float(after.leaves.x_m[leaf]), float(after.leaves.y_m[leaf]))
        said.append(
            f"If {name_of(after.reports, index)} gave the reciprocal, they meet "
            f"{place_words(after.reports, place)}: ask {name_of(after.reports, index)} to check."
        )
    return tuple(said)


def _disagreement(fix: Fix, after: Posterior) -> tuple[str, ...]:
    bearings = after.bearings
    count = after.told.size
    if count < 3:
        return ()
    suspects = [i for i, v in enumerate(fix.bearings) if v.p_good < _AS_GOOD_AS_WRONG]
    # Who does not know where he stands contradicts nobody.
    unlikely = fix.p_chi2 < _UNLIKELY and not _badly_placed(fix, after)
    if count == len(bearings) == 3:
        return _leave_one_out(after) if suspects or unlikely else ()
    said = []
    for i in suspects:
        verdict = fix.bearings[i]
        looks = (
            "the reciprocal of a good one"
            if verdict.p_reciprocal > verdict.p_gross
            else f"a gross error, {abs(verdict.residual_deg):.0f}° off"
        )
        name = name_of(after.reports, i)
        given = given_words(bearings[i])
        said.append(
            f"{name} gave {given}; beside the others this looks like {looks}, "
            f"{percent_words(verdict.p_good)} chance that it is right. Ask {name} to repeat it."
        )
    others = [i for i, v in enumerate(fix.others) if v.p_good < _AS_GOOD_AS_WRONG]
    for i in others:
        name = name_of(after.reports, len(bearings) + i)
        given = report_words(after.reports[len(bearings) + i])
        said.append(
            f"{name} gave {given}; beside the others this looks like a gross error, "
            f"{distance_words(abs(fix.others[i].residual_m))} off, "
            f"{percent_words(fix.others[i].p_good)} chance that it is right. Ask {name} to repeat."
        )
    for i, verdict in enumerate(fix.bearings):
        near = 1.0 if verdict.p_near is None else verdict.p_near
        if i not in suspects and near < _AS_GOOD_AS_WRONG * verdict.p_good:
            name = name_of(after.reports, i)
            said.append(
                f"{name} is off by more than its ± says, about {abs(verdict.residual_deg):.0f}°: "
                "ask to repeat it."
            )
            unlikely = False
    if unlikely and not (suspects or others):
        said.append(
            f"The {_kind(after)}s do not agree within their errors. Ask every sender for the north "
            "reference and a fresh bearing."
        )
    return tuple(said)


def _leave_one_out(after: Posterior) -> tuple[str, ...]:
    """List what each two of three bearings say; which one is wrong cannot be told."""
    log_density, mass = after.leaves.log_density, after.leaves.mass
    ways = []
    for i in range(3):
        others = _two_good(after, i)
        leaf = int((log_density + np.log(others + _NEVER)).argmax())
        ways.append((float(mass @ others), i, leaf, others))
    opening = (
        "The three bearings do not agree, and three are too few to say which one is wrong: ask all "
        "three senders to repeat, and ask for a fourth bearing."
    )
    ways.sort(key=lambda way: way[:2], reverse=True)
    top, likeliest, *_ = ways[0]
    if top >= _MOST_LIKELY:
        name = name_of(after.reports, likeliest)
        reverse = float(mass @ after.reciprocal[likeliest]) >= _AS_GOOD_AS_WRONG
        looks = ", and looks like the reciprocal" if reverse else ""
        opening = (
            f"The three bearings do not agree; most likely {name} is wrong{looks}: ask {name} to "
            "repeat it first. Three are too few to be sure: ask for a fourth bearing."
        )
    said = [opening]
    for weight, i, leaf, others in ways:
        place = after.chart.position(float(after.leaves.x_m[leaf]), float(after.leaves.y_m[leaf]))
        where = "the other two make no point"
        if _is_about(after, mass * others, leaf):
            where = place_words(after.reports, place, without=i)
        said.append(
            f"If {name_of(after.reports, i)} alone is wrong ({percent_words(weight)}): {where}."
        )
    return tuple(said)


def _two_good(after: Posterior, without: int) -> FloatArray:
    """Chance in each cell that all bearings but one are right."""
    others = np.multiply.reduce(np.delete(after.good, without, axis=0))
    return as_float(others * np.maximum(1.0 - after.good[without], 0.0))


def _is_about(after: Posterior, weights: FloatArray, leaf: int) -> bool:
    """Whether half of a weight lies about a cell, nearer than half the way to any observer."""
    leaves = after.leaves
    off_m = np.hypot(leaves.x_m - leaves.x_m[leaf], leaves.y_m - leaves.y_m[leaf])
    half_m = float(weighted_quantiles(off_m, weights, as_float([0.5]))[0])
    x, y = after.chart.points(after.observers)[:2]
    way_m = float(np.hypot(x - leaves.x_m[leaf], y - leaves.y_m[leaf]).min())
    return half_m < 0.5 * max(way_m, float(leaves.half_side_m[leaf]))


def _pieces(fix: Fix) -> list[Piece]:
    return [piece for piece in fix.regions[1].pieces if piece.share >= NOTABLE_SHARE]


def _piece_words(after: Posterior, piece: Piece) -> str:
    """Where a piece is: a ring has no place, it lies round somebody."""
    for hole in piece.polygon.holes:
        inside = shapely.Polygon([(p.lon_deg, p.lat_deg) for p in hole])
        for i, place in enumerate(each.observer for each in after.reports):
            if inside.contains(shapely.Point(place.lon_deg, place.lat_deg)):
                return f"a ring round {name_of(after.reports, i)}"
    return place_words(after.reports, piece.best)


def _several_pieces_words(after: Posterior, pieces: list[Piece]) -> str:
    listed = "; ".join(
        f"{percent_words(piece.share)} {_piece_words(after, piece)}, {area_words(piece.area_km2)}"
        for piece in pieces
    )
    return f"{len(pieces)} separate pieces: {listed}"


def _several_pieces(
    fix: Fix, after: Posterior, headline: Headline, shape: Shape
) -> tuple[str, ...]:
    """Name the pieces where the headline does not."""
    pieces = _pieces(fix)
    named = shape.kind == "several places" and not headline.if_right
    if len(pieces) < 2 or named:
        return ()
    return (f"The full 95 % region has {_several_pieces_words(after, pieces)}.", _NO_MEAN)


def _triangle(after: Posterior) -> tuple[str, ...]:
    if not len(after.bearings) == after.told.size == 3:
        return ()
    pairs = itertools.combinations(after.bearings, 2)
    meetings = [meeting(a, b) for a, b in pairs]
    if any(how.divergence_deg > 0.0 or how.same_place for how in meetings):
        return ()
    return ("The triangle of the three lines holds the true place only about one time in four.",)


def _north_not_stated(after: Posterior) -> tuple[str, ...]:
    return tuple(
        f"{name_of(after.reports, i)} did not state the north: {_meanings(bearing)}. Ask which."
        for i, bearing in enumerate(after.bearings)
        if bearing.other_true_deg is not None
    )


def _meanings(bearing: Bearing) -> str:
    other = bearing.bearing_true_deg if bearing.other_true_deg is None else bearing.other_true_deg
    return f"{bearing_words(bearing.bearing_true_deg)} or {bearing_words(other)}"


def _repeated(after: Posterior) -> tuple[str, ...]:
    return tuple(
        f"{each.sender} gave the same bearing {_times(each.count)} from one place: counted as "
        f"{each.counted_as:.1f} bearings, a repeat shares its errors."
        for each in after.repeats
    )


def _times(count: int) -> str:
    return "twice" if count == 2 else f"{count} times"


def _how_far_heard(after: Posterior, shape: Shape) -> tuple[str, ...]:
    """Say the prior where the answer hangs on it."""
    if after.hearing is None or (shape.kind == "point" and after.told.size > 2):
        return ()
    ranges_m = after.hearing.half_heard_m
    span = f"{ranges_m[0] / 1000:g} to {ranges_m[-1] / 1000:g} km"
    if after.hearing.stated:
        return (f"How far it is heard was said about; {span} are held possible.",)
    return (f"How far it is heard is not known: {span} are held possible, near ones first.",)


def _assumed(after: Posterior) -> tuple[str, ...]:
    """Say that nobody stated an error, and which was assumed."""
    if not after.bearings:
        return ()
    assumed = max(each.sigma_deg for each in after.bearings)
    said = (
        f"No ± of a bearing was stated: about ± {assumed:.0f}° is assumed, and may be half or twice"
    )
    return (f"{said} as much. Ask how good each is.",)


def _trust(fix: Fix, after: Posterior) -> tuple[str, ...]:
    if fix.otherwise_km2 is None:
        return _assumed(after)
    area = area_words(fix.otherwise_km2)
    if half_trusted(after.bearings):
        several = len(after.bearings) > 1
        slip = ", and all may share a slip of 0.4 ±" if several else ""
        of = "the bearings are" if several else "the bearing is"
        words = (
            f"The ± of {of} half trusted: one in seven may be three times as far off{slip}. At "
            "face value the 95 % region would be about"
        )
    else:
        words = (
            "This region trusts the stated ± fully; in trials with errors as they are in the field "
            "such regions held .76 of what they said .95 for. Half trusted it would be about"
        )
    return (f"{words} {area}.",)
