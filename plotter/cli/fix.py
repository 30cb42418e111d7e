"""`plotter fix FILE`: where the bearings of a report file say it is, and how sure that is."""

import dataclasses
import datetime as dt
import math

import click

from plotter.cli.echo import echo
from plotter.cli.incident import picture_of, say_unread
from plotter.cli.options import AREA, DATE, TIME, TRUST, as_json
from plotter.cli.words import length_words
from plotter.errors import GeometryError, LogError
from plotter.fix import Fix
from plotter.fix.why import Reason, reason_words
from plotter.fix.wording import area_words, off_words, percent_words, shape_name
from plotter.formats.groups import spoken_groups
from plotter.formats.reading import in_all_formats
from plotter.geodesy.position import Area
from plotter.reports.evidence import case_of, cases, fixes
from plotter.reports.names import key_of
from plotter.reports.report import Picture

__all__ = ["command", "fix_lines"]


@click.command("fix")
@click.argument("file")
@click.option("--subject", help="What to fix; all of them, in JSON the one with most bearings.")
@click.option("--area", type=AREA, help="Area of operations, unless the file states it.")
@click.option("--date", type=DATE, help="Day for the declination where a line has no time.")
@click.option("--at", "at_utc", type=TIME, help="UTC time of the fix of what moves.")
@click.option("--why", "explain", is_flag=True, help="What each report does to the fix.")
@TRUST
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    subject: str | None,
    area: Area | None,
    date: dt.date | None,
    at_utc: dt.datetime | None,
    *,
    explain: bool,
    json_output: bool,
    trust_errors: bool,
) -> None:
    """Compute a fix for everything that the reports in FILE are about.

    Bearings, distances, reported places, and watches that heard it or did not; ground that is
    ruled out, searched or likely; and how it moves. --why tells for each report how far it is off,
    where it pulls the best point, and the 95 % region without it.
    """
    picture = picture_of(file, area, date, trust_errors=trust_errors)
    known = cases(picture)
    found, failed = fixes(picture, at_utc)
    wanted = None if subject is None else key_of(subject)
    chosen = [(name, fix) for name, fix in found if wanted in (None, key_of(name))]
    status = say_unread(picture)
    if not chosen:
        raise _nothing(picture, failed, subject)
    reasons = {name: known[name].why(at_utc) for name, _ in chosen} if explain else {}
    if json_output:
        name, fix = chosen[0]
        explained = {"why": [reason_data(each) for each in reasons[name]]} if explain else {}
        as_json(
            {
                "subject": name,
                **fix_data(fix),
                **explained,
                "others": [other for other, _ in found if other != name],
                "unread": [
                    {"line": u.said.line, "text": u.said.text, "reason": u.reason}
                    for u in picture.unread
                ],
            }
        )
    else:
        for name, fix in chosen:
            echo("\n".join(fix_lines(name, fix)))
            for reason in reasons.get(name, ()):
                echo(f"  why: {reason_words(fix, reason)}")
        for name, why in failed.items():
            echo(f"{name}: no fix: {why}")
    ctx.exit(status)


def _nothing(
    picture: Picture, failed: dict[str, str], subject: str | None
) -> GeometryError | LogError:
    if failed:
        return GeometryError("; ".join(f"{name}: {why}" for name, why in failed.items()))
    case_of(picture, subject)  # says what there is instead
    return LogError("no report in the file can be used")


def fix_data(fix: Fix) -> dict[str, object]:
    """A fix as JSON data."""
    return {
        "best": {"lat_deg": fix.best.lat_deg, "lon_deg": fix.best.lon_deg},
        "as": in_all_formats(fix.best),
        "regions": [
            {
                "probability": region.probability,
                "area_km2": region.area_km2,
                "pieces": [
                    {
                        "share": piece.share,
                        "area_km2": piece.area_km2,
                        "best": {"lat_deg": piece.best.lat_deg, "lon_deg": piece.best.lon_deg},
                        "polygon": {
                            "outer": [[p.lat_deg, p.lon_deg] for p in piece.polygon.outer],
                            "holes": [
                                [[p.lat_deg, p.lon_deg] for p in hole]
                                for hole in piece.polygon.holes
                            ],
                        },
                    }
                    for piece in region.pieces
                ],
            }
            for region in fix.regions
        ],
        "bearings": [
            {
                "sender": verdict.sender,
                "p_good": verdict.p_good,
                "p_reciprocal": verdict.p_reciprocal,
                "p_gross": verdict.p_gross,
                "residual_deg": verdict.residual_deg,
                "p_near": verdict.p_near,
            }
            for verdict in fix.bearings
        ],
        "reports": [dataclasses.asdict(verdict) for verdict in fix.others],
        "shape": fix.shape,
        "p_all_good": fix.p_all_good,
        "otherwise_km2": fix.otherwise_km2,
        "findings": list(fix.findings),
    }


def reason_data(reason: Reason) -> dict[str, object]:
    """What a report does to a fix, as JSON data."""
    place = reason.best_without
    return {
        "name": reason.name,
        "said": reason.said,
        "residual": reason.residual,
        "unit": reason.unit or None,
        "p_good": reason.p_good,
        "best_without": place and {"lat_deg": place.lat_deg, "lon_deg": place.lon_deg},
        "pull_m": reason.pull_m,
        "pull_true_deg": reason.pull_true_deg,
        "area_without_km2": reason.area_without_km2,
    }


def _square_m(fix: Fix) -> float:
    """Side of the square that names the best point: no finer than the piece it lies in."""
    side_m = 1e3 * math.sqrt(fix.regions[0].pieces[0].area_km2)
    return 10.0 ** min(max(math.floor(math.log10(max(side_m, 1.0) / 4.0)), 0), 4)


def fix_lines(name: str, fix: Fix) -> list[str]:
    """A fix as lines for a terminal."""
    lines = [f"{name}"]
    if fix.sector:
        lines.append(f"  {shape_name(fix.shape)}")
    else:
        texts = in_all_formats(fix.best, _square_m(fix))
        spoken = " ".join(spoken_groups(texts["mgrs"]))
        lines.append(f"  best point   {spoken}   {texts['latlon']}")
    lines += [
        f"  {percent_words(region.probability)} region  {area_words(region.area_km2)} in "
        f"{len(region.pieces)} piece{'s' if len(region.pieces) != 1 else ''}"
        for region in fix.regions
    ]
    lines += [
        f"  {verdict.sender:12} right {percent_words(verdict.p_good)}, reciprocal "
        f"{percent_words(verdict.p_reciprocal)}, wrong {percent_words(verdict.p_gross)}; "
        f"off by {off_words(verdict.residual_deg)}"
        for verdict in fix.bearings
    ]
    lines += [
        f"  {verdict.sender:12} {verdict.kind} right {percent_words(verdict.p_good)}; off by "
        f"{length_words(abs(verdict.residual_m))}"
        for verdict in fix.others
    ]
    lines += [f"  {finding}" for finding in fix.findings]
    return lines
