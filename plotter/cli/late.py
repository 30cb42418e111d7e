"""A group of commands that imports a command's file only when that command is called."""

import importlib
from collections.abc import Mapping
from typing import Any

import click

__all__ = ["LateGroup"]


class LateGroup(click.Group):
    """Commands by name, each in the module of that name with a click command called `command`.

    Parameters
    ----------
    package : str
        Where the modules are.
    late : mapping
        Name of each command, and a line of help.
    """

    def __init__(
        self,
        *arguments: Any,  # noqa: ANN401 - click's own
        package: str,
        late: Mapping[str, str],
        **named: Any,  # noqa: ANN401 - the same
    ) -> None:
        super().__init__(*arguments, **named)
        self._package, self._late = package, late

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Names in the order of the table."""
        return list(self._late)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import a command's module and give its command."""
        if cmd_name not in self._late:
            return None
        module = importlib.import_module(f"{self._package}.{cmd_name}")
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List the commands from the table, without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl(list(self._late.items()))
