"""`plotter north POSITION`: declination and grid convergence."""

import datetime as dt

import click

from plotter.cli.echo import echo
from plotter.cli.options import AREA, DATE, as_json, one_position, say
from plotter.geodesy.grid import convergence_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Area

__all__ = ["command"]


@click.command("north", context_settings={"ignore_unknown_options": True})
@click.argument("position")
@click.option("--date", type=DATE, help="Day; today unless given.")
@click.option("--height-m", type=float, default=0.0, help="Height above the ellipsoid.")
@click.option("--area", type=AREA, help="Area of operations, to complete what was left unsaid.")
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
def command(
    position: str, date: dt.date | None, height_m: float, area: Area | None, *, json_output: bool
) -> None:
    """Declination (WMM2025) and grid convergence at POSITION, quoted as one argument."""
    place, assumed = one_position(position, area)
    day = date or dt.datetime.now(dt.UTC).date()
    magnetic = declination(place, day, height_m)
    convergence = convergence_deg(place)
    if json_output:
        as_json(
            {
                "declination_deg": magnetic.declination_deg,
                "declination_sigma_deg": magnetic.sigma_deg,
                "convergence_deg": convergence,
                "date": day.isoformat(),
                "warnings": list(magnetic.warnings),
                "assumed": list(assumed),
            }
        )
        return
    echo(
        f"declination    {_side(magnetic.declination_deg)} on {day}, give or take "
        f"{magnetic.sigma_deg:.1f}°: true = magnetic + {magnetic.declination_deg:.2f}°"
    )
    echo(f"convergence    {_side(convergence)}: true = grid + {convergence:.2f}°")
    for line in (*(f"Assumed {why}: read it back." for why in assumed), *magnetic.warnings):
        say(line)


def _side(angle_deg: float) -> str:
    return f"{abs(angle_deg):.2f}° {'east' if angle_deg >= 0 else 'west'} of true north"
