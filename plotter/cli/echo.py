"""The one place where the command line prints: whatever came in from outside is made harmless."""

import sys

import click

from plotter.saying import harmless

__all__ = ["echo", "echo_data", "say"]


def echo(text: str = "", *, err: bool = False) -> None:
    """Print lines on stdout, or on stderr; no character in them acts on the screen."""
    click.echo(harmless(text), err=err)


def say(text: str) -> None:
    """Say something to the person, on stderr, so that stdout stays data."""
    echo(text, err=True)


def echo_data(data: bytes) -> None:
    """Give a file's bytes to whatever reads stdout, unchanged; on a screen they are shown."""
    if sys.stdout.isatty():
        echo(data.decode("utf-8", errors="replace"))
    else:
        click.echo(data, nl=False)
